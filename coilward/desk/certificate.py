"""A certificate as data: what was read, what came out, how, and what is said about it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from coilward.desk.from_board import Fills
from coilward.hil.hand_held import HandHeld
from coilward.loop.derived import Derived
from coilward.loop.editing import Change
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.model import Loop
from coilward.loop.units import Quantity, System
from coilward.measuring.readings import Column, Reading


@dataclass(frozen=True)
class Dot:
    """One point of a picture: its place, half of its bar, and which kind of point it is."""

    x: float
    y: float
    bar: float = 0.0
    kind: int = 0


@dataclass(frozen=True)
class Picture:
    """Points against their fit, and below them what is left over."""

    x_words: str
    y_words: str
    left_words: str
    dots: tuple[Dot, ...]
    left: tuple[Dot, ...]
    curve: tuple[tuple[float, float], ...] = ()
    kinds: tuple[str, ...] = ()
    """What the kinds of points are called; one kind needs no name."""
    upright: tuple[tuple[float, str], ...] = ()
    """Upright lines with their words."""
    rows: tuple[str, ...] = ()
    """Names of the rows, where y only counts them."""
    decades: bool = False
    """y is the power of ten of what is drawn."""


@dataclass(frozen=True)
class Certificate:
    """Everything that stands on a certificate."""

    title: str
    answer: str
    """One or two sentences for a person who reads no further."""
    results: tuple[tuple[str, str], ...]
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    """The readings, and what each of them gives."""
    budget: tuple[tuple[str, str, str], ...]
    """Source of doubt, its standard uncertainty, its degrees of freedom."""
    method: str
    formulas: tuple[str, ...]
    remarks: tuple[str, ...]
    """What is weak in the readings, and what has to be known."""
    against: tuple[str, ...]
    """What speaks against the loop as it is."""
    changes: tuple[Change, ...]
    picture: Picture
    data: dict[str, Any] = field(default_factory=dict)
    """The numbers for a program, in SI units."""


@dataclass(frozen=True)
class Here:
    """The loop for which an instrument is calibrated."""

    loop: Loop
    derived: Derived
    system: System
    today: date


@dataclass(frozen=True)
class Instrument:
    """One kind of calibration: what to read for a loop, and what to make of it.

    `certify` takes any readings, whether a file, a person or a board gave them.
    """

    name: str
    columns: Callable[[Loop], Sequence[Column]]
    certify: Callable[[Sequence[Reading], Here], Certificate]
    fills: Callable[[HandHeld, Loop], Fills]
    """What of each line a connected board gives."""
    sensor: str = ""
    """The thermometer that hangs in a bath."""


def parsed(option: str, typed: str, *quantities: Quantity) -> float:
    """An option's number, by the first of the quantities that knows its unit.

    Raises InputRefused where none of them does, and for numbers that are not above zero.
    """
    words = []
    for quantity in quantities:
        try:
            value = Column(option, "", quantity, above=0).parse(typed)
        except ValueError as error:
            words.append(str(error))
            continue
        return float(value)
    wanted = " or ".join(f"{each.words} such as {each.example}" for each in quantities)
    raise InputRefused([Fault(option, None, "", typed, words[0], wanted)])
