"""The plant held against the log: residuals of every thermometer behind the coil's outlet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np

from coilward.learning.log import Log, Numbers
from coilward.learning.numbers import Number, sensor_key
from coilward.learning.plant.downstream import LOOKED_AT, downstream
from coilward.learning.stretches import ROW_S, SEEN, Stretch
from coilward.loop.model import Loop
from coilward.simulator import slots as at
from coilward.simulator.engine import can_compile, compiled
from coilward.simulator.parameters import resting
from coilward.simulator.sensors import lag_weights

UNSURE = (
    "coil_outlet", "flow", "fans", "radiator_inlet", "radiator_outlet", "tank", "back_loss",
    "back_fill", "dump", "room_lag", "meter",
)  # fmt: skip
"""What is taken from log and file and not fitted: when each row was read, and parts that
no thermometer tells of."""
BOARD_LATE_S = 1.0
"""A board that converts, polls and writes tells of a reading so much later (standard deviation)."""
METER_SHARE = 0.005
"""How well a meter is known whose pulses were counted against water that was weighed."""
LATE_S = 1.4
"""From rows over three seconds apart no lag or delay is told, nor what a radiator holds."""
OFF_SHARE = 0.3
"""How far the file may be off in what is not fitted (common practice, no source)."""
TOP_K, BOTTOM_K = 5.0, 1.0
"""How well the tank's layers are known where a stretch begins (standard deviations)."""
CHANNEL_OF = {
    "radiator_inlet": at.RADIATOR_INLET, "radiator_outlet": at.RADIATOR_OUTLET, "tank": at.TANK
}  # fmt: skip


@cache
def stepped(function: Callable[..., Any]) -> Callable[..., Any]:
    """A function of the plant, compiled where that can be done."""
    return compiled(function) if can_compile() else function


