"""Every fault of the catalogue that can be injected on real wires, played to the board."""

from __future__ import annotations

from random import Random

from coilward.hil.bench.nights import Theatre
from coilward.hil.bench.report import Progress, Report
from coilward.hil.bench.settled import Begins
from coilward.loop.model import Loop
from coilward.proving.scenes import moment
from coilward.simulator.faults import FAULTS, Fault
from coilward.simulator.faults.registry import lacking
from coilward.simulator.night import Moment, Night

PART = "faults of the catalogue"
LEAST_S, MOST_S = 60.0, 180.0
"""How long a fault is played on; whole courses are for nights and proofs."""
PREPARED_S = 5.0
AFTER_S = 20.0


def on_wires(loop: Loop) -> list[Fault]:
    """The faults that the catalogue marks as possible on the wire, and that this loop can have."""
    return [
        fault for fault in FAULTS.values()
        if fault.wire and not fault.unshown and lacking(fault, loop) is None
    ]  # fmt: skip


def night_of(fault: Fault, rng: Random) -> Night:
    """A short night with the fault in a phase in which it can start, or shows."""
    onset_s = AFTER_S + round(rng.uniform(0.0, 10.0), 2)
    lasts_s = min(max(LEAST_S, 2.0 * _due_s(fault)), MOST_S, fault.lasts_s)
    begun: list[Moment] = []
    start: Begins = "running"
    if "run" not in fault.phases:
        if "standby" in fault.phases:
            start = "cold"
            if "cold start" in fault.phases:
                begun = [moment(PREPARED_S, "prepare")]
        elif "dry lock-out" in fault.phases:
            begun = [moment(PREPARED_S, "fault", fault="pump-dies")]
            onset_s += MOST_S
        else:
            begun = [moment(PREPARED_S, "emergency")]
    return Night.model_construct(
        coilward=1, name=fault.name, duration_s=onset_s + lasts_s, start=start, outdoor_c=None,
        moment=[*begun, moment(onset_s, "fault", fault=fault.name)],
    )  # fmt: skip


def _due_s(fault: Fault) -> float:
    return fault.deadline_s if isinstance(fault.deadline_s, float) else 0.0


def play_faults(theatre: Theatre, loop: Loop, report: Report, progress: Progress) -> None:
    """Each of them once. Raises LinkLost and Refused where the board does not talk any more."""
    faults = on_wires(loop)
    for place, fault in enumerate(faults):
        progress(f"fault {fault.name}", place, len(faults))
        rng = Random(f"{report.seed} {fault.name}")  # noqa: S311 - cases, not secrets
        played = theatre.play(night_of(fault, rng), report.seed, beside=False, progress=None)
        report.faults.append(played)
        if not played.passed:
            report.find(PART, f"{fault.name}: {played.first}")
