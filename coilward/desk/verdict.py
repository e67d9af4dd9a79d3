"""The verdict on a loop after one rehearsed night: one table of rules, the worst one wins."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from coilward.controller.interlocks import INDEX, ROWS

if TYPE_CHECKING:
    from coilward.desk.findings import Findings
    from coilward.simulator.run import Run

Word = Literal["may be lit", "attended only", "do not light"]
WORST_FIRST: Final[tuple[Word, ...]] = ("do not light", "attended only", "may be lit")

LEAST_MARGIN_K: Final = 5.0
"""Less than this between the hottest water and boiling is inside the spread of real fires."""
LEAST_QUARTER_BOIL_S: Final = 2.0
"""The logic needs this long to see that the water stands and to act."""
LARGEST_CLOSURE: Final = 0.001

ALWAYS: Final = (
    "Whatever the verdict: no fire without a person in ear-shot of a horn with its own battery."
)


@dataclass(frozen=True)
class Evidence:
    """What the rules look at, as plain values."""

    forbidden: tuple[str, ...]
    unsound: tuple[str, ...]
    missing: Mapping[str, str]
    """Passive hardware that is absent, past its proof or too small: what is said, by key."""
    quarter_boil_s: float
    """A quarter of the time to boil at the largest fire, hottest turn."""
    first_boil_s: float | None
    margin_k: float
    energy_closure: float
    unfired: tuple[str, ...]
    """Scripted faults that never took effect."""
    last_phase: str
    """Phase at the end of the night, or at the first boil."""
    latched: tuple[str, ...]
    """What a person has to reset, in words."""
    rank_1: tuple[str, ...]
    """What raised alarms of the loudest rank, in words."""
    outlet_thermometers: int
    pump_off_with_fire_s: float
    logic: str = ""
    """Name of a logic of a person's own; empty for ours."""
    died: str = ""
    """How that logic ended; empty where it did not."""


@dataclass(frozen=True)
class Rule:
    """One row: where the test is true, the verdict is no better than `verdict`."""

    name: str
    test: Callable[[Evidence], bool]
    verdict: Word
    reason: Callable[[Evidence], str]
    """One sentence in plain words."""


def _hardware(name: str, verdict: Word, *keys: str) -> Rule:
    """A rule that is met by a finding on passive hardware under any of the keys."""
    return Rule(
        name,
        lambda seen: any(key in seen.missing for key in keys),
        verdict,
        lambda seen: " ".join(seen.missing[key] for key in keys if key in seen.missing),
    )


def _says(text: str) -> Callable[[Evidence], str]:
    return lambda _: text


