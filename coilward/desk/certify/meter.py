"""The flow meter's certificate."""

from __future__ import annotations

import math
from collections.abc import Sequence

from coilward.desk.certificate import Certificate, Dot, Here, Instrument, Picture, parsed
from coilward.desk.from_board import meter_fills
from coilward.loop.editing import Change
from coilward.loop.units import KILOGRAMS, LITRES, SHARE, System, convert, show
from coilward.measuring.meter import COLUMNS, Meter, Point, calibrate
from coilward.measuring.readings import Reading

FORMULAS = (
    "K = N / V;  V = m (1 + 1.2 (1/w - 1/8000)) / w, m in kg, w the water's density in kg/m3 "
    "(ISO 4185; IAPWS-IF97)",
    "u² = (sqrt(2/3)/N)² + (u(m)/m)² + (u(w)/w)² + s²/n, each as a share of K;  u(m) = step / "
    "sqrt(6): two readings",
    "U = k u, k from Student's t for 95.45 % with Welch-Satterthwaite freedom (JCGM 100)",
)
METHOD = (
    "Pulses counted while water ran into a vessel on a scale, started and stopped with the water "
    "running. The runs of one flow share one K; the one K for the loop is the mean of the flows, "
    "and its uncertainty holds what the flow changes."
)
NONE_REPEATED = "No flow was run twice: the spread of one run, {spread}, is what was typed."
REAL = (
    "The flow changes K by more than the doubt of each: between the flows one number is off by up "
    "to {most:.1f} %. The page's table of K over flow says more than the one K."
)


def instrument(step: str, repeat: str) -> Instrument:
    """A meter, weighed on a scale with that step (or in a vessel marked so)."""

    def certify(readings: Sequence[Reading], here: Here) -> Certificate:
        by_mass = not all(math.isnan(each.number("mass")) for each in readings)
        by_volume = not all(math.isnan(each.number("volume")) for each in readings)
        # The default is a scale's; a vessel's marks have to be typed.
        step_kg = parsed("--step", step, KILOGRAMS) if by_mass else 0.0
        step_l = parsed("--step", step, LITRES) if by_volume else 0.0
        spread = parsed("--repeat", repeat, SHARE)
        present = here.loop.meter.pulses_per_litre
        found = calibrate(readings, present, step_kg=step_kg, step_l=step_l, spread=spread)
        return _certificate(found, here, present)

    return Instrument(
        "meter", lambda _: COLUMNS, certify,
        lambda board, _: meter_fills(board),
    )


def _certificate(found: Meter, here: Here, present: float) -> Certificate:
    def k_words(k: float, u: float) -> str:
        number, unit = convert(k, "per_l", here.system)
        return f"{number:.1f} ± {convert(u, 'per_l', here.system)[0]:.1f} {unit}"

    def k_alone(k: float) -> str:
        return show(k, "per_l", here.system)

    doubt = found.doubt
    share = 100 * doubt.expanded / found.k
    change = 100 * (found.k / present - 1)
    remarks = [f"A rule of a good table is broken: {each}." for each in found.broken]
    if math.isinf(found.spread_freedom):
        remarks.append(NONE_REPEATED.format(spread=f"{100 * found.spread:g} %"))
    if found.real_effect:
        most = max(abs(point.k / found.k - 1) for point in found.points)
        remarks.append(REAL.format(most=100 * most))
    if abs(change) > 1:
        word = "more" if change > 0 else "less"
        remarks.append(
            f"The file has {k_alone(present)}: with it the flow and the heat are "
            f"read {abs(change):.1f} % {word} than they are."
        )
    results = [
        ("K for the loop file", f"{k_words(found.k, doubt.expanded)} ({share:.1f} %)"),
        ("coverage", f"k = {doubt.factor:.2f}, about 95 %"),
        *((f"K at {_flow(point, here)}",
           f"{k_words(point.k, point.doubt.expanded)}, k = {point.doubt.factor:.2f}")
          for point in found.points if not math.isnan(point.flow_lpm)),
        ("spread of one run", f"{100 * found.spread:.2f} %"),
    ]  # fmt: skip
    return Certificate(
        f"{here.loop.name}: flow meter",
        f"{k_alone(found.k)}, known to {share:.1f} %."
        + (" One number does not do for all flows." if found.real_effect else ""),
        tuple(results),
        *_table(found, here.system),
        tuple(
            (part.words, f"{100 * part.u / found.k:.3f} %",
             "-" if math.isinf(part.freedom) else f"{part.freedom:.0f}")
            for part in doubt.parts
        ),
        METHOD, FORMULAS, tuple(remarks), (),
        (Change("meter.pulses", found.k, digits=4),),
        _picture(found, here),
        {
            "pulses_per_litre": found.k,
            "expanded": doubt.expanded,
            "coverage_factor": doubt.factor,
            "flow_matters": found.real_effect,
            "points": [
                {"flow_lpm": point.flow_lpm, "runs": len(point.runs), "pulses_per_litre": point.k,
                 "expanded": point.doubt.expanded, "coverage_factor": point.doubt.factor}
                for point in found.points
            ],
            "broken_rules": list(found.broken),
        },
    )  # fmt: skip


def _table(
    found: Meter, system: System
) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Heads with their units, and a row for each run."""
    weighed = not any(math.isnan(run.mass_kg) for run in found.runs)
    words = {"water": "kg" if weighed else "l", "at": "c", "flow": "lpm", "K": "per_l"}
    heads = [f"{head}, {convert(0.0, unit, system)[1]}" for head, unit in words.items()]
    rows = []
    for number, run in enumerate(found.runs, start=1):
        water = run.mass_kg if weighed else run.volume_l
        values = zip((water, run.water_c, run.flow_lpm, run.k), words.values(), strict=True)
        shown = [show(value, unit, system) for value, unit in values]
        numbers = [text if text == "not known" else text.split(" ")[0] for text in shown]
        rows.append((str(number), f"{run.pulses:.0f}", *numbers))
    return ("run", "pulses", *heads), tuple(rows)


def _flow(point: Point, here: Here) -> str:
    return show(point.flow_lpm, "lpm", here.system)


def _picture(found: Meter, here: Here) -> Picture:
    known = not any(math.isnan(run.flow_lpm) for run in found.runs)

    def place(number: int) -> float:
        flow = found.runs[number].flow_lpm
        return convert(flow, "lpm", here.system)[0] if known else number + 1.0

    def k(value: float) -> float:
        return convert(value, "per_l", here.system)[0]

    unit = convert(1.0, "lpm", here.system)[1]
    places = [place(number) for number in range(len(found.runs))]
    means = [
        Dot(sum(places[run] for run in point.runs) / len(point.runs), k(point.k),
            k(point.doubt.expanded), 1)
        for point in found.points
    ]  # fmt: skip
    return Picture(
        f"flow, {unit}" if known else "run",
        f"K, {convert(1.0, 'per_l', here.system)[1]}",
        "off the one K, %",
        (*(Dot(x, k(run.k)) for x, run in zip(places, found.runs, strict=True)), *means),
        tuple(
            Dot(x, 100 * (run.k / found.k - 1))
            for x, run in zip(places, found.runs, strict=True)
        ),
        ((min(places), k(found.k)), (max(places), k(found.k))),
        ("run", "mean of a flow with U"),
    )  # fmt: skip
