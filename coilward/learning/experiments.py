"""Which twenty minutes of test would tell most of what this log can't.

Of a short list each is stepped on the plant with the numbers as they are known now, and the one
is taken that shrinks the volume of doubt about the untold numbers most (D-optimality: half the
logarithm of the ratio of the determinants of their covariance, before and after).
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np

from coilward.learning.decay import LEAK_SD
from coilward.learning.fitting import Fit
from coilward.learning.following import Plant
from coilward.learning.log import Numbers
from coilward.learning.numbers import TOLD_SHARE
from coilward.learning.slopes import STEP
from coilward.learning.stretches import ROW_S, SEEN, Stretch
from coilward.loop.derived import Derived

MINUTES: Final = 20
COUNT: Final = int(MINUTES * 60 / ROW_S)
DECAY: Final = "fire.decay"
NEVER: Final = "sensors.tank.offset"
"""All others are measured against it."""
NOISE_K: Final = 0.3
"""Of one reading of the outlet, with what hangs together in it."""


class Experiment(NamedTuple):
    """One test that a builder can make in twenty minutes."""

    key: str
    words: str
    fan_words: str
    """What the fans do, told where there are fans; empty where the words tell it."""
    hot: bool
    """On a steady fire; else with the fire out."""
    fans: tuple[float, float]
    """In the first ten minutes and in the second."""
    valve: tuple[float, float]
    """Share of the way from the valve's stop to open, in both halves."""
    shuts: bool = False
    """The damper shuts at the start."""


EXPERIMENTS: Final = (
    Experiment("fans", "on a small steady fire, stop the fans for ten minutes and run them for "
               "another ten, with a person at the board", "", True, (0.0, 1.0), (1.0, 1.0)),
    Experiment("cold", "with the fire out and everything cold, let water circulate for twenty "
               "minutes", "the fans off", False, (0.0, 0.0), (1.0, 1.0)),
    Experiment("valve", "on a small steady fire, open the valve for ten minutes and bring it back "
               "to its stop for ten", "the fans running", True, (1.0, 1.0), (1.0, 0.0)),
    Experiment("damper", "shut the damper on a steady fire and log twenty minutes, the pump "
               "running", "the fans running", True, (1.0, 1.0), (1.0, 1.0), shuts=True),
    Experiment("steady", "on a small steady fire, log twenty minutes, the pump running",
               "the fans running", True, (1.0, 1.0), (1.0, 1.0)),
)  # fmt: skip


class Gain(NamedTuple):
    """What one experiment would do."""

    experiment: Experiment
    gain: float
    """Half the logarithm of the ratio of determinants: 0.7 halves one doubt."""
    tells: tuple[str, ...]
    """Keys of the numbers that it would tell, which this log doesn't."""


def ranked(
    plant: Plant, found: Fit, derived: Derived, untold: list[str], decay_sd_min: float
) -> list[Gain]:
    """Every experiment, the best first. ``untold`` are keys; a decay's doubt is NaN if unknown."""
    count = len(plant.told)
    keys = [number.key for number in plant.told]
    wanted = [keys.index(key) for key in untold if key in keys and key != NEVER]
    late = np.diag([plant.late_s**2 * key.endswith(".lag") for key in keys])
    spread = np.array([number.spread for number in plant.told])
    now = np.linalg.inv(found.covariance[:count, :count])
    gains = []
    for each in EXPERIMENTS:
        if plant.loop.radiator is None and not each.fan_words:
            continue
        after = now + _information(plant, found, derived, each)
        covariance = np.asarray(np.linalg.inv(after) + late, dtype=np.float64)
        gain = 0.5 * (_log_det(found.covariance, wanted) - _log_det(covariance, wanted))
        sd = np.sqrt(np.diag(covariance))
        tells = [keys[k] for k in wanted if sd[k] < TOLD_SHARE * spread[k]]
        if each.shuts and DECAY in untold:
            file_sd = 0.6 * plant.loop.fire.decay_min
            before = file_sd if np.isnan(decay_sd_min) else min(decay_sd_min, file_sd)
            later = _decay_sd_min(plant, derived, before)
            gain += float(np.log(before / later))
            if later < TOLD_SHARE * plant.loop.fire.decay_min:
                tells.append(DECAY)
        gains.append(Gain(each, gain, tuple(tells)))
    return sorted(gains, key=lambda one: -one.gain)


