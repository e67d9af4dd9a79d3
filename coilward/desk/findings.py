"""All that is said against a loop as built, each finding once, in the order of its gravity."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from coilward.loop.derived import Derived
from coilward.loop.layout import Finding, forbidden, missing, sound
from coilward.loop.model import Loop
from coilward.loop.units import System


@dataclass(frozen=True)
class Findings:
    """Findings on one loop."""

    forbidden: tuple[Finding, ...]
    missing: tuple[Finding, ...]
    unsound: tuple[Finding, ...]

    @property
    def every(self) -> tuple[Finding, ...]:
        """All of them."""
        return self.forbidden + self.missing + self.unsound

    @property
    def stops(self) -> int:
        """How many of them forbid a fire."""
        return sum(finding.severity == "stop" for finding in self.every)

    @property
    def conclusion(self) -> str:
        """The one sentence at the end."""
        if not self.stops:
            return "Nothing here forbids a fire. Rehearse it before you light."
        return f"Do not light: {self.stops} finding{'s' * (self.stops != 1)} against it."


def findings_on(loop: Loop, derived: Derived, today: date, system: System) -> Findings:
    """What is forbidden, missing and unsound, with numbers in the units asked for."""
    shown = loop.model_copy(update={"units": system})
    banned = forbidden(shown)
    return Findings(
        tuple(banned),
        tuple(missing(shown, today)),
        tuple(finding for finding in sound(shown, derived) if finding not in banned),
    )
