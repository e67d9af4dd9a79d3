"""What happened in a run, read from its causes, phases and trace; and the alarms in words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from coilward.controller.interlocks import INDEX, ROWS, Row
from coilward.controller.phases import DRY, PHASES, RUN

if TYPE_CHECKING:
    from coilward.simulator.run import Run

Happened = Literal["water stood", "supply lost", "too hot", "valve stuck"]

_CAUSES: Final[dict[Happened, frozenset[str]]] = {
    "water stood": frozenset({"C01", "C02", "C10", "C11", "C24", "C42"}),
    "supply lost": frozenset({"C12", "C29"}),
    "too hot": frozenset({"C03", "C04", "C05", "C06", "C07", "C08", "C22", "C37"}),
    "valve stuck": frozenset({"C19", "C20"}),
}
_FAULTS: Final[dict[Happened, frozenset[str]]] = {
    "water stood": frozenset({"pump-dies", "pump-stalls", "line-frozen"}),
    "supply lost": frozenset({"supply-lost", "supply-low"}),
    "too hot": frozenset({"fans-fail", "fire-larger"}),
    "valve stuck": frozenset({"valve-jams"}),
}
"""A scripted fault counts as happened even where no interlock had to speak."""

LOCKED: Final = "Shut the damper; the pump stays locked off, valve and dump stay where they are."
"""What the machine does for a row that would move water, while the coil may be dry."""
STILL_LPM: Final = 0.2
"""Less than this carries nothing worth speaking of."""


def row(name: str) -> Row:
    """The interlock of that name."""
    return ROWS[INDEX[name]]


def happened(run: Run) -> frozenset[Happened]:
    """The kinds of trouble that the night held."""
    raised = {cause.name for cause in run.causes}
    scripted = {moment.fault for moment in run.night.moment if moment.fault}
    return frozenset(
        kind for kind in _CAUSES if raised & _CAUSES[kind] or scripted & _FAULTS[kind]
    )


@dataclass(frozen=True)
class Alarm:
    """One alarm: when, how loud, and its three sentences."""

    time_s: float
    rank: int
    happened: str
    machine: str
    person: str
    first_out: bool
    latched: bool

    @property
    def text(self) -> str:
        """All of it in one line."""
        return f"{self.happened} Machine: {self.machine} You: {self.person}"


def alarms(run: Run) -> list[Alarm]:
    """Every alarm in order of time."""
    locked = [stay for stay in stays(run) if stay.phase == PHASES[DRY]]
    found = []
    for cause in sorted(run.causes, key=lambda each: each.time_s):
        said = row(cause.name)
        shut = said.damper == "shut" and said.latch != "dry"
        inside = any(0.0 <= cause.time_s - stay.time_s < stay.lasted_s for stay in locked)
        machine = LOCKED if shut and inside else said.machine
        found.append(
            Alarm(
                cause.time_s, said.rank, said.happened, machine, said.person,
                cause.first_out, cause.latched,
            )
        )  # fmt: skip
    return found


@dataclass(frozen=True)
class Stay:
    """One stay in a phase."""

    time_s: float
    phase: str
    lasted_s: float


def stays(run: Run) -> list[Stay]:
    """The phases of the night with the time spent in each."""
    ends = [time_s for time_s, _ in run.phases[1:]] + [run.duration_s]
    return [
        Stay(time_s, phase, end_s - time_s)
        for (time_s, phase), end_s in zip(run.phases, ends, strict=True)
    ]


def still_before_boil_s(run: Run) -> float | None:
    """When the water stopped that then boiled; None where it moved, or nothing boiled."""
    if run.first_boil_s is None:
        return None
    time_s, flow_lpm = run.trace["time_s"], run.trace["flow_true_lpm"]
    last = int(np.searchsorted(time_s, run.first_boil_s, side="right")) - 1
    moving = np.flatnonzero(flow_lpm[: last + 1] >= STILL_LPM)
    if len(moving) and moving[-1] == last:
        return None
    return float(time_s[moving[-1] + 1] if len(moving) else time_s[0])


def near_set_point(run: Run, within_k: float) -> float | None:
    """Share of the time in run with the outlet that near its set-point; None without a run."""
    in_run = run.trace["phase"] == RUN
    if not in_run.any():
        return None
    off_k = np.abs(run.trace["coil_outlet_true_c"][in_run] - run.derived.set_point_c)
    return float(np.mean(off_k <= within_k))
