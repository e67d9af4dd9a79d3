"""A pulse meter against water that is weighed: pulses per litre, with uncertainty.

K = N / V, and V = m (1 + a (1/w - 1/8000)) / w (ISO 4185): m as the scale in air shows it, w the
density of the water, a that of the air, 1.2 kg/m3; scales are adjusted with weights of
8000 kg/m3.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from coilward.loop.errors import Fault, InputRefused
from coilward.loop.units import (
    CELSIUS,
    KILOGRAMS,
    LITRES,
    LITRES_PER_MINUTE,
    POUND_KG,
    SECONDS,
    US_GALLON_L,
    Quantity,
)
from coilward.loop.water import density_kg_m3
from coilward.measuring.readings import Column, Reading, grouped, odd_ones
from coilward.measuring.uncertainty import Part, Uncertainty, half_step_u, pooled

AIR_KG_M3: Final = 1.2
WEIGHTS_KG_M3: Final = 8000.0
LEAST_K, MOST_K = 100.0, 1000.0
"""What the loop file accepts, pulses/L."""
SLIP: Final = 0.06
"""So near to the factor of a wrong unit, a wrong unit it is."""
APART: Final = 0.2
"""Flows closer than this are one flow with its repeats."""
FIT_FLOWS, FIT_REPEATS, FIT_KG, FIT_PULSES, FIT_LPM = 3, 3, 10.0, 3000.0, 1.0
"""What a good table has (common practice, no source)."""
WATER_U_K: Final = 0.5
"""Standard uncertainty of the water's temperature, unless something better is known."""
DENSITY_U: Final = 1e-4
"""Of the density by itself: tap water and dissolved air (common practice, no source)."""

COUNTED: Final = Quantity("a whole number", "3119", {"": 1.0}, bare=True, whole=True)

COLUMNS: Final = (
    Column("pulses", "pulses counted while the water ran", COUNTED, least=1, most=999_999),
    Column("mass", "the water's mass, vessel taken off", KILOGRAMS, needed=False, usual=True,
           above=0, most=5000),
    Column("volume", "the water's volume, where it is not weighed", LITRES, needed=False,
           above=0, most=5000),
    Column("water", "temperature of the water", CELSIUS, least=0, most=100),
    Column("time", "how long the water ran", SECONDS, needed=False, usual=True, above=0,
           most=86400),
    Column("flow", "the flow, where the time is not known", LITRES_PER_MINUTE, needed=False,
           above=0, most=200),
)  # fmt: skip


class Run(NamedTuple):
    """One run: pulses, litres by the formula, flow in L/min (NaN where not known)."""

    pulses: float
    volume_l: float
    mass_kg: float
    water_c: float
    flow_lpm: float

    @property
    def k(self) -> float:
        """Pulses per litre."""
        return self.pulses / self.volume_l


class Point(NamedTuple):
    """K at one flow: the mean of its runs, pulses/L."""

    flow_lpm: float
    runs: tuple[int, ...]
    k: float
    doubt: Uncertainty


class Meter(NamedTuple):
    """A calibrated meter."""

    runs: tuple[Run, ...]
    points: tuple[Point, ...]
    k: float
    """One number for all flows: the mean of the points."""
    doubt: Uncertainty
    """Of that one number at any of the flows, with what the flow changes."""
    real_effect: bool
    """The flow changes K by more than the points' own doubt."""
    spread: float
    """Relative standard deviation of one run, as used."""
    spread_freedom: float
    broken: tuple[str, ...]
    """Which rules of a good table it breaks, in words."""


def volume_l(mass_kg: float, water_c: float) -> float:
    """Litres of water that a scale in air shows as so many kilograms (ISO 4185)."""
    water = density_kg_m3(water_c)
    buoyancy = 1 + AIR_KG_M3 * (1 / water - 1 / WEIGHTS_KG_M3)
    return 1000 * mass_kg * buoyancy / water


