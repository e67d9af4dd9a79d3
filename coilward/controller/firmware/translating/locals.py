"""The local names of a function: in which block each begins, and how it gets its values."""

from __future__ import annotations

import ast

from coilward.controller.firmware.translating.expressions import given_fields
from coilward.controller.firmware.translating.inferring import Inferring
from coilward.controller.firmware.translating.kinds import (
    Structure,
    is_compound,
    is_large,
    scalars,
)
from coilward.controller.firmware.translating.naming import in_c
from coilward.controller.firmware.translating.sources import without_words

Block = list[ast.stmt]


class Local:
    """One name."""

    def __init__(self) -> None:
        """Found nowhere yet."""
        self.within: list[Block] | None = None
        """The blocks that hold all of it, the innermost last."""
        self.times = 0
        """Assignments in the text."""
        self.views = 0
        """Assignments of something that lies elsewhere."""
        self.made = 0
        """Assignments of something new."""
        self.made_on_top = 0
        """Those of them that are in no inner block."""


class Locals:
    """All names of one function."""

    def __init__(self, found: Inferring) -> None:
        """Walks the whole function once."""
        self.found = found
        self.body = without_words(found.node.body)
        self.each: dict[str, Local] = {name: Local() for name in found.names}
        self.counters: set[str] = set()
        """Names that a loop counts with."""
        for name in found.arguments:
            self.each[name].views += 1
            self.each[name].within = [self.body]
        self._walk(self.body, [])
        self.places = self._places()
        """Names of structures that are made where the result is wanted, and that place."""
        self.pointers = {name for name in found.names if self._is_pointer(name)}
        self.moved = {
            name: self.places.get(name, f"new_{in_c(name)}")
            for name in sorted(self.pointers) if self.each[name].made
        }
        """Pointers that move on to something new, and where that lies."""

    def _walk(self, block: Block, above: list[Block]) -> None:
        here = [*above, block]
        for node in block:
            inner: list[Block] = []
            looked: ast.AST = node
            if isinstance(node, ast.If):
                inner, looked = [node.body, node.orelse], node.test
            elif isinstance(node, ast.For):
                inner, looked = [node.body], node.iter
                self.counters.add(ast.unparse(node.target))
            for each in ast.walk(looked):
                if isinstance(each, ast.Name) and each.id in self.each:
                    self._seen(each, here)
            for target, value in assigned(node):
                if isinstance(target, ast.Name):
                    local = self.each[target.id]
                    local.views += is_view(value)
                    local.made += not is_view(value)
                    local.made_on_top += not above and not is_view(value)
            for each_block in inner:
                self._walk(each_block, here)

    def _seen(self, name: ast.Name, here: list[Block]) -> None:
        local = self.each[name.id]
        local.times += isinstance(name.ctx, ast.Store)
        if local.within is None:
            local.within = here
        else:
            local.within = [a for a, b in zip(local.within, here, strict=False) if a is b]

    def _places(self) -> dict[str, str]:
        returns = [node for node in ast.walk(self.found.node) if isinstance(node, ast.Return)]
        if len(returns) != 1 or not is_large(self.found.result):
            return {}
        found: dict[str, str] = {}
        value = returns[0].value
        if isinstance(value, ast.Call):
            self._place(value, "out->", found)
        return {name: place for name, place in found.items()
                if name in self.each and self.each[name].made == 1}

    def _place(self, node: ast.Call, lead: str, found: dict[str, str]) -> None:
        kind = self.found.kinds[node]
        symbol = self.found.elsewhere(node.func)
        if not isinstance(kind, Structure) or symbol is None or symbol.what != "structure":
            return
        for name, value in given_fields(node, kind).items():
            place = f"{lead}{in_c(name)}"
            if isinstance(value, ast.Call):
                self._place(value, f"{place}.", found)
            elif isinstance(value, ast.Name) and is_large(self.found.kinds[value]):
                found[value.id] = place

    def _is_pointer(self, name: str) -> bool:
        kind, local = self.found.names[name], self.each[name]
        if not is_compound(kind):
            return False
        if name in self.places or name in self.found.arguments:
            return True
        if local.views and local.made and scalars(kind) and not is_large(kind):
            return False
        return local.views > 0

    def is_read_after(self, name: str, value: ast.expr) -> bool:
        """Whether a name is read once it is made, other than where it lies in its place."""
        if name not in self.places or self.each[name].made_on_top != 1:
            return True
        last = value.end_lineno or 0
        result = self.body[-1]
        return any(
            isinstance(each, ast.Name) and each.id == name and isinstance(each.ctx, ast.Load)
            for node in self.body if node is not result and node.lineno > last
            for each in ast.walk(node)
        )

    def begins_in(self, name: str, block: Block) -> bool:
        """Whether a block is the innermost that holds all of a name."""
        within = self.each[name].within
        return bool(within) and within is not None and within[-1] is block


def assigned(node: ast.stmt) -> list[tuple[ast.expr, ast.expr]]:
    """Target and value of each assignment in a statement; one pair for parts of a whole."""
    if not isinstance(node, ast.Assign):
        return []
    target = node.targets[0]
    if isinstance(target, ast.Tuple) and isinstance(node.value, ast.Tuple):
        return list(zip(target.elts, node.value.elts, strict=True))
    return [(target, node.value)]


def is_view(value: ast.expr) -> bool:
    """Whether a value lies somewhere already."""
    return isinstance(value, (ast.Name, ast.Attribute))


def reads(value: ast.expr, name: str) -> bool:
    """Whether an expression takes a name's value."""
    return any(isinstance(each, ast.Name) and each.id == name for each in ast.walk(value))
