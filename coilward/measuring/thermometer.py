"""Thermometers against ice, boiling water or a reference: constants, and what is left over.

A thermistor (NTC) gets 1/T = a + b ln R + c (ln R)^3 (Steinhart and Hart), a thermometer that
already reads degrees gets a gain and a zero. Two points leave c out: that is the B formula,
b = 1/B, and its shape between the points is wrong by what `shape_error_k` tells.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Final, Literal, NamedTuple

import numpy as np

from coilward.loop.errors import Fault, InputRefused
from coilward.loop.units import CELSIUS, KELVIN, OHMS
from coilward.loop.water import boiling_c
from coilward.measuring.logarithm import natural_log
from coilward.measuring.readings import Column, Reading
from coilward.measuring.uncertainty import line_fit

ZERO_K: Final = 273.15
ICE_U_K, BOILING_U_K, REFERENCE_U_K = 0.1, 0.3, 0.5
"""Standard uncertainties: a stirred slush of crushed ice; boiling water with the weather's
pressure not known (10 hPa); another thermometer of which nothing better is known."""
ALTITUDE_K: Final = 0.5
"""Boiling water typed this much hotter than it can be here."""
TYPICAL: Final = (1.129241e-3, 2.341077e-4, 8.775468e-8)
"""Steinhart-Hart constants of a usual 10 kohm thermistor, for the shape between two points."""
CLOSEST_K: Final = 10.0
"""Points nearer to each other than this say too little."""

Kind = Literal["ntc", "digital", "thermocouple"]


def columns(kind: Kind) -> tuple[Column, ...]:
    """What is read at each point."""
    reading = (
        Column("reading", "resistance of the thermistor", OHMS, least=1, most=1e7)
        if kind == "ntc"
        else Column("reading", "what the thermometer shows", CELSIUS, least=-60, most=400)
    )
    return (
        Column("bath", "what it hangs in", words=("ice", "boiling", "reference")),
        Column("reference", "true temperature, where it is a reference", CELSIUS, needed=False,
               usual=True, least=-40, most=200),
        reading,
        Column("doubt", "standard uncertainty of the true temperature", KELVIN, needed=False,
               above=0, most=5),
    )  # fmt: skip


class Bath(NamedTuple):
    """One point: the true temperature with its standard uncertainty, and the reading."""

    true_c: float
    u_k: float
    reading: float


class Fit(NamedTuple):
    """Constants, and the temperature that they make of a reading."""

    constants: tuple[float, ...]
    """a, b, c of a thermistor; gain and zero of another thermometer."""
    exact: bool
    """As many constants as points: nothing is left over to judge them by."""
    formula: Callable[[float], float]
    """Reading to degC."""


class At(NamedTuple):
    """What is left at one temperature, K."""

    words: str
    true_c: float
    shape_k: float
    """Shown less true, by the wrong shape between the points; negative reads low: unsafe."""
    u_k: float

    @property
    def error_k(self) -> float:
        """Shape and twice the standard uncertainty together: the most that it is off."""
        return abs(self.shape_k) + 2 * self.u_k


class Thermometry(NamedTuple):
    """A calibrated thermometer."""

    baths: tuple[Bath, ...]
    fit: Fit
    left_k: tuple[float, ...]
    """Shown less true at each point, with the new constants."""
    before_k: tuple[float, ...]
    """The same without them; empty for a thermistor."""
    at: tuple[At, ...]
    """At each trip that it serves."""

    @property
    def error_k(self) -> float:
        """The largest error at any of its trips, K."""
        return max(each.error_k for each in self.at)


def ntc_c(constants: Sequence[float], ohm: float) -> float:
    """Temperature of a thermistor, degC (Steinhart and Hart)."""
    log = natural_log(ohm)
    a, b, c = constants
    return 1 / (a + b * log + c * (log * log * log)) - ZERO_K


def ntc_ohm(constants: Sequence[float], true_c: float) -> float:
    """Resistance at a temperature, ohm: the one real root of the cubic in ln R."""
    a, b, c = constants
    if c == 0:
        return math.exp((1 / (true_c + ZERO_K) - a) / b)
    roots = np.roots([c, 0.0, b, a - 1 / (true_c + ZERO_K)])
    return math.exp(float(next(root.real for root in roots if abs(root.imag) < 1e-9)))


def ntc_fit(baths: Sequence[Bath]) -> Fit:
    """Two points: B (c = 0). Three: all constants. More: least squares in 1/T.

    Raises ValueError where no falling curve goes through them.
    """
    logs = np.log([bath.reading for bath in baths])
    inverse = np.array([1 / (bath.true_c + ZERO_K) for bath in baths])
    powers = [logs**0, logs] if len(baths) == 2 else [logs**0, logs, logs**3]
    found, _, rank, _ = np.linalg.lstsq(np.column_stack(powers), inverse, rcond=None)
    constants = (*map(float, found), 0.0)[:3]
    if rank < len(powers) or constants[1] <= 0:
        raise ValueError("a thermistor's resistance falls as it gets warmer")
    return Fit(constants, len(baths) <= 3, lambda ohm: ntc_c(constants, ohm))


def digital_fit(baths: Sequence[Bath]) -> Fit:
    """Gain and zero: true = gain x reading + zero; least squares for more than two points."""
    line = line_fit([bath.reading for bath in baths], [bath.true_c for bath in baths])
    return Fit((line.slope, line.intercept), len(baths) == 2, line.at)


def beta_k(fit: Fit) -> float:
    """B of a thermistor's two points, K."""
    return 1 / fit.constants[1]


