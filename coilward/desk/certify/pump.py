"""The pump's certificate."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from coilward.desk.certificate import Certificate, Dot, Here, Instrument, Picture, parsed
from coilward.desk.from_board import pump_fills
from coilward.loop.editing import Change
from coilward.loop.units import AMPERES, show
from coilward.measuring.pump import COLUMNS, STATES, Currents, calibrate
from coilward.measuring.readings import Reading

FORMULAS: Final = (
    "limit of a class = mean ± f s; f: 99 % of the class with 95 % confidence (noncentral t), s "
    "with the ammeter's step",
    "low = half-way from dry to the lower of running and shut off; high = half-way from running to "
    "held fast",
)
METHOD: Final = (
    "Currents noted at the rated voltage with the valve open, against the shut valve, dry, and "
    "with the rotor held fast for no longer than a reading takes. Cold, without a fire."
)


def instrument(step: str) -> Instrument:
    """A pump, with an ammeter of that step."""

    def certify(readings: Sequence[Reading], here: Here) -> Certificate:
        found = calibrate(readings, step_a=parsed("--step", step, AMPERES))
        return _certificate(found, here)

    return Instrument(
        "pump", lambda _: COLUMNS, certify,
        lambda board, _: pump_fills(board),
    )


def _certificate(found: Currents, here: Here) -> Certificate:
    results = [
        ("running", f"{found.running_a:.2f} A"),
        ("dry or full of air", f"under {found.low_a:.2f} A"),
        ("held fast", f"over {found.high_a:.2f} A"),
    ]
    remarks = ["It does not say that water moves: behind a shut valve or ice it turns as well."]
    if not found.tells_shut:
        remarks.append("Its current does not tell a shut valve from an open one: only flow does.")
    if found.flow_lpm is not None:
        told = show(found.flow_lpm, "lpm", here.system)
        if found.flow_doubt:
            told += f" ± {show(found.flow_doubt.expanded, 'lpm', here.system)}"
        derived = here.derived.flow_open_lpm
        results.append(("flow, valve open", told))
        results.append(("the file's curve gives", show(derived, "lpm", here.system)))
        if abs(found.flow_lpm / derived - 1) > 0.1:
            remarks.append(
                "The measured flow is more than 10 % off the curve in the file: correct "
                "pump.curve or the losses of the lines."
            )
    else:
        remarks.append("No flow was noted while it was running: there is no baseline to fall from.")
    return Certificate(
        f"{here.loop.name}: pump",
        f"A current from {found.low_a:.2f} to {found.high_a:.2f} A says that the pump turns in "
        "water.",
        tuple(results),
        ("state", "readings", "mean", "spread", "99 % over", "99 % under"),
        tuple(
            (each.state, ", ".join(f"{value:.2f}" for value in each.readings),
             f"{each.mean_a:.2f} A", f"{each.deviation_a:.3f} A", f"{each.low_a:.2f} A",
             f"{each.high_a:.2f} A")
            for each in found.classes
        ),
        (), METHOD, FORMULAS, tuple(remarks), (),
        (
            Change("pump.current", found.running_a, digits=3),
            Change("pump.current_low", found.low_a, digits=3),
            Change("pump.current_high", found.high_a, digits=3),
        ),
        Picture(
            "current, A", "", "off its class, A",
            tuple(
                Dot(value, float(row))
                for row, each in enumerate(found.classes)
                for value in each.readings
            ),
            tuple(
                Dot(value, value - each.mean_a) for each in found.classes for value in each.readings
            ),
            upright=((found.low_a, "low"), (found.high_a, "high")),
            rows=STATES,
        ),
        {
            "current_a": found.running_a,
            "current_low_a": found.low_a,
            "current_high_a": found.high_a,
            "tells_shut": found.tells_shut,
            "flow_lpm": found.flow_lpm,
            "classes": [each._asdict() for each in found.classes],
        },
    )  # fmt: skip
