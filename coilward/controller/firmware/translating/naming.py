"""Names in C: the same as in Python, with the module before those that two modules have."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

from coilward.controller.firmware.translating.kinds import FLOAT, TRUTH, Scalar
from coilward.controller.firmware.translating.sources import Symbol

NOT_KNOWN, MAGNITUDE, IS_KNOWN, IS_FINITE = "NOT_KNOWN", "magnitude", "is_known", "is_finite"


class Own(NamedTuple):
    """A function of Python's own, of one float."""

    in_c: str
    gives: Scalar


PYTHONS = {"abs": Own(MAGNITUDE, FLOAT), "isfinite": Own(IS_FINITE, TRUTH)}
KEYWORDS = frozenset(
    (
        "auto", "break", "case", "char", "const", "continue", "default", "do", "double", "else",
        "enum", "extern", "float", "for", "goto", "if", "inline", "int", "long", "register",
        "restrict", "return", "short", "signed", "sizeof", "static", "struct", "switch", "typedef",
        "union", "unsigned", "void", "volatile", "while", "bool", "true", "false",
    )
)  # fmt: skip


def names_of(symbols: Iterable[Symbol]) -> dict[Symbol, str]:
    """A name of its own for every function and constant."""
    listed = list(symbols)
    times = Counter(symbol.name for symbol in listed)
    found = {}
    for symbol in listed:
        module = symbol.module.rpartition(".")[2]
        name = symbol.name
        if times[name] > 1:
            name = f"{module.upper() if name.isupper() else module}_{name}"
        found[symbol] = in_c(name.lstrip("_"))
    return found


def in_c(name: str) -> str:
    """A field or a local name, with a line below behind what is a word of C itself."""
    return f"{name}_" if name in KEYWORDS else name
