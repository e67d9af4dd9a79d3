"""A thermometer's certificate."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from coilward.controller.facts import LINE_COLD_C
from coilward.desk.certificate import Certificate, Dot, Here, Instrument, Picture, parsed
from coilward.desk.from_board import thermometer_fills
from coilward.loop.derived import Derived
from coilward.loop.editing import Change
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.model import Loop, Thermometer
from coilward.loop.units import KELVIN, OHMS, convert, show
from coilward.measuring.readings import Reading
from coilward.measuring.thermometer import (
    Kind,
    Thermometry,
    beta_k,
    calibrate,
    columns,
    ntc_ohm,
)

FORMULAS: Final[Mapping[Kind, tuple[str, ...]]] = {
    "ntc": (
        "1/T = a + b ln R + c (ln R)³, T in K, R in ohm (Steinhart and Hart); with two points "
        "c = 0 and B = 1/b",
        "shape: the same two or three temperatures on a usual 10 kohm thermistor with three "
        "constants, against that thermistor",
    ),
    "digital": ("true = gain x reading + zero; least squares for more than two points",),
    "thermocouple": ("true = gain x reading + zero; least squares for more than two points",),
}
DOUBT: Final = (
    "u²: each point's own doubt through the constants, what is left over, and one step of the "
    "reading (step / sqrt(12)); error = |shape| + 2 u (JCGM 100)"
)
METHOD: Final = (
    "Readings taken in a stirred slush of crushed ice (0 °C), in boiling water at the site's "
    "altitude, or beside a reference, each after it had come to rest."
)
LOW: Final = (
    "Between the points it reads up to {most:.2f} K low, to the unsafe side, by the shape of the "
    "curve alone: points around the trips (40 and 80 °C), or three points, do better."
)


def trips_c(name: str, loop: Loop, derived: Derived) -> dict[str, float]:
    """The limits that a thermometer serves, degC."""
    d = derived
    if name.startswith("coil_outlet"):
        return {"outlet warning": d.outlet_warn_c, "outlet dump": d.outlet_dump_c,
                "outlet high-high": d.outlet_hh_c}  # fmt: skip
    if name == "tank":
        return {"tank warning": d.tank_warn_c, "tank trip": d.tank_trip_c,
                "tank high-high": d.tank_hh_c}  # fmt: skip
    if name == "coil_metal":
        return {"metal high": d.metal_high_c, "metal dry": d.metal_dry_c}
    if name == "line":
        return {"line cold": LINE_COLD_C}
    if name == "room":
        return {"room": loop.room.not_over_c or max(loop.room.air_c, 0.0)}
    return {"allowed outlet": d.allow_c}


def instrument(sensor: str, step: str | None) -> Instrument:
    """The thermometer of that name, read in steps (ohm, or kelvin)."""

    def certify(readings: Sequence[Reading], here: Here) -> Certificate:
        fitted = _fitted(here.loop, sensor)
        quantity = OHMS if fitted.kind == "ntc" else KELVIN
        typed = step or ("1 ohm" if fitted.kind == "ntc" else f"{fitted.quantum_k or 0.01:g} K")
        trips = trips_c(sensor, here.loop, here.derived)
        found = calibrate(
            readings, fitted.kind, here.loop.site.altitude_m, trips,
            step=parsed("--step", typed, quantity),
        )  # fmt: skip
        return _certificate(found, sensor, fitted, here)

    return Instrument(
        "thermometer", lambda loop: columns(_fitted(loop, sensor).kind), certify,
        lambda board, loop: thermometer_fills(board, sensor, loop), sensor,
    )


def _fitted(loop: Loop, sensor: str) -> Thermometer:
    """The thermometer of that name. Raises InputRefused where the loop has none."""
    names = [name for name, each in loop.sensors if isinstance(each, Thermometer)]
    if sensor not in names:
        wanted = f"one of {', '.join(names)}"
        raise InputRefused([
            Fault("--sensor", None, "", sensor, "the loop has no such thermometer", wanted)
        ])  # fmt: skip
    fitted: Thermometer = getattr(loop.sensors, sensor)
    return fitted


def _certificate(
    found: Thermometry, sensor: str, fitted: Thermometer, here: Here
) -> Certificate:
    ntc = fitted.kind == "ntc"
    constants = found.fit.constants
    error_k = max(math.ceil(10 * found.error_k - 1e-6) / 10, 0.1)

    def degrees(value_c: float) -> str:
        return show(value_c, "c", here.system)

    def kelvins(value_k: float, *, sign: bool = True) -> str:
        number, unit = convert(value_k, "k", here.system)
        return f"{round(number, 2) + 0.0:{'+' if sign else ''}.2f} {unit}"

    if ntc:
        told = [("a, b, c", ", ".join(f"{each:.6e}" for each in constants))]
        if constants[2] == 0:
            told.append(("B", f"{beta_k(found.fit):.1f} K"))
        told.append(("resistance at 25 °C", f"{ntc_ohm(constants, 25.0):.0f} ohm"))
    else:
        told = [("gain", f"{constants[0]:.5f}"), ("zero", kelvins(constants[1]))]
    told += [
        (f"error at {each.words}, {degrees(each.true_c)}",
         f"{kelvins(each.error_k, sign=False)} (shape {kelvins(each.shape_k)}, "
         f"2 u {kelvins(2 * each.u_k, sign=False)})")
        for each in found.at
    ]  # fmt: skip
    return Certificate(
        f"{here.loop.name}: thermometer {sensor}",
        f"With these constants it is right to {kelvins(error_k, sign=False)} at its limits.",
        tuple(told),
        ("point", "true", "its u", "reading", "left over"),
        tuple(
            (str(number), degrees(bath.true_c), kelvins(bath.u_k, sign=False),
             f"{bath.reading:.0f} ohm" if ntc else f"{degrees(bath.reading)}", kelvins(left))
            for number, (bath, left) in enumerate(zip(found.baths, found.left_k, strict=True), 1)
        ),
        tuple(
            (f"at {each.words}: points and step", kelvins(each.u_k, sign=False), "-")
            for each in found.at
        ),
        METHOD, (*FORMULAS[fitted.kind], DOUBT), tuple(_remarks(found, fitted, error_k)), (),
        _changes(found, sensor, fitted, error_k),
        _picture(found, fitted, here),
        {
            "sensor": sensor,
            "kind": fitted.kind,
            "constants": list(constants),
            "left_k": list(found.left_k),
            "error_k": error_k,
            "at": [{**each._asdict(), "error_k": each.error_k} for each in found.at],
        },
    )  # fmt: skip


def _remarks(found: Thermometry, fitted: Thermometer, error_k: float) -> list[str]:
    remarks = []
    low_k = -min(each.shape_k for each in found.at)
    if low_k > 0.1:
        remarks.append(LOW.format(most=low_k))
    if found.fit.exact:
        remarks.append("As many constants as points: nothing is left over that could show a slip. "
                       "One more point would.")  # fmt: skip
    inside = [min(b.true_c for b in found.baths), max(b.true_c for b in found.baths)]
    out = [each.words for each in found.at if not inside[0] - 5 <= each.true_c <= inside[1] + 5]
    if out:
        remarks.append(f"Outside the points, and so less sure than it looks: {', '.join(out)}.")
    if error_k > fitted.error_k:
        remarks.append(f"The file counts on an error of {fitted.error_k:g} K: this is more.")
    remarks.append("The constants are for the board; without them it reads as before.")
    return remarks


def _changes(
    found: Thermometry, sensor: str, fitted: Thermometer, error_k: float
) -> tuple[Change, ...]:
    """Constants, the error that is left with them, and no offset any more."""
    key = f"sensors.{sensor}"
    changes = [Change(f"{key}.error", error_k, digits=3)]
    if fitted.offset_k:
        changes.append(Change(f"{key}.offset", 0.0))
    if fitted.kind == "ntc":
        pairs = zip("abc", found.fit.constants, strict=True)
        changes += [Change(f"{key}.ntc.{name}", value, digits=8) for name, value in pairs]
    else:
        gain, zero = found.fit.constants
        changes.append(Change(f"{key}.correction.gain", gain, digits=6))
        changes.append(Change(f"{key}.correction.zero", zero, digits=4))
    return tuple(changes)


def _picture(found: Thermometry, fitted: Thermometer, here: Here) -> Picture:
    ntc = fitted.kind == "ntc"
    constants = found.fit.constants
    temperature = convert(1.0, "c", here.system)[1]

    def degrees(value_c: float) -> float:
        return convert(value_c, "c", here.system)[0]

    def drawn(true_c: float) -> float:
        if ntc:
            return math.log10(ntc_ohm(constants, true_c))
        return degrees((true_c - constants[1]) / constants[0])

    trues = [bath.true_c for bath in found.baths] + [each.true_c for each in found.at]
    low, high = min(trues), max(trues)
    return Picture(
        f"true temperature, {temperature}",
        "resistance, ohm" if ntc else f"reading, {temperature}",
        f"shown less true, {convert(1.0, 'k', here.system)[1]}",
        tuple(
            Dot(degrees(bath.true_c), math.log10(bath.reading) if ntc else degrees(bath.reading))
            for bath in found.baths
        ),
        tuple(
            Dot(degrees(bath.true_c), convert(left, "k", here.system)[0],
                convert(2 * bath.u_k, "k", here.system)[0])
            for bath, left in zip(found.baths, found.left_k, strict=True)
        ) + tuple(
            Dot(degrees(each.true_c), convert(each.shape_k, "k", here.system)[0],
                convert(2 * each.u_k, "k", here.system)[0], 1)
            for each in found.at
        ),
        tuple(
            (degrees(true_c), drawn(true_c))
            for true_c in (low + (high - low) * part / 60 for part in range(61))
        ),
        ("point with its doubt", "limit that it serves"),
        tuple((degrees(each.true_c), each.words) for each in found.at),
        decades=ntc,
    )  # fmt: skip
