"""An expression in C, evaluated in Python's order, with parentheses wherever one could wonder."""

from __future__ import annotations

import ast
from typing import NamedTuple, NoReturn

from coilward.controller.firmware.translating.inferring import Inferring
from coilward.controller.firmware.translating.kinds import (
    FLOAT,
    TRUTH,
    Kind,
    Row,
    Structure,
    Table,
    Whole,
    is_large,
)
from coilward.controller.firmware.translating.naming import IS_KNOWN, NOT_KNOWN, PYTHONS, in_c
from coilward.controller.firmware.translating.sources import Symbol

SIGNS = {
    ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/", ast.BitAnd: "&", ast.BitOr: "|",
    ast.BitXor: "^", ast.LShift: "<<", ast.RShift: ">>", ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">",
    ast.GtE: ">=", ast.Eq: "==", ast.NotEq: "!=",
}  # fmt: skip
CHAINED = (ast.Add, ast.Mult, ast.BitAnd, ast.BitOr)
"""Operators of which several in a row need no parentheses; both languages go from the left."""


class Text(NamedTuple):
    """A piece of C; whole, it needs no parentheses inside another."""

    c: str
    whole: bool = True

    @property
    def held(self) -> str:
        """In parentheses where it needs them."""
        return self.c if self.whole else f"({self.c})"


