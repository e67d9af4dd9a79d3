"""`coilward run`: our logic drives a board, keeps a journal, and tells what it does."""

from __future__ import annotations

import signal
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from threading import Event
from typing import TYPE_CHECKING

from coilward.controller.constants import constants_for
from coilward.controller.phases import RUN
from coilward.controller.state import NO, YES, State, first_state
from coilward.desk.cautions import CAUTIONS
from coilward.desk.console import err, heading, item, lead, out, say_stops
from coilward.desk.findings import findings_on
from coilward.desk.reading import checked_loop, possible_night
from coilward.desk.run_page import Page
from coilward.desk.run_told import Telling, Wire
from coilward.hil.dead_man import SILENT_S
from coilward.hil.driving import Driver, serial_opener
from coilward.hil.journal.packing import Damaged
from coilward.hil.journal.reader import last_state
from coilward.hil.journal.session import Kind, Session, session_of
from coilward.hil.journal.store import is_bare
from coilward.hil.journal.writer import Writer
from coilward.hil.messages import RAW
from coilward.hil.pretended import Pretended
from coilward.loop.derived import derive
from coilward.loop.document import text_of
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.shipped import loop_names, loop_text
from coilward.loop.units import System

if TYPE_CHECKING:
    from rich.console import Console

    from coilward.controller.constants import Constants
    from coilward.desk.findings import Findings
    from coilward.loop.model import Loop

GREETS_S = 10.0
SURE_S = 10.0
"""A second Ctrl-C within this time ends a run over a fire."""
PAGE_AFTER_TICKS = 4
"""A page needs ticks to tell of."""


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
    page_port: int
    """Where the live page is served; 0 for none."""
    units: System | None


def run_loop(asked: Asked) -> int:
    """Drive until a person ends it; 1 where the loop must not be lit, or a fire was left alone.

    A loop that must not be lit is driven only where the journal says that a fire was left in it.

    Raises InputRefused for a bad loop, port or journal.
    """
    loop = checked_loop(asked.loop_name, asked.today)
    system = asked.units or loop.units
    derived = derive(loop, asked.today)
    found = findings_on(loop, derived, asked.today, system)
    console = out()
    if (asked.port is None) is not asked.pretend:
        raise InputRefused([
            Fault("coilward run", None, "", "", "one board is wanted", "--port PORT, or --pretend")
        ])  # fmt: skip
    constants = constants_for(loop, derived)
    journal = asked.journal or f"{loop.name}.journal"
    last = None if asked.pretend else _last(journal)
    if found.stops and not _goes_on(console, found, last):
        return 1
    with board(asked, loop) as port:
        telling = Telling(console, system)
        driver = Driver(
            loop, constants, _first(asked, loop, constants), serial_opener(port), telling.heard
        )
        if last is not None:
            driver.resume(*last)
        _, text = text_of(asked.loop_name, "loop", loop_names(), loop_text)
        kind: Kind = "rehearsal" if asked.pretend else "run"
        about = asked.night if asked.pretend else port
        session = session_of(
            kind, text, loop, constants, day=asked.today, began_s=time.time(), about=about, raw=RAW,
        )  # fmt: skip
        telling.writer = _writer(journal, session, driver.side.state, telling)
        try:
            return _driven(driver, telling, console, port, (journal, asked.page_port))
        finally:
            telling.writer.close()


def _goes_on(console: Console, found: Findings, last: tuple[State, float] | None) -> bool:
    """Whether a loop that must not be lit is driven all the same: where a fire was left in it."""
    fire = last is not None and last[0].mode.fire != NO
    say_stops(
        console, found,
        "A fire was in when the last run ended: the board is driven all the same." if fire
        else "A board is not driven for such a loop.",
    )  # fmt: skip
    return fire


def _writer(journal: str, session: Session, first: State, telling: Telling) -> Writer:
    """The journal's writer. Raises InputRefused where the file can't be written."""
    try:
        return Writer(journal, session, first, telling.say)
    except sqlite3.Error as error:
        wanted = "a file in a folder that can be written to"
        raise InputRefused([
            Fault("--journal", None, "", journal, f"it can't be written ({error})", wanted)
        ]) from None  # fmt: skip


def _driven(
    driver: Driver, telling: Telling, console: Console, port: str, watched: tuple[str, int]
) -> int:
    journal, page_port = watched
    page: Page | None = None
    heading(console, f"Driving the board at {port}")
    item(console, f"Every tick is kept in {journal}. Ctrl-C ends it.")
    for caution in CAUTIONS:
        lead(console, "-", caution, width=1)
    try:
        _greeted(driver, port)
        wire = Wire(driver, console)
        with interrupts() as pressed:
            while not (pressed.is_set() and _may_end(driver, pressed)):
                driver.serve()
                wire.look()
                if page is None and page_port and driver.health.ticks > PAGE_AFTER_TICKS:
                    page = Page(journal, page_port, driver.ask)
    finally:
        left_cold = driver.leave()
        if page is not None:
            page.stop()
    health = driver.health
    heading(console, "Ended")
    item(console, f"{health.ticks} ticks decided; {health.late} late (at most "
         f"{health.latest_s:.2f} s), {health.missed} never came whole, port lost {health.lost} "
         f"times, {health.bad_lines} bad lines.")  # fmt: skip
    if telling.writer is not None and telling.writer.dropped:
        item(console, f"{telling.writer.dropped} ticks are not in the journal.", style="bold")
    return 0 if left_cold else 1


@contextmanager
def interrupts() -> Iterator[Event]:
    """Ctrl-C sets this, and breaks into nothing: a tick that has begun is decided."""
    pressed = Event()
    before = signal.signal(signal.SIGINT, lambda *_: pressed.set())
    try:
        yield pressed
    finally:
        signal.signal(signal.SIGINT, before)


def _may_end(driver: Driver, pressed: Event) -> bool:
    """Whether Ctrl-C ends it: without a fire, or when it comes twice. The board is served on."""
    if driver.side.state.mode.fire == NO:
        return True
    pressed.clear()
    err().print(
        "A fire may be in, and nobody decides when this ends: the board goes to its own safe "
        f"outputs after {SILENT_S:g} s. Ctrl-C again within {SURE_S:g} s ends it all the same.",
        style="bold",
    )
    until_s = time.monotonic() + SURE_S
    while time.monotonic() < until_s and not pressed.is_set():
        driver.serve()
    return pressed.is_set()


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


def _last(journal: str) -> tuple[State, float] | None:
    """The state that a run remembered last, and when; None where there was none yet.

    Raises InputRefused where it can't be read: what is not known is not guessed.
    """
    if is_bare(journal):
        return None
    try:
        found = last_state(journal, "run")
    except (Damaged, ValueError, sqlite3.Error) as error:
        wanted = "a sound journal, or another file; without its memory a fire is not known of"
        raise InputRefused([
            Fault("--journal", None, "", journal, f"its end can't be read ({error})", wanted)
        ]) from None  # fmt: skip
    return None if found is None else (found[1].state, found[1].wall_s)


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
    program = ("coilward.hil.plain_board", "--night", asked.night, "--times", str(asked.times))
    with Pretended(asked.loop_name, asked.today, program=program) as made:
        yield made.url