def _log_det(covariance: Numbers, wanted: list[int]) -> float:
    return float(np.linalg.slogdet(covariance[np.ix_(wanted, wanted)])[1]) if wanted else 0.0


def _information(plant: Plant, found: Fit, derived: Derived, each: Experiment) -> Numbers:
    """What the readings of an experiment would add, with its own layers marginalised."""
    trial = Plant(
        plant.loop, plant.log, plant.parameters_of_file, plant.told,
        [_stretch(plant, derived, each)],
    )
    values = np.concatenate([found.values[: len(plant.told)], trial.start[len(plant.told) :]])
    scale = trial.spread
    weight = dict(zip(plant.seen, 1.0 / (found.spread * np.sqrt(found.times)), strict=True))

    def readings(u: Numbers) -> Numbers:
        parts = trial.residuals(values + u * scale)
        return np.concatenate([
            part * weight.get(name, 0.0) for name, part in zip(trial.seen, parts, strict=True)
        ])  # fmt: skip

    here = readings(np.zeros(len(values)))
    moved = np.column_stack([readings(STEP * row) - here for row in np.eye(len(values))])
    slopes = moved / STEP / scale
    whole = slopes.T @ slopes
    own = len(plant.told)
    layers = whole[own:, own:] + np.diag(1.0 / scale[own:] ** 2)
    cross = whole[:own, own:]
    return np.asarray(whole[:own, :own] - cross @ np.linalg.solve(layers, cross.T))


def _stretch(plant: Plant, derived: Derived, each: Experiment) -> Stretch:
    """Twenty minutes about the nominal working point, or cold."""
    halves = np.repeat([0, 1], COUNT // 2)
    flow = derived.flow_stop_lpm + (derived.flow_open_lpm - derived.flow_stop_lpm) * np.array(
        each.valve
    )
    settled, start_c = derived.settled.nominal, plant.loop.tank.start_c
    tank_c = settled.tank_c if each.hot else start_c
    share = settled.flow_lpm / flow
    rise_k = (settled.outlet_c - settled.tank_c) * share
    outlet = tank_c + (rise_k if each.hot else np.zeros(2))
    flat = np.full(COUNT, tank_c)
    nothing = np.zeros(COUNT)
    places = np.arange(0.0, COUNT - 1, max(plant.log.every_s, ROW_S))
    outlet_c = outlet[halves]
    if each.shuts:
        decay = np.exp(-ROW_S * np.arange(COUNT) / (60.0 * plant.loop.fire.decay_min))
        outlet_c = tank_c + (outlet_c - tank_c) * decay
    names = [name for name in SEEN if plant.log.has(name)]
    return Stretch(
        0.0, COUNT, outlet_c, np.gradient(outlet_c), flat, nothing, flow[halves],
        np.array(each.fans)[halves], nothing, nothing, np.full(COUNT, plant.loop.room.air_c),
        nothing, np.full(COUNT, plant.loop.site.outdoor_c),
        {name: np.zeros(len(places)) for name in names}, dict.fromkeys(names, places),
    )  # fmt: skip


def _decay_sd_min(plant: Plant, derived: Derived, before_min: float) -> float:
    """Doubt about the decay after twenty minutes of it, from the rise that falls."""
    settled, fire = derived.settled.nominal, plant.loop.fire
    t_min = np.arange(0.0, MINUTES, max(plant.log.every_s, ROW_S) / 60.0)
    rise_k = settled.outlet_c - settled.tank_c
    fades = np.exp(-t_min / fire.decay_min)
    leak = fire.damper_leak
    slopes = np.column_stack([
        leak + (1.0 - leak) * fades,
        rise_k * (1.0 - leak) * fades * t_min / fire.decay_min**2,
        rise_k * (1.0 - fades),
        np.ones(len(t_min)),
    ]) / NOISE_K  # fmt: skip
    believed = np.array([rise_k, before_min, LEAK_SD, 0.3])
    covariance = np.linalg.inv(slopes.T @ slopes + np.diag(1.0 / believed**2))
    return float(np.sqrt(covariance[1, 1]))
