"""A bench for the logic alone: healthy readings, changed one at a time, tick by tick."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import cache

from coilward.controller.causing import installed_lpm
from coilward.controller.constants import Constants, constants_for
from coilward.controller.decide import decide
from coilward.controller.interlocks import names
from coilward.controller.phases import PHASES, RUN
from coilward.controller.reckoned import reckoned
from coilward.controller.state import WET, YES, State, first_state
from coilward.controller.types import Commands, Readings, Requests
from coilward.loop.derived import derive
from coilward.loop.document import read_loop

TODAY = date(2026, 11, 25)
NAN = float("nan")


@cache
def constants_of(name: str = "greenhouse") -> Constants:
    """The constants of a shipped loop."""
    loop = read_loop(name)
    return constants_for(loop, derive(loop, TODAY))


def everything_fitted() -> Constants:
    """The greenhouse with every sensor that the logic can read."""
    constants = constants_of()
    return constants._replace(fitted=constants.fitted._replace(co=True, smoke=True, vent=True))


def changed(constants: Constants, **parts: object) -> Constants:
    """Constants with other parts, and what is reckoned from those."""
    c = constants._replace(**parts)
    sums = reckoned(c.tick_s, c.limits, c.water, c.valve, c.throttling, c.power, c.truth)
    return c._replace(reckoned=sums)


HEALTHY = Readings(
    time_s=0.0, coil_outlet_a_c=60.0, coil_outlet_b_c=60.1, tank_c=23.0, radiator_inlet_c=59.0,
    radiator_outlet_c=24.0, coil_metal_c=70.0, flue_c=250.0, room_c=8.0, line_min_c=20.0,
    flow_lpm=5.0, pulse_age_s=0.01, flow_switch=1.0, pump_a=4.0, supply_v=12.4, level_low=0.0,
    level_low_low=0.0, fan_a=6.0, damper_shut=0.0, co_ppm=0.0, pump_contact=1.0, outage_s=0.0,
    vent_wet=0.0, smoke=0.0, constants_ok=1.0,
)
"""A greenhouse in its run phase, at the usual fire."""


def healthy(constants: Constants) -> Readings:
    """The same with currents that fit the loop."""
    pump_a = 0.5 * (constants.power.pump_low_a + constants.power.pump_high_a)
    return HEALTHY._replace(pump_a=pump_a, fan_a=3.4 * constants.power.fan_low_a)


FIDGET_K = 0.06
"""A working thermometer is never quite still."""


class Rig:
    """Steps `decide` and remembers what happened."""

    def __init__(self, constants: Constants | None = None, phase: int = RUN, fire: int = YES):
        self.constants = constants or constants_of()
        self.readings = healthy(self.constants)
        self.state: State = first_state(self.constants, phase, fire)
        stroke = 0.52 if phase == RUN else 1.0
        control = self.state.control._replace(valve=stroke, stroke_was=stroke)
        self.state = self.state._replace(control=control)
        self.commands = Commands(True, stroke, 0.0, False, False, 0, False)
        self.time_s = 0.0
        self.given = self.readings
        self.ticks = 0
        self.fidgets = {"coil_outlet_a_c", "coil_outlet_b_c", "tank_c"}
        self.follows = True
        self.obeys = True
        self.visited = [PHASES[phase]]
        self.rows: list[str] = []

    def settle(self, seconds: float = 120.0) -> Rig:
        """Run healthily for a while."""
        return self.run(seconds)

    def set(self, **changes: float) -> Rig:
        """Change readings from now on. Flow and damper, once set, no longer follow."""
        if "flow_lpm" in changes:
            self.follows = False
        if "damper_shut" in changes:
            self.obeys = False
        self.readings = self.readings._replace(**changes)
        return self

    def tick(self, requests: Requests | None = None) -> None:
        """One tick."""
        self.time_s += self.constants.tick_s
        if self.follows:
            lpm = installed_lpm(self.commands.valve, self.constants)
            self.readings = self.readings._replace(flow_lpm=lpm)
        if self.obeys:
            self.readings = self.readings._replace(
                damper_shut=0.0 if self.commands.damper_open else 1.0
            )
        fidget_k = FIDGET_K * (self.ticks // 3 % 2)
        self.ticks += 1
        fidgets = {name: getattr(self.readings, name) + fidget_k for name in self.fidgets}
        before = self.state
        self.given = self.readings._replace(time_s=self.time_s, **fidgets)
        decision = decide(self.given, requests or Requests(), before, self.constants)
        self.state, self.commands = decision.state, decision.commands
        if self.state.mode.phase != before.mode.phase:
            self.visited.append(self.phase)
        self.rows.extend(names(self.state.raised & ~before.raised))

    def run(self, seconds: float, requests: Requests | None = None) -> Rig:
        """Many ticks with the same readings and requests."""
        for _ in range(max(1, round(seconds / self.constants.tick_s))):
            self.tick(requests)
        return self

    def until(self, done: Callable[[Rig], bool], within_s: float) -> float:
        """Seconds until something is so; raises when it does not come."""
        start_s = self.time_s
        while not done(self):
            if self.time_s - start_s > within_s:
                raise AssertionError(f"not within {within_s} s: {self.state.mode} {self.rows}")
            self.tick()
        return self.time_s - start_s

    @property
    def phase(self) -> str:
        """The phase in words."""
        return PHASES[self.state.mode.phase]

    @property
    def latched(self) -> list[str]:
        """The latched rows."""
        return names(self.state.mode.latched)

    def stop_water(self, current: str = "stall") -> Rig:
        """The pump no longer moves water: pulses end, the switch opens, the current tells."""
        power = self.constants.power
        amps = {"stall": 2.0 * power.pump_high_a, "open": 0.0, "as before": self.readings.pump_a}
        return self.set(flow_lpm=0.0, pulse_age_s=5.0, flow_switch=0.0, pump_a=amps[current])

    def start_water(self) -> Rig:
        """Water moves again, as the valve lets it."""
        self.set(pulse_age_s=0.01, flow_switch=1.0, pump_a=healthy(self.constants).pump_a)
        self.follows = True
        return self

    def outlet(self, to_c: float) -> Rig:
        """Bring both outlet thermometers to a temperature, half a kelvin a second."""
        now_c = self.readings.coil_outlet_a_c
        while now_c != to_c:
            now_c = min(now_c + 0.125, to_c) if to_c > now_c else max(now_c - 0.125, to_c)
            self.set(coil_outlet_a_c=now_c, coil_outlet_b_c=now_c)
            self.tick()
        return self


__all__ = ["HEALTHY", "NAN", "TODAY", "WET", "Rig", "constants_of", "everything_fitted", "healthy"]