class Expressions:
    """Writes the expressions of one function."""

    def __init__(self, found: Inferring, names: dict[Symbol, str]) -> None:
        """What was inferred of the function, and the names of all that it uses."""
        self.found = found
        self.names = names
        self.pointers: set[str] = set()
        """Local names that are pointers to a structure."""
        self.before: list[str] = []
        """Statements that have to come first: a structure that a call gives needs a place."""
        self._places = 0

    def refuse(self, node: ast.AST, problem: str, accepted: str) -> NoReturn:
        """No translation for this line."""
        self.found.refuse(node, problem, accepted)

    def kind(self, node: ast.expr) -> Kind:
        """As inferred."""
        return self.found.kinds[node]

    def text(self, node: ast.expr) -> Text:
        """Any expression, by its form."""
        match node:
            case ast.Constant():
                return Text(self.number(node.value, self.kind(node)))
            case ast.Name():
                return self.named(node)
            case ast.Attribute():
                return Text(self.path(node))
            case ast.Subscript():
                return Text(self.element(node))
            case ast.BinOp():
                return self.sum(node)
            case ast.UnaryOp(op=ast.Not()):
                return Text("!" + self.truth(node.operand).held)
            case ast.UnaryOp(op=ast.Invert()):
                return Text("~" + self.text(node.operand).held)
            case ast.UnaryOp():
                return self.negative(node)
            case ast.BoolOp():
                sign = " && " if isinstance(node.op, ast.And) else " || "
                return Text(sign.join(self.truth(each).held for each in node.values), False)
            case ast.Compare():
                return self.comparison(node)
            case ast.IfExp():
                test, one = self.truth(node.test).held, self.text(node.body).held
                return Text(f"{test} ? {one} : {self.text(node.orelse).held}", False)
            case ast.Call():
                return self.call(node)
        raise self.found.refusal(node, "an expression without a translation", "a simpler one")

    def number(self, value: object, kind: Kind) -> str:
        """A literal of its kind; floats with every digit that Python needs."""
        if kind is TRUTH:
            return "true" if value else "false"
        if kind is FLOAT:
            return repr(value)
        return f"{value}U" if isinstance(kind, Whole) and kind.is_mask else f"{value}"

    def named(self, node: ast.Name) -> Text:
        """A local name, or a constant; a structure as the value itself."""
        if node.id in self.found.names:
            name = in_c(node.id)
            return Text(f"*{name}" if node.id in self.pointers else name)
        return Text(self.constant(node))

    def constant(self, node: ast.expr) -> str:
        """A constant's name."""
        symbol = self.found.elsewhere(node)
        if symbol is None:
            self.refuse(node, "a name without a value", "a constant")
        return self.names[symbol]

    def path(self, node: ast.Attribute) -> str:
        """A field of a field of a name."""
        if self.found.elsewhere(node) is not None:
            return self.constant(node)
        field = in_c(node.attr)
        if isinstance(node.value, ast.Attribute):
            return f"{self.path(node.value)}.{field}"
        if not isinstance(node.value, ast.Name):
            self.refuse(node, "a field of something without a name", "a field of a name")
        name = node.value.id
        if name not in self.found.names:
            return f"{self.constant(node.value)}.{field}"
        return f"{in_c(name)}{'->' if name in self.pointers else '.'}{field}"

    def element(self, node: ast.Subscript) -> str:
        """One number of a row or a constant table."""
        place = self.text(node.slice).c
        table = self.kind(node.value)
        if isinstance(table, Table):
            cast = "" if table.each.is_mask else "(int64_t)"
            return f"{cast}{self.constant(node.value)}[{place}]"
        if isinstance(node.value, ast.Name):
            name = node.value.id
            return f"{in_c(name)}{'->' if name in self.pointers else '.'}at[{place}]"
        return f"{self.text(node.value).c}.at[{place}]"

    def sum(self, node: ast.BinOp) -> Text:
        """Arithmetic and bits."""
        sign = SIGNS[type(node.op)]
        left, right = self.operand(node.left, node), self.operand(node.right, node)
        if isinstance(node.op, (ast.LShift, ast.RShift)) and not isinstance(
            node.right, ast.Constant
        ):
            return Text(f"{left.held} {sign} (uint64_t){right.held}", False)
        chained = isinstance(node.left, ast.BinOp) and type(node.left.op) is type(node.op)
        first = left.c if chained and isinstance(node.op, CHAINED) else left.held
        return Text(f"{first} {sign} {right.held}", False)

    def operand(self, node: ast.expr, within: ast.BinOp) -> Text:
        """One side of an operation; a whole number among floats becomes one."""
        text = self.text(node)
        if self.kind(within) is FLOAT and isinstance(self.kind(node), Whole):
            return Text(f"(double){text.held}")
        return text

    def negative(self, node: ast.UnaryOp) -> Text:
        """A number with its sign turned; of a mask, as 64 bits turn it."""
        kind, text = self.kind(node.operand), self.text(node.operand)
        if isinstance(kind, Whole) and kind.is_mask:
            return Text(f"0U - {text.held}", False)
        return Text(f"-{text.held}", isinstance(node.operand, ast.Constant))

    def truth(self, node: ast.expr) -> Text:
        """Whether something is so: a truth itself, a mask that isn't empty."""
        if self.kind(node) is TRUTH:
            return self.text(node)
        return Text(f"{self.text(node).held} != 0U", False)

    def comparison(self, node: ast.Compare) -> Text:
        """Comparisons, each by itself.

        Of ``0 <= mask <= CONSTANT`` the second says it all: what is under 0 in Python is over every
        constant without a sign.
        """
        if isinstance(node.ops[0], (ast.In, ast.NotIn)):
            return self.membership(node)
        itself = ast.unparse(node.left) == ast.unparse(node.comparators[0])
        if itself and self.kind(node.left) is FLOAT:
            return self.known(node)
        from_zero = ast.unparse(node.left) == "0" and len(node.ops) == 2
        parts, left = [], node.left
        for op, right in zip(node.ops, node.comparators, strict=True):
            kind = self.kind(left)
            equal = isinstance(op, (ast.Eq, ast.NotEq))
            ordered = isinstance(kind, Whole) and kind.is_mask and not equal
            if ordered and not (from_zero and isinstance(op, ast.LtE)):
                self.refuse(node, "an order of masks", "0 <= mask <= CONSTANT")
            if not (ordered and left is node.left):
                sign = SIGNS[type(op)]
                parts.append(f"{self.text(left).held} {sign} {self.text(right).held}")
            left = right
        if len(parts) == 1:
            return Text(parts[0], False)
        return Text(" && ".join(f"({part})" for part in parts), False)

    def known(self, node: ast.Compare) -> Text:
        """``x == x`` and ``x != x``: by the bits, which costs a small processor least."""
        if len(node.ops) != 1 or not isinstance(node.ops[0], (ast.Eq, ast.NotEq)):
            self.refuse(node, "a number compared with itself", "x == x, x != x")
        sign = "" if isinstance(node.ops[0], ast.Eq) else "!"
        return Text(f"{sign}{IS_KNOWN}({self.text(node.left).c})")

    def membership(self, node: ast.Compare) -> Text:
        """``in`` and ``not in``: one comparison each."""
        left, [right] = self.text(node.left).held, node.comparators
        listed = self.found.members[right]
        members = [
            self.text(each).held if isinstance(each, ast.expr) else self.names[each]
            for each in listed
        ]
        if isinstance(node.ops[0], ast.In):
            return Text(" || ".join(f"({left} == {each})" for each in members), False)
        return Text(" && ".join(f"({left} != {each})" for each in members), False)

    def call(self, node: ast.Call) -> Text:
        """A call; a structure's is the structure itself."""
        if ast.unparse(node) == "float('nan')":
            return Text(NOT_KNOWN)
        if isinstance(node.func, ast.Name) and node.func.id in PYTHONS:
            return Text(f"{PYTHONS[node.func.id].in_c}({self.text(node.args[0]).c})")
        symbol = self.found.elsewhere(node.func)
        if symbol is None:
            self.refuse(node, "a call without a translation", "a function of the controller")
        if symbol.what == "structure":
            return Text(f"({symbol.name}){self.braces(node)}")
        fixed = self.found.sources.constant_result(symbol)
        if fixed is not None:
            return Text(self.number(fixed, self.kind(node)))
        if is_large(self.kind(node)):
            self.refuse(node, "a large structure within an expression", "a name for it before")
        return Text(f"{self.names[symbol]}({self.arguments(node, symbol)})")

    def call_into(self, node: ast.expr, *places: str) -> str:
        """A call whose results go to the places given."""
        symbol = self.found.elsewhere(node.func) if isinstance(node, ast.Call) else None
        if symbol is None or not isinstance(node, ast.Call):
            self.refuse(node, "results of something else", "a call of a function")
        given = [text for text in (self.arguments(node, symbol), *places) if text]
        return f"{self.names[symbol]}({', '.join(given)})"

    def arguments(self, node: ast.Call, symbol: Symbol) -> str:
        """What is handed to a function: numbers as such, structures by their address."""
        kinds, _ = self.found.sources.signature(symbol)
        given = dict(zip(kinds, node.args, strict=False))
        given.update({str(each.arg): each.value for each in node.keywords})
        return ", ".join(
            self.address(given[name]) if isinstance(kind, (Structure, Row))
            else self.text(given[name]).c
            for name, kind in kinds.items()
        )

    def address(self, node: ast.expr) -> str:
        """Where a structure lies; one that a call gives is put in a place of its own first."""
        if isinstance(node, ast.Name):
            return in_c(node.id) if node.id in self.pointers else f"&{self.named(node).c}"
        if isinstance(node, ast.Attribute):
            return f"&{self.path(node)}"
        if not isinstance(node, ast.Call):
            self.refuse(node, "a structure without a place", "a name, a field or a call")
        kind = self.kind(node)
        if not isinstance(kind, (Structure, Row)):
            self.refuse(node, "several results as one", "a NamedTuple")
        self._places += 1
        place = f"given_{self._places}" if self._places > 1 else "given"
        if is_large(kind):
            text = self.call_into(node, f"&{place}")
            self.before += [f"{kind.name} {place};", f"{text};"]
        else:
            text = self.text(node).c
            self.before.append(f"const {kind.name} {place} = {text};")
        return f"&{place}"

    def braces(self, node: ast.expr) -> str:
        """The fields of a structure, or the numbers of a row, each with its name."""
        if isinstance(node, ast.Tuple):
            return "{.at = {" + ", ".join(self.text(each).c for each in node.elts) + "}}"
        if not isinstance(node, ast.Call):
            self.refuse(node, "a structure that isn't built here", "a constructor")
        kind = self.kind(node)
        if not isinstance(kind, Structure):
            self.refuse(node, "a call that builds nothing", "a constructor")
        given = given_fields(node, kind)
        parts = [f".{in_c(name)} = {self.text(given[name]).c}" for name, _ in kind.fields]
        return "{" + ", ".join(parts) + "}"

    def builds(self, node: ast.expr) -> bool:
        """Whether an expression builds a structure or a row from its parts."""
        if isinstance(node, ast.Tuple):
            return True
        symbol = self.found.elsewhere(node.func) if isinstance(node, ast.Call) else None
        return symbol is not None and symbol.what == "structure"


def given_fields(node: ast.Call, kind: Structure) -> dict[str, ast.expr]:
    """What a constructor is given for each field."""
    given = dict(zip((name for name, _ in kind.fields), node.args, strict=False))
    given.update({str(each.arg): each.value for each in node.keywords})
    return given
