"""The kind of every expression and every local name of a function."""

from __future__ import annotations

import ast
from typing import NoReturn

from coilward.controller.firmware.translating.kinds import (
    FLOAT,
    TRUTH,
    Kind,
    Row,
    Scalar,
    Several,
    Structure,
    Table,
    Whole,
)
from coilward.controller.firmware.translating.naming import PYTHONS
from coilward.controller.firmware.translating.refusing import refusal
from coilward.controller.firmware.translating.sources import Source, Sources, Symbol, without_words
from coilward.loop.errors import InputRefused

ARITHMETIC = (ast.Add, ast.Sub, ast.Mult, ast.Div)
BITWISE = (ast.BitAnd, ast.BitOr, ast.BitXor)
STATEMENTS = "an assignment, if, for over a range, return"
CALLS = "a function of the controller, a NamedTuple, abs(x), isfinite(x), float('nan')"


class Inferring:
    """Walks one function, and finds the kinds in it and the names from elsewhere that it uses."""

    def __init__(self, sources: Sources, symbol: Symbol) -> None:
        """Nothing is known yet but the annotations."""
        self.sources = sources
        self.symbol = symbol
        self.source: Source = sources.source(symbol.module)
        self.node = self.source.functions[symbol.name]
        self.arguments, self.result = sources.signature(symbol)
        self.names: dict[str, Kind] = dict(self.arguments)
        self.kinds: dict[ast.expr, Kind] = {}
        self.used: list[Symbol] = []
        self.changed: dict[ast.AugAssign, ast.BinOp] = {}
        """``a + b`` of each ``a += b``."""
        self.members: dict[ast.expr, list[ast.expr | Symbol]] = {}
        """What stands in each tuple that something may be in."""

    def run(self) -> Inferring:
        """All statements in their order."""
        for statement in without_words(self.node.body):
            self.statement(statement)
        return self

    def refuse(self, node: ast.AST, problem: str, accepted: str) -> NoReturn:
        """No translation for this line."""
        raise self.refusal(node, problem, accepted)

    def refusal(self, node: ast.AST, problem: str, accepted: str) -> InputRefused:
        """What is raised for a line without a translation."""
        return refusal(self.source.file, node, problem, accepted)

    def statement(self, node: ast.stmt) -> None:
        """The kinds in one statement, and in those within it."""
        if isinstance(node, ast.Assign) and len(node.targets) == 1:
            self.assign(node.targets[0], node.value)
        elif isinstance(node, ast.AugAssign) and isinstance(node.target, ast.Name):
            load = ast.copy_location(ast.Name(node.target.id, ast.Load()), node)
            whole = ast.copy_location(ast.BinOp(load, node.op, node.value), node)
            self.changed[node] = whole
            self.declare(node, node.target.id, self.kind(whole))
            self.kinds[node.target] = self.names[node.target.id]
        elif isinstance(node, ast.If):
            self.truth(node.test)
            for each in (*node.body, *node.orelse):
                self.statement(each)
        elif isinstance(node, ast.For):
            self.loop(node)
        elif isinstance(node, ast.Return) and node.value is not None:
            self.returned(node.value)
        else:
            self.refuse(node, "a statement without a translation", STATEMENTS)

    def loop(self, node: ast.For) -> None:
        """A loop over a range whose ends are constants, or stand in a constant table."""
        called = node.iter
        if node.orelse or not isinstance(node.target, ast.Name):
            self.refuse(node, "a loop without a translation", "for NAME in range(...), no else")
        if not (isinstance(called, ast.Call) and isinstance(called.func, ast.Name)
                and called.func.id == "range" and not called.keywords):
            self.refuse(node, "a loop that may not end", "for NAME in range(...)")
        counter = Whole()
        self.names[node.target.id] = counter
        for end in called.args:
            found = self.kind(end)
            if not isinstance(found, Whole) or not self.bounded(end):
                self.refuse(end, "an end that isn't known beforehand",
                            "constants, or an element of a constant table")
            counter.join(found)
        if len(called.args) == 3 and ast.unparse(called.args[2]) not in ("1", "-1"):
            self.refuse(node, "a step of its own", "steps of 1 or -1")
        for each in node.body:
            self.statement(each)

    def bounded(self, end: ast.expr) -> bool:
        """Whether an end of a range is built of constants alone."""
        if isinstance(end, ast.Subscript):
            return isinstance(self.kind(end.value), Table)
        if isinstance(end, ast.BinOp):
            return self.bounded(end.left) and self.bounded(end.right)
        if isinstance(end, ast.UnaryOp):
            return self.bounded(end.operand)
        found = self.elsewhere(end)
        return isinstance(end, ast.Constant) or (found is not None and found.what == "constant")

    def assign(self, target: ast.expr, value: ast.expr) -> None:
        """One name or several."""
        if isinstance(target, ast.Name):
            self.declare(value, target.id, self.kind(value))
            self.kinds[target] = self.names[target.id]
            return
        if not isinstance(target, ast.Tuple):
            self.refuse(target, "a place that can't be assigned to", "a local name")
        if isinstance(value, ast.Tuple) and len(value.elts) == len(target.elts):
            for place, each in zip(target.elts, value.elts, strict=True):
                self.assign(place, each)
            return
        found = self.kind(value)
        parts: list[Kind] = []
        if isinstance(found, Several):
            parts = list(found.each)
        elif isinstance(found, Row):
            parts = [found.each] * found.size
        elif isinstance(found, Structure):
            parts = [kind for _, kind in found.fields]
        if len(parts) != len(target.elts):
            self.refuse(value, "a value that doesn't have so many parts",
                        f"a tuple of {len(target.elts)}")
        for place, kind in zip(target.elts, parts, strict=True):
            if not isinstance(place, ast.Name):
                self.refuse(place, "a place that can't be assigned to", "a local name")
            if place.id != "_":
                self.declare(value, place.id, kind)

    def declare(self, node: ast.AST, name: str, kind: Kind) -> None:
        """A name has a kind, and keeps it."""
        self.same(node, self.names.setdefault(name, kind), kind)

    def returned(self, value: ast.expr) -> None:
        """What is returned is of the kind that is annotated."""
        if isinstance(self.result, Several):
            if not isinstance(value, ast.Tuple) or len(value.elts) != len(self.result.each):
                self.refuse(value, "other results than annotated", "one expression a result")
            for each, kind in zip(value.elts, self.result.each, strict=True):
                self.same(each, kind, self.kind(each))
        elif isinstance(value, ast.Tuple) and isinstance(self.result, Row):
            if len(value.elts) != self.result.size:
                self.refuse(value, "another length than annotated", f"{self.result.size} numbers")
            for each in value.elts:
                self.same(each, self.result.each, self.kind(each))
            self.kinds[value] = self.result
        else:
            self.same(value, self.result, self.kind(value))

    def same(self, node: ast.AST, one: Kind, other: Kind) -> None:
        """Both kinds are one."""
        if isinstance(one, Whole) and isinstance(other, Whole):
            one.join(other)
        elif one is not other and one != other:
            self.refuse(node, "a value of another kind", "the kind that the name has elsewhere")

    def kind(self, node: ast.expr) -> Kind:
        """The kind of an expression, remembered."""
        if node not in self.kinds:
            self.kinds[node] = self.found(node)
        return self.kinds[node]

    def found(self, node: ast.expr) -> Kind:
        """The kind of an expression, by its form."""
        match node:
            case ast.Constant(value=bool()):
                return TRUTH
            case ast.Constant(value=int()):
                return Whole()
            case ast.Constant(value=float()):
                return FLOAT
            case ast.Name():
                return self.of_name(node)
            case ast.Attribute():
                return self.of_attribute(node)
            case ast.Subscript():
                return self.of_element(node)
            case ast.BinOp():
                return self.of_sum(node)
            case ast.UnaryOp(op=ast.Not()):
                self.truth(node.operand)
                return TRUTH
            case ast.UnaryOp(op=ast.USub() | ast.Invert()):
                return self.of_sign(node)
            case ast.BoolOp():
                for each in node.values:
                    self.truth(each)
                return TRUTH
            case ast.Compare():
                self.compare(node)
                return TRUTH
            case ast.IfExp():
                self.truth(node.test)
                first, second = self.kind(node.body), self.kind(node.orelse)
                self.same(node, first, second)
                return first
            case ast.Call():
                return self.of_call(node)
        raise self.refusal(
            node, "an expression without a translation",
            "numbers, names, fields, + - * /, comparisons, bits, and/or/not, x if c else y",
        )

    def elsewhere(self, node: ast.expr) -> Symbol | None:
        """What a name, or a name of an imported module, means outside the function."""
        if isinstance(node, ast.Name) and node.id not in self.names:
            return self.sources.symbol(self.symbol.module, node.id)
        if isinstance(node, ast.Attribute):
            module = self.elsewhere(node.value)
            if module is not None and module.what == "module":
                return self.sources.symbol(module.module, node.attr)
        return None

    def of_name(self, node: ast.Name) -> Kind:
        """A local name, or a constant."""
        if node.id in self.names:
            return self.names[node.id]
        return self.of_constant(node)

    def of_constant(self, node: ast.expr) -> Kind:
        """A constant of this module or another."""
        symbol = self.elsewhere(node)
        if symbol is None or symbol.what != "constant":
            self.refuse(node, "a name that is neither local nor a constant of the controller",
                        "a name assigned before, or a module's constant")
        self.used.append(symbol)
        return self.sources.constant(symbol, node)

    def of_attribute(self, node: ast.Attribute) -> Kind:
        """A field, or a constant of an imported module."""
        if self.elsewhere(node) is not None:
            return self.of_constant(node)
        if not isinstance(node.value, (ast.Name, ast.Attribute)):
            self.refuse(node, "a field of something without a name", "a field of a name")
        parent = self.kind(node.value)
        fields = dict(parent.fields) if isinstance(parent, Structure) else {}
        if node.attr not in fields:
            self.refuse(node, "a field of what has none", "a field of a NamedTuple")
        return fields[node.attr]

    def of_element(self, node: ast.Subscript) -> Kind:
        """One number of a row or a table."""
        parent, place = self.kind(node.value), self.kind(node.slice)
        if not isinstance(parent, (Row, Table)) or not isinstance(place, Whole):
            self.refuse(node, "an element of what has none", "a whole place in a tuple of numbers")
        return parent.each

    def of_sum(self, node: ast.BinOp) -> Kind:
        """Arithmetic and bits."""
        left, right = self.kind(node.left), self.kind(node.right)
        if isinstance(node.op, ARITHMETIC):
            if isinstance(left, Whole) and isinstance(right, Whole):
                if isinstance(node.op, ast.Div):
                    self.refuse(node, "a division of whole numbers", "a division of floats")
                left.join(right)
                return left
            if {type(left), type(right)} <= {type(FLOAT), Whole}:
                return FLOAT
        if isinstance(left, Whole) and isinstance(right, Whole):
            if isinstance(node.op, BITWISE):
                left.join(right)
                left.use_bits()
                return left
            if isinstance(node.op, (ast.RShift, ast.LShift)):
                left.use_bits()
                return left
        raise self.refusal(
            node, "an operation without a translation",
            "+ - * / of numbers, & | ^ ~ << >> of whole ones",
        )

    def of_sign(self, node: ast.UnaryOp) -> Kind:
        """A number with its sign turned, or its bits."""
        kind = self.kind(node.operand)
        if isinstance(node.op, ast.Invert) and isinstance(kind, Whole):
            kind.use_bits()
        elif kind is not FLOAT and not (isinstance(node.op, ast.USub) and isinstance(kind, Whole)):
            self.refuse(node, "a sign of what has none", "- of a number, ~ of a mask")
        return kind

    def truth(self, node: ast.expr) -> None:
        """An expression that is asked whether it is so: a truth, or a mask that isn't empty."""
        kind = self.kind(node)
        if kind is TRUTH:
            return
        if not isinstance(kind, Whole):
            self.refuse(node, "a number taken for a truth", "a comparison, a bool, or a mask")
        kind.use_bits()

    def compare(self, node: ast.Compare) -> None:
        """Comparisons in a chain, or a whole number among some."""
        left = self.kind(node.left)
        for op, right in zip(node.ops, node.comparators, strict=True):
            if isinstance(op, (ast.In, ast.NotIn)):
                for each in self.in_list(right):
                    self.same(right, left, each)
                return
            if not isinstance(op, (ast.Lt, ast.LtE, ast.Gt, ast.GtE, ast.Eq, ast.NotEq)):
                self.refuse(node, "a comparison without a translation",
                            "< <= > >= == !=, in, not in")
            kind = self.kind(right)
            if not isinstance(left, Scalar):
                self.refuse(node, "a comparison of whole structures", "one of their fields each")
            self.same(right, left, kind)
            left = kind

    def in_list(self, node: ast.expr) -> list[Kind]:
        """The kinds of what stands in a tuple: one that is written here, or a constant one."""
        if isinstance(node, ast.Tuple):
            self.members[node] = list(node.elts)
            return [self.kind(each) for each in node.elts]
        symbol = self.elsewhere(node)
        listed = self.sources.listed(symbol) if symbol is not None else None
        if listed is None:
            self.refuse(node, "in what can't be listed", "a tuple of constants")
        self.members[node] = list(listed)
        self.used += listed
        return [self.sources.constant(each, node) for each in listed]

    def of_call(self, node: ast.Call) -> Kind:
        """A function of the controller, a structure, or one of Python's own."""
        own = ast.unparse(node)
        if own == "float('nan')":
            return FLOAT
        if isinstance(node.func, ast.Name) and node.func.id in PYTHONS and len(node.args) == 1:
            self.same(node, FLOAT, self.kind(node.args[0]))
            return PYTHONS[node.func.id].gives
        symbol = self.elsewhere(node.func)
        if symbol is None or symbol.what not in ("function", "structure"):
            self.refuse(node, "a call without a translation", CALLS)
        self.used.append(symbol)
        result: Kind
        if symbol.what == "structure":
            made = self.sources.structure(self.sources.value(symbol))
            kinds, result = dict(made.fields), made
        else:
            kinds, result = self.sources.signature(symbol)
        given = dict(zip(kinds, node.args, strict=False))
        given.update({each.arg or "**": each.value for each in node.keywords})
        if set(given) != set(kinds) or len(given) != len(node.args) + len(node.keywords):
            self.refuse(node, "other arguments than it has", ", ".join(kinds))
        for name, value in given.items():
            self.same(value, kinds[name], self.kind(value))
        return result
