"""The same decisions in C99, translated from the controller: what was rehearsed is what runs."""

from pathlib import Path
from typing import Final

CORE: Final = Path(__file__).parent / "core"
"""The decisions in C."""
HOST: Final = Path(__file__).parent / "host"
"""Many of them in one call, on a computer."""
ARITHMETIC: Final = Path(__file__).parent / "arithmetic"
"""Doubles for a processor that has none."""