def k_doubt(
    run: Run, *, mass_u_kg: float = 0.0, volume_u_l: float = 0.0, water_u_k: float = WATER_U_K,
    spread: float = 0.0, spread_freedom: float = math.inf, repeats: int = 1,
) -> Uncertainty:  # fmt: skip
    """The doubt about K of one run, or of the mean of so many alike, pulses/L.

    `spread` is the relative standard deviation of one run. The count is off by less than a pulse at
    each end: sqrt(2)/sqrt(3) of one.
    """
    rise = density_kg_m3(run.water_c + 0.5) / density_kg_m3(max(run.water_c - 0.5, 0.01)) - 1
    parts = [
        Part("counting whole pulses", run.k * math.sqrt(2 / 3) / run.pulses / math.sqrt(repeats)),
        Part("repeats", run.k * spread / math.sqrt(repeats), spread_freedom),
    ]
    if math.isnan(run.mass_kg):
        parts.append(Part("reading the vessel", run.k * volume_u_l / run.volume_l))
    else:
        parts += [
            Part("reading the scale", run.k * mass_u_kg / run.mass_kg),
            Part("temperature of the water", run.k * abs(rise) * water_u_k),
            Part("density of the water", run.k * DENSITY_U),
        ]
    return Uncertainty(tuple(parts))


def runs_of(readings: Sequence[Reading]) -> list[Run]:
    """The runs of a table.

    Raises InputRefused where a line has neither mass nor volume, or both.
    """
    runs, faults = [], []
    for each in readings:
        mass_kg, litres = each.number("mass"), each.number("volume")
        if math.isnan(mass_kg) == math.isnan(litres):
            faults.append(each.fault("mass", "either a mass or a volume is wanted", "mass 9.03 kg"))
            continue
        water_c = each.number("water")
        if not math.isnan(mass_kg):
            litres = volume_l(mass_kg, water_c)
        flow = each.number("flow")
        if math.isnan(flow):
            flow = 60 * litres / each.number("time")
        runs.append(Run(each.number("pulses"), litres, mass_kg, water_c, flow))
    if faults:
        raise InputRefused(faults)
    return runs


def calibrate(
    readings: Sequence[Reading], present_k: float, *, step_kg: float, step_l: float,
    spread: float,
) -> Meter:  # fmt: skip
    """K from a table, for a meter whose K is now `present_k`, pulses/L.

    `step_kg` and `step_l` are the smallest steps of scale and vessel; the net weight takes two
    readings. `spread` is the relative deviation of one run where no flow was repeated.

    Raises InputRefused for units that were mixed up, and for anything else that can't be.
    """
    runs = runs_of(readings)
    faults = slips(readings, runs, present_k)
    if faults:
        raise InputRefused(faults)
    known = not any(math.isnan(run.flow_lpm) for run in runs)
    groups = grouped([run.flow_lpm for run in runs], APART) if known else [list(range(len(runs)))]
    shares = [[runs[index].k for index in group] for group in groups]
    means = [sum(each) / len(each) for each in shares]
    deviation, freedom = pooled(
        [[k / mean for k in each] for each, mean in zip(shares, means, strict=True)]
    )
    spread, spread_freedom = (deviation, float(freedom)) if freedom else (spread, math.inf)

    points = []
    for group, k in zip(groups, means, strict=True):
        size = len(group)
        mean = Run(*(sum(each) / size for each in zip(*(runs[i] for i in group), strict=True)))
        doubt = k_doubt(
            mean, mass_u_kg=math.sqrt(2) * half_step_u(step_kg), volume_u_l=half_step_u(step_l),
            spread=spread, spread_freedom=spread_freedom, repeats=size,
        )  # fmt: skip
        points.append(Point(mean.flow_lpm, tuple(group), k, doubt))
    return _together(runs, points, spread, spread_freedom)


def _together(
    runs: Sequence[Run], points: Sequence[Point], spread: float, freedom: float
) -> Meter:
    """One number for all flows, and whether one number will do."""
    ks = [point.k for point in points]
    k = sum(ks) / len(ks)
    worst = max(points, key=lambda point: point.doubt.expanded)
    change = (max(ks) - min(ks)) / 2
    parts = list(worst.doubt.parts)
    if change:
        parts.append(Part("what the flow changes", change / math.sqrt(3)))
    apart = [
        abs(a.k - b.k) > math.hypot(a.doubt.expanded, b.doubt.expanded)
        for a in points
        for b in points
    ]
    return Meter(
        tuple(runs), tuple(points), k, Uncertainty(tuple(parts)), any(apart), spread, freedom,
        tuple(broken_rules(runs, points)),
    )  # fmt: skip


