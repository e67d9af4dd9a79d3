"""What a run tells a person: the phase, each row as it begins to count, and how the wire does."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from coilward.controller.interlocks import ROWS
from coilward.controller.phases import DRY, PHASES
from coilward.controller.state import FIRE_STATES
from coilward.desk.console import item
from coilward.hil.dead_man import SILENT_S
from coilward.loop.units import System, show

if TYPE_CHECKING:
    from rich.console import Console

    from coilward.hil.driving import Driver
    from coilward.hil.journal.writer import Writer
    from coilward.hil.link import Line
    from coilward.hil.tick import Tick

TELLS_EVERY_S = 60.0
SILENCE = "The board is silent, or no tick arrives whole: it is on its own."


class Telling:
    """What goes to the journal at every tick, and to a person when it matters."""

    def __init__(self, console: Console, system: System) -> None:
        """Nothing has been heard yet."""
        self.console, self.system = console, system
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
