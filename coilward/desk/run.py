"""`coilward run`: our logic drives a board, keeps a journal, and tells what it does."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from coilward.controller.constants import constants_for
from coilward.controller.interlocks import ROWS
from coilward.controller.phases import DRY, PHASES, RUN
from coilward.controller.state import FIRE_STATES, NO, YES, State, first_state
from coilward.desk.cautions import CAUTIONS
from coilward.desk.console import err, heading, item, lead, out
from coilward.desk.findings import findings_on
from coilward.desk.reading import checked_loop, possible_night
from coilward.hil.dead_man import SILENT_S
from coilward.hil.driving import Driver, serial_opener
from coilward.hil.journal.packing import Damaged
from coilward.hil.journal.reader import Reader
from coilward.hil.journal.session import Kind, session_of
from coilward.hil.journal.writer import Writer
from coilward.hil.messages import RAW
from coilward.loop.derived import derive
from coilward.loop.document import text_of
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.shipped import loop_names, loop_text
from coilward.loop.units import System, show

if TYPE_CHECKING:
    from rich.console import Console

    from coilward.controller.constants import Constants
    from coilward.hil.link import Line
    from coilward.hil.tick import Tick
    from coilward.loop.model import Loop

GREETS_S = 10.0
SURE_S = 10.0
"""A second Ctrl-C within this time ends a run over a fire."""
TELLS_EVERY_S = 60.0
SILENCE = "The board is silent, or no tick arrives whole: it is on its own."


@dataclass(frozen=True)
class Asked:
    """What was typed on the command line."""

    loop_name: str
    today: date
    port: str | None
    pretend: bool
    night: str
    times: float
    journal: str | None
    units: System | None


def run_loop(asked: Asked) -> int:
    """Drive until a person ends it; 1 where the loop must not be lit, or a fire was left alone.

    Raises InputRefused for a bad loop, port or journal.
    """
    loop = checked_loop(asked.loop_name, asked.today)
    system = asked.units or loop.units
    derived = derive(loop, asked.today)
    found = findings_on(loop, derived, asked.today, system)
    console = out()
    if found.stops:
        for finding in found.every:
            if finding.severity == "stop":
                lead(console, "stop", finding.text, width=4)
        item(console, f"{found.conclusion} A board is not driven for such a loop.", style="bold")
        return 1
    if (asked.port is None) is not asked.pretend:
        raise InputRefused([
            Fault("coilward run", None, "", "", "one board is wanted", "--port PORT, or --pretend")
        ])  # fmt: skip
    constants = constants_for(loop, derived)
    journal = asked.journal or f"{loop.name}.journal"
    with board(asked, loop) as port:
        telling = Telling(console, constants, system)
        last = _last(journal)
        driver = Driver(loop, constants, _first(asked, loop, constants), serial_opener(port),
                        lambda tick, lines: telling.heard(tick, lines))  # fmt: skip
        if last is not None and not asked.pretend:
            driver.resume(*last)
        _, text = text_of(asked.loop_name, "loop", loop_names(), loop_text)
        kind: Kind = "rehearsal" if asked.pretend else "run"
        about = asked.night if asked.pretend else port
        session = session_of(
            kind, text, loop, constants, day=asked.today, began_s=time.time(), about=about, raw=RAW,
        )  # fmt: skip
        telling.writer = Writer(journal, session, driver.side.state, telling.say)
        try:
            return _driven(driver, telling, console, port, journal)
        finally:
            telling.writer.close()


class Telling:
    """What goes to the journal at every tick, and to a person when it matters."""

    def __init__(self, console: Console, constants: Constants, system: System) -> None:
        """Nothing has been heard yet."""
        self.console, self.constants, self.system = console, constants, system
        self.writer: Writer | None = None
        self.tick: Tick | None = None
        self._phase = -1
        self._raised = 0
        self._told_s = 0.0

    def heard(self, tick: Tick, lines: list[Line]) -> None:
        """One tick that was decided just now."""
        if self.writer is not None:
            frames = [(b"> " if line.sent else b"< ") + line.text for line in lines]
            self.writer.put(tick, frames)
        self.tick = tick
        state = tick.state
        began = state.raised & ~self._raised
        for place, row in enumerate(ROWS):
            if began >> place & 1:
                self.say(f"{row.name} {row.cause}. {row.happened} {row.machine} {row.person}")
        if state.mode.phase != self._phase or time.monotonic() > self._told_s + TELLS_EVERY_S:
            self.say(self.line(tick))
        self._phase, self._raised = state.mode.phase, state.raised

    def line(self, tick: Tick) -> str:
        """One tick in a line."""
        readings, mode = tick.readings, tick.state.mode
        outlet_c = max(
            (value for value in (readings.coil_outlet_a_c, readings.coil_outlet_b_c)
             if value == value), default=float("nan"),
        )  # fmt: skip
        words = [
            f"{PHASES[mode.phase]}, fire {FIRE_STATES[mode.fire]}",
            f"outlet {self._shown(outlet_c, 'c')}", f"tank {self._shown(readings.tank_c, 'c')}",
            f"flow {self._shown(readings.flow_lpm, 'lpm')}",
        ]
        if tick.commands.may_light:
            words.append("MAY BE LIT")
        if mode.phase == DRY:
            words.append("GET BACK: the coil may be dry")
        return "; ".join(words)

    def _shown(self, value: float, unit: str) -> str:
        return show(value, unit, self.system) if value == value else "not known"

    def say(self, words: str) -> None:
        """One line with the time of day."""
        self._told_s = time.monotonic()
        item(self.console, f"{time.strftime('%H:%M:%S')}  {words}", indent=0)


def _driven(driver: Driver, telling: Telling, console: Console, port: str, journal: str) -> int:
    heading(console, f"Driving the board at {port}")
    item(console, f"Every tick is kept in {journal}. Ctrl-C ends it.")
    for caution in CAUTIONS:
        lead(console, "-", caution, width=1)
    try:
        _greeted(driver, port)
        sure_until_s = 0.0
        wire = Wire(driver, console)
        while True:
            try:
                while True:
                    driver.serve()
                    wire.look()
            except KeyboardInterrupt:
                if driver.side.state.mode.fire == NO or time.monotonic() < sure_until_s:
                    break
                sure_until_s = time.monotonic() + SURE_S
                err().print(
                    "A fire may be in, and nobody decides when this ends: the board goes to its "
                    f"own safe outputs after {SILENT_S:g} s. Ctrl-C again within {SURE_S:g} s ends "
                    "it all the same.", style="bold",
                )  # fmt: skip
    finally:
        left_cold = driver.leave()
    health = driver.health
    heading(console, "Ended")
    item(console, f"{health.ticks} ticks decided; {health.late} late (at most "
         f"{health.latest_s:.2f} s), {health.missed} never came whole, port lost {health.lost} "
         f"times, {health.bad_lines} bad lines.")  # fmt: skip
    if telling.writer is not None and telling.writer.dropped:
        item(console, f"{telling.writer.dropped} ticks are not in the journal.", style="bold")
    return 0 if left_cold else 1


def _greeted(driver: Driver, port: str) -> None:
    """Wait for the board. Raises InputRefused where it does not greet, or must not be driven."""
    until_s = time.monotonic() + GREETS_S
    while driver.side.greeted is None:
        driver.serve()
        if driver.side.refused or time.monotonic() > until_s:
            reason = {
                "": "no board greets here", "other-table": "the board speaks another table",
                "same-side": "a logic answers here, not a plain board",
                "other-tick": "the board has another tick",
            }[driver.side.refused]  # fmt: skip
            wanted = "a plain board with this version's lines, switched on (docs/bench.md)"
            raise InputRefused([Fault("--port", None, "", port, reason, wanted)])


class Wire:
    """Says once when the port is lost or the board goes silent, and once when it is back."""

    def __init__(self, driver: Driver, console: Console) -> None:
        """All is well at first."""
        self._driver, self._console = driver, console
        self._lost = self._silent = False

    def look(self) -> None:
        """Say what has changed."""
        lost, silent = not self._driver.health.connected, self._driver.silent_s > SILENT_S
        words = ""
        if lost is not self._lost:
            words = "The port is lost: the board is on its own." if lost else "The port is back."
        elif silent is not self._silent:
            words = SILENCE if silent else "The board is heard again."
        if words:
            item(self._console, words, indent=0, style="bold")
        self._lost, self._silent = lost, silent


def _last(journal: str) -> tuple[State, float] | None:
    """The state that a run remembered last, and when; None where there was none yet.

    Raises InputRefused where it can't be read: what is not known is not guessed.
    """
    if not Path(journal).exists():
        return None
    try:
        with Reader(journal) as reader:
            for session in reversed(reader.sessions()):
                span = reader.span(session) if session.kind == "run" else None
                tick = reader.tick_at(session, span[1]) if span is not None else None
                if tick is not None:
                    return tick.state, tick.wall_s
    except (Damaged, ValueError, sqlite3.Error) as error:
        wanted = "a sound journal, or another file; without its memory a fire is not known of"
        raise InputRefused([
            Fault("--journal", None, "", journal, f"its end can't be read ({error})", wanted)
        ]) from None  # fmt: skip
    return None


def _first(asked: Asked, loop: Loop, constants: Constants) -> State:
    """A new board's state; for a pretended night that begins in full run, that of a run."""
    if asked.pretend and possible_night(asked.night, loop).start == "running":
        return first_state(constants, RUN, YES)
    return first_state(constants)


@contextmanager
def board(asked: Asked, loop: Loop) -> Iterator[str]:
    """The address of the board; a pretended one lives as long as the block."""
    if asked.port is not None:
        yield asked.port
        return
    possible_night(asked.night, loop)
    command = [
        sys.executable, "-m", "coilward.hil.plain_board", asked.loop_name, "--night", asked.night,
        "--today", str(asked.today), "--times", str(asked.times),
    ]  # fmt: skip
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:  # noqa: S603
        try:
            yield process.stdout.readline().strip() if process.stdout else ""
        finally:
            process.kill()