def broken_rules(runs: Sequence[Run], points: Sequence[Point]) -> list[str]:
    """Which rules of a good table are broken, in words."""
    broken = []
    small = [
        number
        for number, run in enumerate(runs, start=1)
        if run.pulses < FIT_PULSES and run.volume_l < FIT_KG
    ]
    if small:
        which = ", ".join(map(str, small))
        broken.append(f"run {which}: under {FIT_KG:g} kg and under {FIT_PULSES:g} pulses")
    if any(math.isnan(run.flow_lpm) for run in runs):
        broken.append("the flow is not known: give a column time or flow")
    elif len(points) < FIT_FLOWS:
        broken.append(f"{len(points)} flow{'s' * (len(points) > 1)}, not {FIT_FLOWS}")
    few = [point for point in points if len(point.runs) < FIT_REPEATS]
    if few:
        least = min(len(point.runs) for point in few)
        broken.append(f"a flow with {least} repeat{'s' * (least > 1)}, not {FIT_REPEATS}")
    slow = [n for n, run in enumerate(runs, start=1) if run.flow_lpm < FIT_LPM]
    if slow:
        which = ", ".join(map(str, slow))
        broken.append(f"run {which}: under {FIT_LPM:g} L/min, where such a meter is blind")
    return broken


_MIXED: Final = (
    ("mass", POUND_KG, "it fits where pounds were typed as kilograms"),
    ("mass", 1 / POUND_KG, "it fits where kilograms were typed as pounds"),
    ("volume", US_GALLON_L, "it fits where gallons were typed as litres"),
    ("volume", 1 / US_GALLON_L, "it fits where litres were typed as gallons"),
)


def slips(readings: Sequence[Reading], runs: Sequence[Run], present_k: float) -> list[Fault]:
    """Readings that only make sense in another unit, or make no sense at all.

    K is held against the meter's present one, and each run against the others.
    """
    faults = []
    ks = [run.k for run in runs]
    for reading, run, ratio in zip(readings, runs, odd_ones(ks), strict=True):
        key = "volume" if math.isnan(run.mass_kg) else "mass"
        # Pounds read as kilograms make the water 2.2 times too much, and K as much too small.
        why = next(
            (
                words
                for name, factor, words in _MIXED
                if name == key and (_near(run.k / present_k, factor) or _near(ratio, factor))
            ),
            "",
        )
        wrong = run.k < LEAST_K or run.k > MOST_K
        if why or wrong:
            problem = f"this gives {run.k:.1f} pulses/L, where the file has {present_k:.1f}"
            wanted = "the unit that was read, in the table's first line or behind the number"
            if why:
                wanted += "; if the table is right, correct meter.pulses in the loop file first"
            faults.append(reading.fault(key, f"{problem}{f'; {why}' if why else ''}", wanted))
        elif abs(ratio - 1) > APART or (len(ks) == 2 and max(ks) > min(ks) * (1 + APART)):
            problem = f"this gives {run.k:.1f} pulses/L, far from the other runs"
            faults.append(reading.fault(key, problem, "runs within a fifth of each other"))
    return faults + _warm(readings, [run.water_c for run in runs])


def _warm(readings: Sequence[Reading], waters_c: Sequence[float]) -> list[Fault]:
    """Temperatures in Fahrenheit that were typed as Celsius among others that are not."""
    faults = []
    for index, (reading, water_c) in enumerate(zip(readings, waters_c, strict=True)):
        others = sorted([*waters_c[:index], *waters_c[index + 1 :]])
        meant = (water_c - 32) / 1.8
        if others and water_c - others[len(others) // 2] > 20 and any(
            abs(meant - other) < 3 for other in others
        ):  # fmt: skip
            problem = f"{water_c:g} degC is far from the others, and {water_c:g} degF is not"
            faults.append(reading.fault("water", problem, f'"{water_c:g} degF", if that was meant'))
    return faults


def _near(ratio: float, factor: float) -> bool:
    return abs(ratio / factor - 1) < SLIP
