"""How a file is refused: every fault at once, each with its place and what would be accepted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong in a file."""

    file: str
    line: int | None
    """Counted from 1; None where the fault has no line, such as a file that cannot be read."""
    key: str
    """Dotted, list elements counted from 1: "pump.curve.3.head"; empty for the whole file."""
    value: str
    """As it was typed; empty where nothing was typed."""
    problem: str
    accepted: str
    """What would be accepted instead, with an example."""

    def __str__(self) -> str:
        """One message of one or two sentences."""
        place = self.file if self.line is None else f"{self.file}:{self.line}"
        subject = " = ".join(part for part in (self.key, self.value) if part)
        subject = f"{subject}: " if subject else ""
        return f"{place}: {subject}{self.problem}. Accepted: {self.accepted}."


class InputRefused(Exception):  # noqa: N818 - it is not the program's error
    """A loop or night file is not accepted; `faults` holds every reason, in the file's order."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))