def shape_error_k(points_c: Sequence[float], true_c: float) -> float:
    """What a curve through these temperatures shows too much at another one, K.

    Taken from a usual thermistor, whose three constants stand for the truth.
    """
    baths = [Bath(point, 0.0, ntc_ohm(TYPICAL, point)) for point in points_c]
    return ntc_fit(baths).formula(ntc_ohm(TYPICAL, true_c)) - true_c


def baths_of(readings: Sequence[Reading], altitude_m: float) -> list[Bath]:
    """The points of a table, with ice at 0 degC and boiling water as hot as it gets at the site.

    Raises InputRefused for what can't be, such as water that boils at 100 degC on a mountain.
    """
    boils_c = boiling_c(altitude_m)
    baths, faults = [], []
    for each in readings:
        kind, typed_c = each.word("bath"), each.number("reference")
        true_c = {"ice": 0.0, "boiling": boils_c}.get(kind, typed_c)
        usual_k = {"ice": ICE_U_K, "boiling": BOILING_U_K}.get(kind, REFERENCE_U_K)
        fault = _bath_fault(each, kind, typed_c, boils_c, altitude_m)
        if fault:
            faults.append(fault)
        u_k = each.number("doubt")
        baths.append(Bath(true_c, usual_k if math.isnan(u_k) else u_k, each.number("reading")))
    if faults:
        raise InputRefused(faults)
    return baths


def _bath_fault(
    each: Reading, kind: str, typed_c: float, boils_c: float, altitude_m: float
) -> Fault | None:
    if kind == "reference" and math.isnan(typed_c):
        return each.fault("reference", "the true temperature is missing", "reference 80 degC")
    if kind == "ice" and not math.isnan(typed_c) and abs(typed_c) > ALTITUDE_K:
        return each.fault("reference", "melting ice has 0 degC", "nothing there, or 0 degC")
    if kind != "ice" and typed_c > boils_c + ALTITUDE_K:
        return each.fault(
            "reference",
            f"at {altitude_m:g} m open water can't be hotter than {boils_c:.2f} degC; the "
            "altitude may have been forgotten",
            f"nothing there for boiling water, or at most {boils_c:.2f} degC; or site.altitude "
            "in the loop file put right",
        )
    if kind == "boiling" and typed_c < boils_c - 3:
        return each.fault(
            "reference", f"water boils at {boils_c:.2f} degC at {altitude_m:g} m",
            "nothing there for boiling water; or site.altitude in the loop file put right",
        )  # fmt: skip
    return None


def calibrate(
    readings: Sequence[Reading], kind: Kind, altitude_m: float, trips_c: Mapping[str, float],
    *, step: float,
) -> Thermometry:  # fmt: skip
    """Constants from a table, and what is left at each of the trips that the thermometer serves.

    `step` is the smallest step of the reading, ohm or K. Raises InputRefused for a bad table.
    """
    baths = baths_of(readings, altitude_m)
    low, high = min(bath.true_c for bath in baths), max(bath.true_c for bath in baths)
    if len(baths) < 2 or high - low < CLOSEST_K:
        last = readings[-1]
        problem = "two points at least 10 K apart are wanted"
        raise InputRefused([last.fault("bath", problem, "ice and boiling water, for example")])
    fitted = ntc_fit if kind == "ntc" else digital_fit
    try:
        fit = fitted(baths)
    except ValueError as error:
        wrong = readings[0].fault("reading", str(error), "the readings in the right order")
        raise InputRefused([wrong]) from None
    gain = 1.0 if kind == "ntc" else fit.constants[0]
    if not 0.9 < gain < 1.1:
        problem = f"a gain of {gain:.3f} is no thermometer's; Fahrenheit may have been typed as "
        problem += "Celsius"
        raise InputRefused([readings[-1].fault("reading", problem, "readings within a tenth")])
    points_c = [bath.true_c for bath in baths]
    at = tuple(
        At(
            words, true_c, shape_error_k(points_c, true_c) if kind == "ntc" else 0.0,
            _doubt_k(baths, fitted, fit, true_c, kind, step),
        )
        for words, true_c in trips_c.items()
    )  # fmt: skip
    left = tuple(fit.formula(bath.reading) - bath.true_c for bath in baths)
    before = () if kind == "ntc" else tuple(bath.reading - bath.true_c for bath in baths)
    return Thermometry(tuple(baths), fit, left, before, at)


def _doubt_k(
    baths: Sequence[Bath], fitted: Callable[[Sequence[Bath]], Fit], fit: Fit, true_c: float,
    kind: Kind, step: float,
) -> float:  # fmt: skip
    """Standard uncertainty at a temperature: each point moved by its own, and the others not.

    With more points than constants, what is left over counts as well.
    """
    if kind == "ntc":
        reading = ntc_ohm(fit.constants, true_c)
    else:
        reading = (true_c - fit.constants[1]) / fit.constants[0]
    here = fit.formula(reading)
    total = 0.0
    for index, bath in enumerate(baths):
        slope = (fit.formula(bath.reading + step) - fit.formula(bath.reading)) / math.sqrt(12)
        moved = bath._replace(true_c=bath.true_c + math.hypot(bath.u_k, slope))
        again = fitted([*baths[:index], moved, *baths[index + 1 :]])
        total += (again.formula(reading) - here) ** 2
    if not fit.exact:
        left = sum((fit.formula(bath.reading) - bath.true_c) ** 2 for bath in baths)
        total += left / max(len(baths) - len(fit.constants), 1)
    resolution = (fit.formula(reading + step) - here) / math.sqrt(12)
    return math.sqrt(total + resolution**2)
