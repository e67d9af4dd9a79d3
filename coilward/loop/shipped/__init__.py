"""The loop files that come with the package, to rehearse and to copy."""

from __future__ import annotations

from datetime import date
from importlib.resources import files
from typing import Final

WRITTEN: Final = date(2026, 11, 25)
"""The examples' proof dates are part of the example: they are judged as on this day."""


def loop_names() -> list[str]:
    """Names of the shipped loops, in alphabetical order."""
    entries = (entry.name for entry in files(__name__).iterdir())
    return sorted(name.removesuffix(".toml") for name in entries if name.endswith(".toml"))


def loop_text(name: str) -> str:
    """The commented file of one shipped loop.

    Raises KeyError for a name that is not shipped.
    """
    if name not in loop_names():
        raise KeyError(name)
    return (files(__name__) / f"{name}.toml").read_text(encoding="utf-8")
