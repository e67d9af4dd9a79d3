"""Which interlock rows no rule tells apart, read off the logic's own source.

The logic asks a set of rows nothing but whether one of them lies in a mask. So two sets that
hit the same masks are one set to it, and all sets of thirty-odd rows fall into a few hundred
groups. That a function asks nothing else is not believed but read: every use of the set in its
source has to be ``set & row.MASK`` or a comparison of the whole set with 0; any other use
raises `UnprovedError`, and the search is off until somebody looks.
"""

from __future__ import annotations

import ast
import inspect
import textwrap
from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from coilward.controller import interlocks, phases
from coilward.controller.facts import facts_of
from coilward.controller.interlocks import ROWS

EVERY_ROW = (1 << len(ROWS)) - 1


class UnprovedError(Exception):
    """The source uses a set of rows in a way that the grouping does not cover."""


class RowFact(NamedTuple):
    """One line of `facts_of` that turns a set of rows into a fact."""

    word: str
    """``raised``, ``active`` or ``kept.latched``: the set that is asked."""
    mask: int
    """The rows that make the fact true."""
    fact: int
    otherwise: int
    """The fact that is true when none of them is in the set, 0 for none."""


def tree_of(function: Callable[..., object]) -> ast.AST:
    """The syntax tree of a function."""
    return ast.parse(textwrap.dedent(inspect.getsource(function)))


def _with_parents(tree: ast.AST) -> Iterator[tuple[ast.AST, ast.AST]]:
    for parent in ast.walk(tree):
        for child in ast.iter_child_nodes(parent):
            yield child, parent


def asked(function: Callable[..., object], word: str) -> dict[str, int]:
    """The masks that a function asks a set of rows for, by name; ``0`` for the whole set.

    Raises UnprovedError where it does anything else with the set.
    """
    masks: dict[str, int] = {}
    for node, parent in _with_parents(tree_of(function)):
        if not isinstance(node, ast.Name | ast.Attribute) or ast.unparse(node) != word:
            continue
        text = ast.unparse(parent)
        if isinstance(parent, ast.BinOp) and isinstance(parent.op, ast.BitAnd):
            other = parent.right if parent.left is node else parent.left
            name = ast.unparse(other).removeprefix("row.")
            masks[name] = int(getattr(interlocks, name))
        elif isinstance(parent, ast.Compare) and text in (f"{word} == 0", f"{word} != 0"):
            masks["0"] = EVERY_ROW
        else:
            raise UnprovedError(f"{getattr(function, '__name__', function)}: {text}")
    return masks


def _one_fact(body: list[ast.stmt]) -> int:
    if not body:
        return 0
    text = "; ".join(ast.unparse(statement) for statement in body)
    name = text.removeprefix("facts |= ph.")
    if name == text or not name.isidentifier():
        raise UnprovedError(f"facts_of: {text}")
    return int(getattr(phases, name))


def row_facts() -> tuple[RowFact, ...]:
    """Every fact that follows from a set of rows, as `facts_of` computes it.

    Raises UnprovedError where a set of rows is used for anything but a fact of its own.
    """
    found = []
    words = {word: asked(facts_of, word) for word in ("raised", "active", "kept.latched")}
    for node in ast.walk(tree_of(facts_of)):
        if not isinstance(node, ast.If):
            continue
        for word, masks in words.items():
            for name, mask in masks.items():
                test = f"{word} != 0" if name == "0" else f"{word} & row.{name}"
                if ast.unparse(node.test) == test:
                    fact, otherwise = _one_fact(node.body), _one_fact(node.orelse)
                    found.append(RowFact(word, mask, fact, otherwise))
    if len(found) != sum(len(masks) for masks in words.values()):
        raise UnprovedError(f"facts_of: {words} against {found}")
    return tuple(found)


def signature(rows: int, masks: Iterable[int]) -> int:
    """Which of the masks a set of rows hits: bit k for the k-th."""
    return sum(1 << k for k, mask in enumerate(masks) if rows & mask)


def unions(signs: Iterable[int]) -> dict[int, int]:
    """Every signature that a set of rows can have, each with one set that has it.

    `signs` holds the signature of each row in table order. Complete, because the signature of
    a union is the union of the signatures: after row n all sets of the first n rows are in.
    """
    found = {0: 0}
    for index, sign in enumerate(signs):
        for before, rows in list(found.items()):
            found.setdefault(before | sign, rows | 1 << index)
    return found


def alike(signs: Iterable[int]) -> list[list[str]]:
    """The rows in groups of the same signature, by name."""
    groups: dict[int, list[str]] = {}
    for row, sign in zip(ROWS, signs, strict=True):
        groups.setdefault(sign, []).append(row.name)
    return list(groups.values())
