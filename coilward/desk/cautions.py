"""What stands on every page, whatever a run shows."""

from __future__ import annotations

from typing import Final

CAUTIONS: Final[tuple[str, ...]] = (
    "Water at 60 °C (140 °F) scalds in a few seconds; steam at a vent or tank comes without "
    "warning. Keep people and pets away from both.",
    "Never pour or pump water into a coil that may be dry: it flashes to steam. "
    "Let the fire die first.",
    "Every fire makes carbon monoxide: fit a certified alarm where people are, and keep what can "
    "burn at least 3 m away.",
    "Law, insurer and the local fire code come first; a home-built burner may be forbidden.",
    "This is an aid to design and test. It is not a certified protective device, and a rehearsal "
    "is no proof of what was not measured.",
)
