"""The throttle valve's certificate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from coilward.desk.certificate import Certificate, Dot, Here, Instrument, Picture
from coilward.desk.from_board import valve_fills
from coilward.loop.editing import Change
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.hydraulics import flow_lpm, system_coefficients
from coilward.loop.units import convert, show
from coilward.measuring.readings import Reading
from coilward.measuring.valve import COLUMNS, CRACK_LPM, FITS, RESERVE, Throttle, calibrate

FORMULAS: Final = (
    f"crack: between the last run under {CRACK_LPM:g} L/min and the first over it, on a straight "
    "line; backlash = crack opening - crack closing",
    "Kv = Kvs R^(stroke - 1) (equal percentage); flow where pump = lines + coil + valve "
    "(IEC 60534-2-1 for the valve)",
    f"the stop has to pass {RESERVE:g} x the minimum flow of the nominal fire, throttled",
)
METHOD: Final = (
    "Water weighed at each position with the pump at its rated voltage, first from shut to open, "
    "then back. Kvs and rangeability by least squares of the logarithms of the opening flows."
)
VAGUE: Final = 0.3
"""A rangeability that is known no better than this share is not worth writing."""
VAGUE_CURVE: Final = (
    "Kv and rangeability are not written: the curve misses a run by more than a tenth, or the "
    "runs don't tell one rangeability from another. Weigh more positions between the crack and "
    "half open."
)
NO_STOP: Final = "The stop was not measured: set the valve on it and weigh (way: stop)."


def instrument(shut: float | None, opened: float | None) -> Instrument:
    """A valve in shares of its stroke, or in servo units with both ends given.

    Raises InputRefused where only one end is given, or both are the same.
    """
    if (shut is None) != (opened is None) or (shut is not None and shut == opened):
        raise InputRefused([
            Fault("--shut, --open", None, "", "", "both ends of the servo are wanted, and not the "
                  "same", "--shut 149 --open 60")
        ])  # fmt: skip

    def certify(readings: Sequence[Reading], here: Here) -> Certificate:
        found = calibrate(readings, system_coefficients(here.loop), shut, opened)
        return _certificate(found, here, (shut, opened))

    return Instrument(
        "valve", lambda _: COLUMNS, certify,
        lambda board, _: valve_fills(board, shut, opened),
    )


def _certificate(
    found: Throttle, here: Here, ends: tuple[float | None, float | None]
) -> Certificate:
    shut, opened = ends

    def place(stroke: float) -> str:
        told = f"{100 * stroke:.1f} % of the stroke"
        return told if shut is None or opened is None else (
            f"{told} (servo at {shut + stroke * (opened - shut):.1f})"
        )

    results = [("cracks open at", place(found.crack_open))]
    if found.dead_travel is not None:
        results.append(("shut to first water", f"{found.dead_travel:.1f} servo units"))
        results.append(("direction", "units fall while it opens" if found.opens_down
                        else "units rise while it opens"))  # fmt: skip
    if found.backlash is not None and found.crack_shut is not None:
        results.append(("runs dry at, on its way shut", place(found.crack_shut)))
        results.append(("backlash", f"{100 * found.backlash:.1f} % of the stroke"))
    if found.curve:
        results.append(("Kv fully open", f"{found.curve.kvs_m3h:.2f} m³/h at 1 bar"))
        results.append(("rangeability", f"{found.curve.rangeability:.1f} ± "
                        f"{2 * found.curve.rangeability_u:.1f}"))  # fmt: skip
        results.append(("curve misses a run by at most", f"{100 * found.curve.misfit:.1f} %"))
    needed = RESERVE * here.derived.flow_min_throttled_lpm
    against = []
    if found.stop_lpm is not None and found.stop_stroke is not None:
        flow, least = (show(each, "lpm", here.system) for each in (found.stop_lpm, needed))
        results.append(("stop", f"{place(found.stop_stroke)}, passes {flow}; has to pass {least}"))
        if found.stop_lpm < needed:
            against.append(
                f"The stop passes {flow}, less than {least}: move it before a fire is lit."
            )
    return Certificate(
        f"{here.loop.name}: throttle valve",
        f"The first water comes at {place(found.crack_open)}"
        + (f"; {found.dead_travel:.0f} units of the servo are dead travel." if found.dead_travel
           else "."),
        tuple(results),
        ("way", "position", "stroke", "flow"),
        tuple(
            (step.way, f"{step.position:g}", f"{abs(100 * step.stroke):.1f} %",
             show(step.flow_lpm, "lpm", here.system))
            for step in found.steps
        ),
        (), METHOD, FORMULAS, tuple(_remarks(found)), tuple(against), _changes(found),
        _picture(found, here),
        {
            "crack_open": found.crack_open,
            "crack_shut": found.crack_shut,
            "backlash": found.backlash,
            "dead_travel_units": found.dead_travel,
            "curve": found.curve._asdict() if found.curve else None,
            "stop": found.stop_stroke,
            "stop_lpm": found.stop_lpm,
            "stop_needed_lpm": needed,
        },
    )  # fmt: skip


def _fits(found: Throttle) -> bool:
    """The curve is near every run, and the runs tell its rangeability from another one."""
    curve = found.curve
    return (
        curve is not None
        and curve.misfit <= FITS
        and 2 * curve.rangeability_u <= VAGUE * curve.rangeability
    )


def _remarks(found: Throttle) -> list[str]:
    remarks = []
    if found.crack_shut is None:
        remarks.append("No closing runs: the backlash is not known.")
    if found.stop_lpm is None:
        remarks.append(NO_STOP)
    if found.curve is None:
        remarks.append("No equal-percentage curve goes through the opening runs.")
    elif not _fits(found):
        remarks.append(VAGUE_CURVE)
    return remarks


def _changes(found: Throttle) -> tuple[Change, ...]:
    values = {"crack_open": found.crack_open, "backlash": found.backlash, "stop": found.stop_stroke}
    if found.curve and _fits(found):
        values |= {"kvs": found.curve.kvs_m3h, "rangeability": found.curve.rangeability}
    known = {key: value for key, value in values.items() if value is not None}
    return tuple(Change(f"valve.{key}", value, digits=3) for key, value in known.items())


def _picture(found: Throttle, here: Here) -> Picture:
    kinds = ("opening", "closing", "stop")

    def lpm(value: float) -> float:
        return convert(value, "lpm", here.system)[0]

    curve: tuple[tuple[float, float], ...] = ()
    left: tuple[Dot, ...] = ()
    if found.curve:
        system = system_coefficients(here.loop)._replace(
            kvs_m3h=found.curve.kvs_m3h, rangeability=found.curve.rangeability,
            crack_open=found.crack_open,
        )  # fmt: skip
        strokes = [found.crack_open + (1 - found.crack_open) * part / 80 for part in range(81)]
        curve = tuple((100 * each, lpm(flow_lpm(system, each, 1.0))) for each in strokes)
        left = tuple(
            Dot(100 * step.stroke, 100 * (step.flow_lpm / flow_lpm(system, step.stroke, 1.0) - 1))
            for step in found.steps
            if step.way == "opening" and step.flow_lpm > 2 * CRACK_LPM
            and step.stroke >= found.crack_open
        )  # fmt: skip
    upright = [(100 * found.crack_open, "cracks open")]
    if found.stop_stroke is not None and not math.isclose(found.stop_stroke, found.crack_open):
        upright.append((100 * found.stop_stroke, "stop"))
    return Picture(
        "stroke, %", f"flow, {convert(1.0, 'lpm', here.system)[1]}", "off the curve, %",
        tuple(
            Dot(100 * step.stroke, lpm(step.flow_lpm), kind=kinds.index(step.way))
            for step in found.steps
        ),
        left, curve, kinds, tuple(upright),
    )  # fmt: skip
