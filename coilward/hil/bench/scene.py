"""A loop in which nothing moves but what is told or changed: healthy readings, tick by tick.

The readings are those of the simulated plant as it settles. Flow, current and damper follow the
commands until a reading of theirs is changed; thermometers fidget, as working ones do.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Final

from coilward.controller.causing import installed_lpm
from coilward.controller.constants import Constants
from coilward.controller.decide import decide
from coilward.controller.interlocks import bit
from coilward.controller.state import State, after_reboot
from coilward.controller.types import Commands, Readings, Requests
from coilward.simulator.logic import Decide

FIDGET_K: Final = 0.06
FIDGETS: Final = ("coil_outlet_a_c", "coil_outlet_b_c", "tank_c")
FOLLOWS: Final = ("flow_lpm", "pulse_age_s", "flow_switch", "pump_a", "pump_contact")
NOBODY: Final = Requests()


class Scene:
    """Readings, the reference's state, and the commands of whoever decides."""

    def __init__(
        self, constants: Constants, readings: Readings, state: State, commands: Commands
    ) -> None:
        """A loop as it stands after a tick. ``readings`` are those with the pump running."""
        self.constants, self.readings, self.state = constants, readings, state
        self.commands = commands
        self.decides: Decide = decide
        self.expects: Callable[[], Commands] = lambda: self.commands
        """What the reference tells the outputs, where another one decides."""
        self.reboots: Callable[[State], State] = after_reboot
        self.time_s = state.ages.time_s
        self.ticks = 0
        self.healthy = readings
        self.running = {name: getattr(readings, name) for name in FOLLOWS}
        self.follows = True
        self.obeys = True
        self.spins = True
        self.fan_a = readings.fan_a
        self.requests = NOBODY

    def copy(self) -> Scene:
        """The same scene, to be played in another way; decided by the reference."""
        again = copy.copy(self)
        again.decides, again.reboots = decide, after_reboot
        again.expects = lambda: again.commands
        return again

    def set(self, **changes: float) -> None:
        """Change readings from now on. Water, damper and fans, once set, no longer follow."""
        if any(name in FOLLOWS for name in changes):
            self.follows = False
        if "damper_shut" in changes:
            self.obeys = False
        if "fan_a" in changes:
            self.spins = False
        self.readings = self.readings._replace(**changes)

    def add(self, **changes: float) -> None:
        """Add to readings."""
        self.set(**{name: getattr(self.readings, name) + by for name, by in changes.items()})

    def stop_water(self) -> None:
        """Pulses end and the flow switch opens; the current stays as it is."""
        self.set(pulse_age_s=self.constants.tick_s, flow_switch=0.0)

    def start_water(self) -> None:
        """Water moves again as it is told to."""
        self.follows = True

    def heal(self) -> None:
        """Everything that was changed is as it was."""
        self.readings = self.healthy
        self.follows = self.obeys = self.spins = True

    def tick(self) -> None:
        """One tick."""
        self.time_s += self.constants.tick_s
        self._follow()
        fidget_k = FIDGET_K * (self.ticks // 3 % 2)
        self.ticks += 1
        fidgets = {name: getattr(self.readings, name) + fidget_k for name in FIDGETS}
        given = self.readings._replace(time_s=self.time_s, **fidgets)
        self.state, self.commands = self.decides(
            given, self.requests, self.state, self.constants
        )

    def run(self, seconds: float) -> None:
        """Many ticks."""
        for _ in range(round(seconds / self.constants.tick_s)):
            self.tick()

    def until(self, done: Callable[[Scene], bool], within_s: float) -> bool:
        """Ticks until something is so; whether it came in time."""
        for _ in range(round(within_s / self.constants.tick_s)):
            if done(self):
                return True
            self.tick()
        return done(self)

    def reboot(self, **changes: float) -> None:
        """The board restarts, and finds these readings."""
        self.state = self.reboots(self.state)
        if changes:
            self.set(**changes)

    def raised(self, name: str) -> bool:
        """Whether the row counts for the reference."""
        return bool((self.state.raised | self.state.mode.latched) & bit(name))

    def sees(self, name: str) -> bool:
        """Whether the reference sees the row's cause, debounced or not."""
        return bool(self.state.seen & bit(name))

    def _follow(self) -> None:
        told = self.commands
        if self.follows and told.pump:
            lpm = installed_lpm(told.valve, self.constants)
            self.readings = self.readings._replace(**{**self.running, "flow_lpm": lpm})
        elif self.follows:
            self.readings = self.readings._replace(
                flow_lpm=0.0, flow_switch=0.0, pump_a=0.0, pump_contact=0.0,
                pulse_age_s=self.readings.pulse_age_s + self.constants.tick_s,
            )  # fmt: skip
        elif self.readings.pulse_age_s >= self.constants.tick_s:
            self.readings = self.readings._replace(
                pulse_age_s=self.readings.pulse_age_s + self.constants.tick_s
            )
        if self.spins:
            self.readings = self.readings._replace(fan_a=self.fan_a if told.fans > 0.0 else 0.0)
        if self.obeys:
            self.readings = self.readings._replace(damper_shut=0.0 if told.damper_open else 1.0)
