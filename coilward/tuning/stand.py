"""The plant at one place of its range, without the board: its valve is moved, its outlet watched.

The fire is held, and so is the tank, which would drift by a kelvin a minute while it is cold: the
answer of the valve is over before the tank has turned round once. The flow is set by the board's
own rule with its gain at zero, so that servo, backlash, meter and the rule's idea of the valve
curve are all in the answer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.controller.constants import Constants
from coilward.controller.estimating import Estimate
from coilward.controller.sensing import Seen
from coilward.controller.state import Control
from coilward.controller.types import Readings
from coilward.controller.valve import output_stroke, throttle
from coilward.loop.derived import Derived
from coilward.loop.model import Loop
from coilward.simulator import slots as at
from coilward.simulator.closed import advance, capped_lpm, hotter
from coilward.simulator.flowing import TURNS
from coilward.simulator.hydraulics import valve_square
from coilward.simulator.parameters import noise_table, parameters, running
from coilward.simulator.sensors import NOISE_POINTS, read
from coilward.simulator.tolerances import deviate

Numbers = NDArray[np.float64]

STANDS: Final = 1e6
"""What holds its temperature has so many times its heat capacity."""
LONG_AGO_S: Final = 1e9
_SEEN: Final = Seen._make([math.nan] * len(Seen._fields))._replace(flow_good=True)
_NOW: Final = Estimate._make([0.0] * len(Estimate._fields))
_CONTROL: Final = Control._make([0.0] * len(Control._fields))


class Place(NamedTuple):
    """One place of the working range."""

    flow_lpm: float
    heat_w: float
    tank_c: float


class Record(NamedTuple):
    """What was seen, once a second from the moment of the step on."""

    time_s: Numbers
    outlet_c: Numbers
    tank_c: Numbers
    flow_lpm: Numbers
    """As the meter shows it where the board's rule sets it; the true one where a hand does."""


def stroke_for(flow_lpm: float, constants: Constants) -> float:
    """Stroke at which the installed curve passes a flow, never under the stop."""
    curve = constants.valve.curve_lpm
    stroke = float(np.interp(flow_lpm, curve, np.linspace(0.0, 1.0, len(curve))))
    return max(stroke, constants.valve.stop)


class Stand:
    """A plant that runs by itself; what it is told stays until it is told something else."""

    def __init__(
        self, loop: Loop, derived: Derived, constants: Constants, place: Place, *,
        deviations: Sequence[float] | None = None, seed: int | None = None,
    ) -> None:  # fmt: skip
        """At the place, to be settled. Without a seed thermometers and meter are free of noise.

        ``deviations`` is a place in the spread of every tolerance, -1 to 1.
        """
        p = parameters(loop, derived, loop.site.outdoor_c)
        if deviations is not None:
            deviate(p, loop, deviations)
        if seed is None:
            quiet = [0.0] * at.CHANNEL_COUNT
            p[at.NOISE_K_ : at.NOISE_K_ + at.CHANNEL_COUNT] = quiet
            p[at.QUANTUM_K_ : at.QUANTUM_K_ + at.CHANNEL_COUNT] = quiet
            p[at.METER_NOISE] = 0.0
        # Stepped at every tick: left behind, a calm plant answers seconds too late or too soon.
        p[at.QUIET_TICKS] = p[at.CALM_TICKS] = 1.0
        p[at.LAYER_J_K] *= STANDS
        p[at.ROOM_J_K] *= STANDS
        y = running(loop, derived, p)
        y[at.HOLD_W] = place.heat_w
        y[at.TANK_TOP] = y[at.TANK_BOTTOM] = place.tank_c
        stroke = stroke_for(place.flow_lpm, constants)
        y[at.TOLD_VALVE] = y[at.MOTOR] = y[at.STROKE] = stroke
        y[at.VALVE_SQUARE] = valve_square(p, stroke)
        still = constants.throttling._replace(gain=0.0, gain_slope=0.0, flow_band=0.0)
        self.constants = constants._replace(throttling=still)
        self.y, self.p, self.tick = y, p, 0
        self._noise = [0.0] * NOISE_POINTS if seed is None else noise_table(seed)
        self._control = _CONTROL._replace(
            target_lpm=place.flow_lpm, moved_s=LONG_AGO_S, valve=stroke
        )

    def flow_to(self, target_lpm: float, lasts_s: float) -> Record:
        """Let the board's rule bring the flow to a target, at once and then at every move."""
        self._control = self._control._replace(target_lpm=target_lpm, moved_s=LONG_AGO_S)
        rows = []
        for tick in range(round(lasts_s * self.p[at.TICKS_PER_S])):
            readings = self._readings()
            outlet_c = hotter(readings.coil_outlet_a_c, readings.coil_outlet_b_c)
            flow_lpm = capped_lpm(readings, self.p[at.PULSES_PER_L])
            if tick % int(self.p[at.TICKS_PER_S]) == 0:
                rows.append((outlet_c, readings.tank_c, flow_lpm))
            seen = _SEEN._replace(
                outlet_c=outlet_c, tank_c=readings.tank_c, flow_lpm=flow_lpm,
                transit_s=60.0 * self.constants.water.coil_l / flow_lpm,
            )
            now = _NOW._replace(rise_k=outlet_c - readings.tank_c)
            told = throttle(False, False, seen, now, self._control, self.constants)
            self._control = self._control._replace(**told._asdict())
            self._tell(output_stroke(told, self.constants))
        return self._record(rows)

    def stroke_to(self, stroke: float, lasts_s: float) -> Record:
        """Move the valve by hand, and leave it there."""
        return self.relay(math.inf, (stroke, stroke), 0.0, lasts_s)

    def relay(
        self, around_c: float, strokes: tuple[float, float], band_k: float, lasts_s: float
    ) -> Record:
        """Put the valve to the second stroke while the outlet is too hot, else to the first.

        It turns as soon as a thermometer has passed by ``band_k``, whatever the time between
        moves: the swing is that of the process and not of the board's rhythm.
        """
        rows, hot = [], False
        for tick in range(round(lasts_s * self.p[at.TICKS_PER_S])):
            readings = self._readings()
            outlet_c = hotter(readings.coil_outlet_a_c, readings.coil_outlet_b_c)
            if tick % int(self.p[at.TICKS_PER_S]) == 0:
                rows.append((outlet_c, readings.tank_c, self.y[at.FLOW_LPM]))
            if abs(outlet_c - around_c) > band_k:
                hot = outlet_c > around_c
            self._tell(strokes[1] if hot else strokes[0])
        return self._record(rows)

    def _readings(self) -> Readings:
        return read(self.y, self.p, self.tick * self.p[at.TICK_S])

    def _tell(self, stroke: float) -> None:
        """Tell the valve, and let a tick pass."""
        if stroke != self.y[at.TOLD_VALVE]:
            self.y[at.TOLD_VALVE], self.y[at.MOVING] = stroke, TURNS
        advance(self.y, self.p, self._noise, self.tick)
        self.tick += 1

    @staticmethod
    def _record(rows: list[tuple[float, float, float]]) -> Record:
        return Record(np.arange(len(rows), dtype=float), *np.array(rows).T)
