"""What one tried case leaves behind: plain numbers and names that fit one line of JSON."""

from __future__ import annotations

import json
import math
from typing import NamedTuple


class Outcome(NamedTuple):
    """The end of one case. Times count from the onset, temperatures are degrees Celsius."""

    key: str
    """The case; `coilward.proving.case.parse_case` reads it back."""
    phase: str
    """Phase in which the board stood when the fault began."""
    fired: bool
    """Whether every fault took effect, in the phase that the case is about. A case in which one
    did not is invalid, never passed."""
    caught: str
    """First interlock row after the onset that should tell of it; empty for none."""
    caught_s: float | None
    deadline_s: float | None
    """None where nothing has to tell."""
    first_boil_s: float | None
    """Second of the case's night at which the coil first boiled."""
    margin_k: float
    margin_s: float
    """Least before the first boil; infinite where the coil was never heated."""
    peak_joint_c: float
    """Hottest water at the coil's outlet, where the joints are, before the first boil."""
    robustness: dict[str, float]
    """Of each requirement: 1 is a comfortable margin, below 0 it was violated."""
    missed: tuple[str, ...]
    """Requirements violated, and "deadline", that count for the class of this fault."""
    ended_phase: str
    size: float | None
    """Of the first fault; None where it takes none."""
    onset_s: float

    @property
    def escaped(self) -> bool:
        """Whether a valid case violates something that its class promises."""
        return self.fired and bool(self.missed)


def to_json(outcome: Outcome) -> str:
    """One line that `from_json` reads back to an equal outcome."""
    fields = outcome._asdict()
    for name in ("margin_k", "margin_s", "peak_joint_c"):
        fields[name] = finite(fields[name])
    return json.dumps(fields, separators=(",", ":"), allow_nan=False)


def from_json(text: str) -> Outcome:
    """The outcome of one line."""
    fields = json.loads(text)
    for name in ("margin_k", "margin_s", "peak_joint_c"):
        fields[name] = math.inf if fields[name] is None else fields[name]
    fields["missed"] = tuple(fields["missed"])
    return Outcome(**fields)


def finite(number: float) -> float | None:
    """JSON knows no infinity: it is written as null."""
    return number if math.isfinite(number) else None
