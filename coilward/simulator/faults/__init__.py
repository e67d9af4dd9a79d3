"""The catalogue of faults: what can break, what should tell, what prevents boiling then.

One registry, `FAULTS`, holds every row; whoever lists, injects or tries faults reads it there.
"""

from __future__ import annotations

from coilward.simulator.faults.fault import Act, Base, Effect, Fault, Group, Scene
from coilward.simulator.faults.registry import FAULTS, forget, lacking, register

__all__ = [
    "FAULTS", "Act", "Base", "Effect", "Fault", "Group", "Scene", "forget", "lacking", "register",
]