RULES: Final[tuple[Rule, ...]] = (
    Rule("forbidden layout", lambda seen: bool(seen.forbidden), "do not light",
         lambda seen: "The layout is forbidden: " + " ".join(seen.forbidden)),
    Rule("not sound", lambda seen: bool(seen.unsound), "do not light",
         lambda seen: "The loop is not sound: " + " ".join(seen.unsound)),
    _hardware("no open vent", "do not light", "open-vent", "open-vent-small"),
    Rule("coil too quick", lambda seen: not seen.quarter_boil_s >= LEAST_QUARTER_BOIL_S,
         "do not light",
         lambda seen: f"A quarter of the time to boil is {seen.quarter_boil_s:.1f} s, less than "
                      f"the {LEAST_QUARTER_BOIL_S:.0f} s that any logic needs."),
    Rule("boiled", lambda seen: seen.first_boil_s is not None, "do not light",
         _says("The coil boiled in this night.")),
    Rule("little margin",
         lambda seen: seen.first_boil_s is None and not seen.margin_k >= LEAST_MARGIN_K,
         "do not light",
         lambda seen: f"The hottest water came within {seen.margin_k:.1f} K of boiling; "
                      f"{LEAST_MARGIN_K:.0f} K is the least."),
    Rule("logic died", lambda seen: bool(seen.died), "do not light",
         lambda seen: f"Your own logic stopped: {seen.died}. A board that decides nothing more "
                      "leaves the fire to the hardware."),
    Rule("energy not closed", lambda seen: not abs(seen.energy_closure) <= LARGEST_CLOSURE,
         "do not light",
         lambda seen: f"The run is not valid: its energy closes only to "
                      f"{100 * seen.energy_closure:.2f} %, so nothing that it shows counts."),
    Rule("fault never fired", lambda seen: bool(seen.unfired), "do not light",
         lambda seen: "The run is not valid: what it was to show never took effect ("
                      + ", ".join(seen.unfired) + ")."),
    _hardware("no proven stop", "attended only", "valve-stop"),
    _hardware("no gravity damper", "attended only", "gravity-damper"),
    _hardware("no pump battery", "attended only", "pump-battery", "no-volt-release"),
    _hardware("no horn battery", "attended only", "horn-battery"),
    Rule("dry lock-out", lambda seen: seen.last_phase == "dry lock-out", "attended only",
         _says("The night ended in the dry lock-out: only a person can end it.")),
    Rule("latched", lambda seen: bool(seen.latched), "attended only",
         lambda seen: "Something latched that only a person can reset: "
                      + " ".join(seen.latched)),
    Rule("loudest alarm", lambda seen: bool(seen.rank_1), "attended only",
         lambda seen: "There was an alarm of the loudest rank: " + " ".join(seen.rank_1)),
    Rule("one outlet thermometer", lambda seen: seen.outlet_thermometers < 2, "attended only",
         _says("There is only one outlet thermometer: nothing tells when it lies.")),
    Rule("own logic", lambda seen: bool(seen.logic), "attended only",
         _says("Your own logic ran: one night shows how it meets that night, and no more.")),
    Rule("pump off", lambda seen: not seen.pump_off_with_fire_s <= 0, "attended only",
         lambda seen: f"The pump was off for {seen.pump_off_with_fire_s:.1f} s "
                      "with a fire in."),
)  # fmt: skip


@dataclass(frozen=True)
class Reason:
    """One rule that was met."""

    rule: str
    verdict: Word
    text: str


@dataclass(frozen=True)
class Verdict:
    """The word, and every reason for it, the gravest first."""

    word: Word
    reasons: tuple[Reason, ...]


def judge(seen: Evidence) -> Verdict:
    """The worst verdict of all rules that are met, with all their reasons."""
    met = [Reason(rule.name, rule.verdict, rule.reason(seen)) for rule in RULES if rule.test(seen)]
    met.sort(key=lambda reason: WORST_FIRST.index(reason.verdict))
    return Verdict(met[0].verdict if met else "may be lit", tuple(met))


def evidence(run: Run, findings: Findings) -> Evidence:
    """What one run shows up to its first boil, with the findings on the loop itself."""
    sensors = run.loop.sensors
    end_s = run.duration_s if run.first_boil_s is None else run.first_boil_s
    causes = [cause for cause in run.causes if cause.time_s <= end_s]
    return Evidence(
        forbidden=tuple(finding.text for finding in findings.forbidden),
        unsound=tuple(finding.text for finding in findings.unsound),
        missing={finding.key: finding.text for finding in findings.missing},
        quarter_boil_s=run.derived.boil_s.largest.peaked_est / 4,
        first_boil_s=run.first_boil_s,
        margin_k=run.margins.boil_k,
        energy_closure=run.energy_closure if math.isfinite(run.energy_closure) else math.inf,
        unfired=tuple(name for name, fired in run.faults_fired.items() if not fired),
        last_phase=[phase for time_s, phase in run.phases if time_s <= end_s][-1],
        latched=_happened([cause.name for cause in causes if cause.latched]),
        rank_1=_happened([c.name for c in causes if ROWS[INDEX[c.name]].rank == 1]),
        outlet_thermometers=sum(
            sensor is not None for sensor in (sensors.coil_outlet_a, sensors.coil_outlet_b)
        ),
        pump_off_with_fire_s=run.pump_off_with_fire_s,
        logic=run.logic,
        died=run.died.words if run.died else "",
    )


def _happened(names: Sequence[str]) -> tuple[str, ...]:
    """What happened, in words, each once and in the order of the night."""
    return tuple(dict.fromkeys(ROWS[INDEX[name]].happened for name in names))
