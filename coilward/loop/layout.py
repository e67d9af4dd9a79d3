"""What is said against a loop as built: forbidden layouts, missing hardware, lost soundness."""

from __future__ import annotations

from coilward.loop.findings import Finding, Severity
from coilward.loop.passive import missing
from coilward.loop.soundness import sound
from coilward.loop.topology import forbidden

__all__ = ["Finding", "Severity", "forbidden", "missing", "sound"]
