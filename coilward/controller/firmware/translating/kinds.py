"""Kinds of values: float, truth, whole number, structure, row of equal numbers, several results.

A whole number is a mask where its bits are used, and then unsigned. Which ones are is found out
over the whole program: numbers that are assigned, compared or handed to each other are one kind.
"""

from __future__ import annotations

from dataclasses import dataclass


class Scalar:
    """A number that fits a register."""

    c_name = ""


class _Float(Scalar):
    c_name = "double"


class _Truth(Scalar):
    c_name = "bool"


FLOAT, TRUTH = _Float(), _Truth()


class Whole(Scalar):
    """A whole number of 64 bits: one of a class of numbers that are used alike."""

    def __init__(self) -> None:
        """A class of its own, until it is joined to another."""
        self._joined: Whole | None = None
        self._mask = False

    def _class(self) -> Whole:
        found = self
        while found._joined is not None:
            found = found._joined
        return found

    def join(self, other: Whole) -> None:
        """Both are used alike from here on."""
        ours, theirs = self._class(), other._class()
        if ours is not theirs:
            theirs._joined = ours
            ours._mask = ours._mask or theirs._mask

    def use_bits(self) -> None:
        """Its bits are used: it is a mask."""
        self._class()._mask = True

    @property
    def is_mask(self) -> bool:
        """Whether its bits are used anywhere."""
        return self._class()._mask

    @property
    def c_name(self) -> str:  # type: ignore[override]
        """Unsigned for a mask."""
        return "uint64_t" if self.is_mask else "int64_t"


@dataclass(frozen=True)
class Structure:
    """A named tuple."""

    name: str
    module: str
    fields: tuple[tuple[str, Kind], ...]


@dataclass(frozen=True)
class Row:
    """A tuple of equal numbers that has a name of its own: a structure with one array."""

    name: str
    module: str
    size: int
    each: Scalar


@dataclass(frozen=True)
class Table:
    """A constant tuple of whole numbers, of any length."""

    each: Whole


@dataclass(frozen=True)
class Several:
    """What a function that returns a tuple gives: one result through a pointer each."""

    each: tuple[Scalar, ...]


Compound = Structure | Row
Kind = Scalar | Structure | Row | Table | Several
ORDINALS = ("first", "second", "third", "fourth")
"""Names of the pointers that several results go through."""


def scalars(kind: Kind) -> int:
    """How many numbers a value holds."""
    if isinstance(kind, Structure):
        return sum(scalars(each) for _, each in kind.fields)
    return kind.size if isinstance(kind, Row) else 1


SMALL = 8
"""Numbers in a structure that is handed over as a value; a larger one is written to its place."""


def is_compound(kind: Kind) -> bool:
    """Whether a value has parts."""
    return isinstance(kind, (Structure, Row))


def is_large(kind: Kind) -> bool:
    """Whether a function writes a result of this kind to a place that it is given."""
    return is_compound(kind) and scalars(kind) > SMALL


def c_name(kind: Kind) -> str:
    """The name of a kind in C."""
    return kind.name if isinstance(kind, (Structure, Row)) else getattr(kind, "c_name", "void")