class Plant:
    """Everything behind the coil's outlet, with numbers that can be changed."""

    def __init__(
        self, loop: Loop, log: Log, p: list[float], told: Sequence[Number],
        stretches: Sequence[Stretch], *, thin: int = 1,
    ) -> None:  # fmt: skip
        """``p`` holds the loop file's own parameters; of ``thin`` readings one is looked at."""
        self._thin = thin
        self.loop, self.log, self.told, self.stretches = loop, log, list(told), list(stretches)
        self._p = p
        self.rest = resting(loop, p)
        self._place = {number.key: k for k, number in enumerate(self.told)}
        self.seen = [name for name in SEEN if any(name in each.readings for each in stretches)]

    @property
    def w_per_lpm_k(self) -> float:
        """Heat of 1 L/min with a rise of 1 K, W."""
        return self._p[at.W_PER_LPM_K]

    @property
    def parameters_of_file(self) -> list[float]:
        """The plant's parameters as the loop file has them."""
        return self._p

    def sd(self, covariance: Numbers, key: str) -> float:
        """Standard deviation of one number; 0 where it is not fitted."""
        place = self._place.get(key)
        return 0.0 if place is None else float(np.sqrt(covariance[place, place]))

    def relative_sd(self, covariance: Numbers, name: str, other: str) -> float:
        """Standard deviation of one thermometer's offset against another's, K."""
        keys = [f"sensors.{sensor_key(each)}.offset" for each in (name, other)]
        ways = np.zeros(len(covariance))
        for key, way in zip(keys, (1.0, -1.0), strict=True):
            if key in self._place:
                ways[self._place[key]] = way
        return float(np.sqrt(ways @ covariance @ ways))

    @property
    def start(self) -> Numbers:
        """First guess of all numbers: those told of, then two layers a stretch."""
        layers = [first for each in self.stretches for first in self._layers(each)]
        return np.array([number.guess for number in self.told] + layers)

    @property
    def spread(self) -> Numbers:
        """How far each may be off."""
        layers = [TOP_K, BOTTOM_K] * len(self.stretches)
        return np.array([number.spread for number in self.told] + layers)

    @property
    def least(self) -> Numbers:
        """Lower bounds."""
        layers = [-100.0] * (2 * len(self.stretches))
        return np.array([number.least for number in self.told] + layers)

    @property
    def _room_lag_s(self) -> float:
        """The room's lag is the file's: the room is too slow to tell it."""
        sensor = self.loop.sensors.room
        return sensor.lag_s if sensor else 0.0

    def value(self, values: Numbers, key: str, otherwise: float = 0.0) -> float:
        """One number by its key; what is not fitted has the value given."""
        return float(values[self._place[key]]) if key in self._place else otherwise

    def offset_k(self, values: Numbers, name: str) -> float:
        """Offset of a channel's thermometer."""
        return self.value(values, f"sensors.{sensor_key(name)}.offset")

    def lag_s(self, values: Numbers, name: str) -> float:
        """Lag of a channel's thermometer."""
        return self.value(values, f"sensors.{sensor_key(name)}.lag")

    def residuals(self, values: Numbers, unsure: Numbers | None = None) -> list[Numbers]:
        """Reading minus plant of each place that is seen, over all stretches, K.

        ``unsure`` has one number for each of UNSURE, 0 for what the log and the file say.
        """
        found: dict[str, list[Numbers]] = {name: [] for name in self.seen}
        for number, stretch in enumerate(self.stretches):
            shown = self.shown(values, number, unsure)
            rows = np.arange(stretch.rows)
            for name, parts in found.items():
                if name in stretch.readings:
                    at_rows = stretch.at_rows[name][:: self._thin]
                    model = np.interp(at_rows, rows, shown[name])
                    parts.append(stretch.readings[name][:: self._thin] - model)
        return [np.concatenate(found[name]) for name in self.seen]

    def times_s(self, name: str) -> Numbers:
        """Times of the residuals of a place, s since the log began."""
        return np.concatenate([
            each.start_s + ROW_S * each.at_rows[name][:: self._thin]
            for each in self.stretches if name in each.readings
        ])  # fmt: skip

    def shown(
        self, values: Numbers, number: int, unsure: Numbers | None = None
    ) -> dict[str, Numbers]:
        """What the thermometers would show at every row of a stretch."""
        stretch = self.stretches[number]
        p = self.parameters(values)
        if unsure is not None:
            stretch = self._late(stretch, unsure)
            p[at.BACK_W_K] *= 1.0 + OFF_SHARE * unsure[UNSURE.index("back_loss")]
            p[at.BACK_J_K] *= 1.0 + OFF_SHARE * unsure[UNSURE.index("back_fill")]
            p[at.DUMP_W_K] *= 1.0 + OFF_SHARE * unsure[UNSURE.index("dump")]
        outlet_c = self.outlet_c(values, stretch)
        room_c = self.room_c(values, stretch)
        if unsure is not None:
            more_s = OFF_SHARE * self._room_lag_s * unsure[UNSURE.index("room_lag")]
            room_c = room_c + more_s * stretch.room_k_s
        y = self._begin(values, number, outlet_c)
        weights = [lag_weights(ROW_S, self.lag_s(values, name)) for name in SEEN]
        lag = np.array(weights).ravel()
        seen = np.zeros(LOOKED_AT * stretch.rows)
        stepped(downstream)(
            y, p, lag, ROW_S, stretch.rows, outlet_c, stretch.flow_lpm, stretch.fans,
            stretch.dump, room_c, stretch.outdoor_c, seen,
        )
        table = seen.reshape(-1, LOOKED_AT)
        found = {
            name: table[:, k] + self.offset_k(values, name) for k, name in enumerate(SEEN)
        }
        if unsure is None:
            return found
        late_s = self.late_s
        return {
            name: _shifted(each, late_s * unsure[UNSURE.index(name)])
            for name, each in found.items()
        }

    @property
    def row_s(self) -> float:
        """How well a moment between two rows is known (standard deviation)."""
        return self.log.every_s / float(np.sqrt(12.0))

    @property
    def late_s(self) -> float:
        """How late a row may tell of what happened (standard deviation)."""
        return float(np.hypot(self.row_s, BOARD_LATE_S))

    @property
    def tells_times(self) -> bool:
        """Whether the rows are close enough together to tell a lag from a late row."""
        return self.late_s < LATE_S

    def _late(self, stretch: Stretch, unsure: Numbers) -> Stretch:
        """The stretch with what drives it a little earlier or later.

        What is switched is switched between two rows, whenever these were read.
        """
        late_s = dict(zip(UNSURE, self.late_s * unsure, strict=True))
        switched = float(np.hypot(1.0, self.row_s / self.late_s))
        return replace(
            stretch,
            outlet_c=_shifted(stretch.outlet_c, late_s["coil_outlet"]),
            outlet_k_s=_shifted(stretch.outlet_k_s, late_s["coil_outlet"]),
            flow_lpm=_shifted(stretch.flow_lpm, switched * late_s["flow"])
            * (1.0 + METER_SHARE * unsure[UNSURE.index("meter")]),
            fans=_shifted(stretch.fans, switched * late_s["fans"]),
        )

    def outlet_c(self, values: Numbers, stretch: Stretch) -> Numbers:
        """True water at the coil's outlet: the reading less its offset, with its lag made up."""
        lag_s = self.lag_s(values, "coil_outlet")
        return np.asarray(
            stretch.outlet_c + lag_s * stretch.outlet_k_s - self.offset_k(values, "coil_outlet")
        )

    def tank_c(self, values: Numbers, stretch: Stretch) -> Numbers:
        """True water at the pump's suction, from the reading."""
        lag_s = self.lag_s(values, "tank")
        return np.asarray(
            stretch.tank_c + lag_s * stretch.tank_k_s - self.offset_k(values, "tank")
        )

    def room_c(self, values: Numbers, stretch: Stretch) -> Numbers:
        """True air of the room, from the reading."""
        return np.asarray(
            stretch.room_c + self._room_lag_s * stretch.room_k_s - self.offset_k(values, "room")
        )

    def parameters(self, values: Numbers) -> Numbers:
        """The plant's parameters with these numbers in them."""
        p = np.array(self._p)
        get = self.value
        p[at.FANS_ON_W_K] = get(values, "radiator.fans_on", p[at.FANS_ON_W_K])
        p[at.FANS_OFF_W_K] = get(values, "radiator.fans_off", p[at.FANS_OFF_W_K])
        p[at.CORE_J_K] *= get(values, "radiator.fill", 1.0)
        full = get(values, "tank.water") / self.loop.tank.water_l
        p[at.LAYER_J_K] *= full
        p[at.LAYERS_W_K] *= full
        p[at.TANK_W_K] = get(values, "tank.loss")
        p[at.HOT_W_K] = get(values, "lines.hot.loss") / at.LINE_CELLS
        p[at.HOT_J_K] *= get(values, "lines.hot.fill")
        return p

    def _layers(self, stretch: Stretch) -> tuple[float, float]:
        """Upper and lower layer where a stretch begins, as read."""
        bottom_c = float(stretch.tank_c[0])
        return bottom_c, bottom_c

    def _begin(self, values: Numbers, number: int, outlet_c: Numbers) -> Numbers:
        """The state at the first row of a stretch."""
        stretch = self.stretches[number]
        top_c, bottom_c = values[len(self.told) + 2 * number :][:2]
        y = np.array(self.rest)
        y[at.TANK_TOP], y[at.TANK_BOTTOM] = top_c, bottom_c
        y[at.HOT_ : at.HOT_ + at.LINE_CELLS] = outlet_c[0]
        after_c = bottom_c
        y[at.BACK_ : at.BACK_ + at.LINE_CELLS] = after_c
        y[at.CORE_ : at.CORE_ + at.RADIATOR_CELLS] = after_c
        y[at.HOT_LEAST] = y[at.BACK_LEAST] = 10.0
        for name, channel in CHANNEL_OF.items():
            truth = y[int(self._p[at.SOURCE_ + channel])]
            first = stretch.tank_c[0] - self.offset_k(values, "tank") if name == "tank" else truth
            y[at.LAGGED_ + channel] = y[at.TRUE_ + channel] = first
        return y


def _shifted(values: Numbers, late_s: float) -> Numbers:
    """A series that is told of so much later."""
    rows = np.arange(len(values), dtype=float)
    return np.interp(rows - late_s / ROW_S, rows, values)
