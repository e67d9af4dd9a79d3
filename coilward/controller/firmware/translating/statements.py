"""A function in C: the same statements in the same order, each name declared where it begins.

A structure that is only looked at is a pointer to where it lies. One that is looked at first and
made anew later is a pointer too, that moves on to the new one, ``new_`` before its name.
"""

from __future__ import annotations

import ast

from coilward.controller.firmware.translating.expressions import Expressions
from coilward.controller.firmware.translating.inferring import Inferring
from coilward.controller.firmware.translating.kinds import (
    ORDINALS,
    Compound,
    Kind,
    Row,
    Several,
    Structure,
    Whole,
    scalars,
)
from coilward.controller.firmware.translating.naming import in_c
from coilward.controller.firmware.translating.sources import Symbol, without_words
from coilward.controller.firmware.translating.wrapping import STEP, WIDTH, comment, wrapped

SMALL = 8
"""Numbers in a structure that is rather copied than pointed at."""
Block = tuple[list[ast.stmt], ...]


class Local:
    """Where a local name occurs, and how it gets its values."""

    def __init__(self) -> None:
        """Found nowhere yet."""
        self.block: list[list[ast.stmt]] | None = None
        self.times = 0
        self.views = 0
        self.made = 0
        self.begins: ast.stmt | None = None


class Function:
    """Writes one function."""

    def __init__(self, found: Inferring, names: dict[Symbol, str], own: bool) -> None:
        """What was inferred; ``own`` for one that no other module calls."""
        self.found = found
        self.names = names
        self.own = own
        self.e = Expressions(found, names)
        self.body = without_words(found.node.body)
        self.lines: list[str] = []
        self.locals: dict[str, Local] = {name: Local() for name in found.names}
        self.moved: set[str] = set()
        """Names of pointers that move on to a structure made here."""
        self.declared: set[str] = set(found.arguments)
        self.said = found.node.lineno
        for name in found.arguments:
            self.locals[name].views += 1
            self.locals[name].block = [self.body]
        self._occurrences(self.body, [])
        self._forms()

    def _occurrences(self, block: list[ast.stmt], above: list[list[ast.stmt]]) -> None:
        here = [*above, block]
        for node in block:
            inner: list[list[ast.stmt]] = []
            parts: list[ast.AST] = [node]
            if isinstance(node, ast.If):
                inner, parts = [node.body, node.orelse], [node.test]
            elif isinstance(node, ast.For):
                inner, parts = [node.body], [node.iter]
                self.declared.add(ast.unparse(node.target))
            for part in parts:
                for each in ast.walk(part):
                    if isinstance(each, ast.Name) and each.id in self.locals:
                        self._seen(each, node, here)
            for value in self._assigned(node):
                self._valued(*value)
            for each_block in inner:
                self._occurrences(each_block, here)

    def _seen(self, name: ast.Name, node: ast.stmt, here: list[list[ast.stmt]]) -> None:
        local = self.locals[name.id]
        if isinstance(name.ctx, ast.Store):
            local.times += 1
        if local.block is None:
            local.block = here
        else:
            shared = [a for a, b in zip(local.block, here, strict=False) if a is b]
            local.block = shared

    def _assigned(self, node: ast.stmt) -> list[tuple[ast.expr, ast.expr]]:
        if not isinstance(node, ast.Assign):
            return []
        target = node.targets[0]
        if isinstance(target, ast.Tuple) and isinstance(node.value, ast.Tuple):
            return list(zip(target.elts, node.value.elts, strict=True))
        return [(target, node.value)]

    def _valued(self, target: ast.expr, value: ast.expr) -> None:
        if isinstance(target, ast.Name):
            if isinstance(value, (ast.Name, ast.Attribute)):
                self.locals[target.id].views += 1
            else:
                self.locals[target.id].made += 1

    def _forms(self) -> None:
        for name, kind in self.found.names.items():
            local = self.locals[name]
            if not isinstance(kind, (Structure, Row)) or not local.views:
                continue
            small = name not in self.found.arguments and scalars(kind) <= SMALL
            if local.made and small:
                continue
            self.e.pointers.add(name)
            if local.made:
                self.moved.add(name)

    def prototype(self) -> str:
        """The head of the function."""
        parts = [
            f"const {kind.name} *{in_c(name)}" if isinstance(kind, (Structure, Row))
            else f"{c_name(kind)} {in_c(name)}"
            for name, kind in self.found.arguments.items()
        ]
        result = self.found.result
        if isinstance(result, Several):
            each = zip(result.each, ORDINALS, strict=False)
            parts += [f"{kind.c_name} *{name}" for kind, name in each]
            given = "void"
        else:
            given = c_name(result)
        lead = "static " if self.own else ""
        name = self.names[self.found.symbol]
        return f"{lead}{given} {name}({', '.join(parts) or 'void'})"

    def text(self) -> list[str]:
        """The whole function, with its words before it."""
        words = ast.get_docstring(self.found.node) or ""
        self.lines = [*comment(words), *wrapped(self.prototype()), "{"]
        for name in sorted(self.moved):
            if not self._moves_once_at_the_top(name):
                self.lines.append(f"{STEP}{c_name(self.found.names[name])} new_{name};")
        self._block(self.body, 1)
        if self.lines[-1].strip() == "return;":
            del self.lines[-1]
        return [*self.lines, "}"]

    def _moves_once_at_the_top(self, name: str) -> bool:
        values = [
            value for node in self.body for target, value in self._assigned(node)
            if isinstance(target, ast.Name) and target.id == name
        ]
        made = [value for value in values if not isinstance(value, (ast.Name, ast.Attribute))]
        return len(made) == 1 == self.locals[name].made

    def _say(self, text: str, indent: int) -> None:
        for line in self.e.before:
            self.lines += wrapped(line, indent)
        self.e.before = []
        self.lines += wrapped(text, indent)

    def _comments(self, node: ast.stmt, indent: int) -> None:
        words = [
            self.found.source.comments[line] for line in range(self.said, node.lineno)
            if line in self.found.source.comments
        ]
        self.lines += comment("\n".join(words), indent)
        self.said = node.lineno

    def _block(self, block: list[ast.stmt], indent: int) -> None:
        for node in block:
            self._comments(node, indent)
            self._declare_before(node, block, indent)
            match node:
                case ast.Assign():
                    self._assign(node, block, indent)
                case ast.AugAssign():
                    self._change(node, indent)
                case ast.If():
                    self._if(node, indent)
                case ast.For():
                    self._for(node, indent)
                case ast.Return():
                    self._return(node, indent)

    def _declare_before(self, node: ast.stmt, block: list[ast.stmt], indent: int) -> None:
        """Names that begin in a statement, but not by being assigned in it, in this very block."""
        direct = {
            target.id for target, _ in self._assigned(node) if isinstance(target, ast.Name)
        }
        if isinstance(node, ast.Assign) and not isinstance(node.value, ast.Tuple):
            target = node.targets[0]
            if isinstance(target, ast.Tuple) and not isinstance(
                self.found.kinds[node.value], Several
            ):
                direct |= {each.id for each in target.elts if isinstance(each, ast.Name)}
        for each in ast.walk(node):
            if not isinstance(each, ast.Name) or each.id not in self.locals:
                continue
            name = each.id
            if name in self.declared or name in direct:
                continue
            found = self.locals[name].block
            if found and found[-1] is block:
                self.declared.add(name)
                self.lines += wrapped(f"{self._declaration(name)};", indent)

    def _declaration(self, name: str) -> str:
        kind = self.found.names[name]
        star = f"const {c_name(kind)} *" if name in self.e.pointers else f"{c_name(kind)} "
        return star + in_c(name)

    def _assign(self, node: ast.Assign, block: list[ast.stmt], indent: int) -> None:
        target, value = node.targets[0], node.value
        if isinstance(target, ast.Tuple):
            if isinstance(value, ast.Tuple):
                for place, each in self._in_turn(node):
                    self._put(place.id, each, block, indent)
            elif isinstance(self.found.kinds[value], Several):
                self._several(target, value, indent)
            else:
                self._take_apart(target, value, block, indent)
        elif isinstance(target, ast.Name):
            self._put(target.id, value, block, indent)

    def _in_turn(self, node: ast.Assign) -> list[tuple[ast.Name, ast.expr]]:
        """Assignments that Python does at once, so that none takes what another has written."""
        left = [(a, b) for a, b in self._assigned(node) if isinstance(a, ast.Name)]
        turns: list[tuple[ast.Name, ast.expr]] = []
        while left:
            for pair in left:
                others = [value for place, value in left if place is not pair[0]]
                if not any(reads(value, pair[0].id) for value in others):
                    turns.append(pair)
                    left.remove(pair)
                    break
            else:
                self.found.refuse(node, "values that change places", "one name at a time")
        return turns

    def _put(self, name: str, value: ast.expr, block: list[ast.stmt], indent: int) -> None:
        kind = self.found.names[name]
        view = isinstance(value, (ast.Name, ast.Attribute))
        if name in self.moved and not view:
            if self._moves_once_at_the_top(name):
                self._say_made(f"const {c_name(kind)} new_{name} = ", value, kind, indent, first=True)
            else:
                self._say_made(f"new_{name} = ", value, kind, indent, first=False)
            text = f"&new_{name};"
        elif name in self.e.pointers:
            text = f"{self.e.address(value)};"
        else:
            text = ""
        first = name not in self.declared
        if first:
            self.declared.add(name)
        if text:
            lead = self._declaration(name) if first else in_c(name)
            self._say(f"{lead} = {text}", indent)
            return
        lead = in_c(name)
        if first:
            const = "const " if self.locals[name].times == 1 else ""
            lead = const + self._declaration(name)
        self._say_made(f"{lead} = ", value, kind, indent, first=first)

    def _say_made(
        self, lead: str, value: ast.expr, kind: Kind, indent: int, *, first: bool
    ) -> None:
        """``lead`` and a value; a structure field by field where a line is too short for it."""
        if isinstance(kind, (Structure, Row)) and self.e.builds(value):
            cast = "" if first else f"({kind.name})"
            self._say_built(lead + cast, value, indent)
        else:
            self._say(f"{lead}{self.e.text(value).c};", indent)

    def _say_built(self, lead: str, value: ast.expr, indent: int) -> None:
        braces = self.e.braces(value)
        if len(STEP) * indent + len(lead) + len(braces) + 1 <= WIDTH:
            self._say(f"{lead}{braces};", indent)
            return
        self._say(f"{lead}{{", indent)
        self._fields(value, indent + 1)
        self.lines += wrapped("};", indent)

    def _fields(self, value: ast.expr, indent: int) -> None:
        if isinstance(value, ast.Tuple):
            self.lines += wrapped(".at = {", indent)
            for each in value.elts:
                self.lines += wrapped(self.e.text(each).c + ",", indent + 1)
            self.lines += wrapped("},", indent)
            return
        kind = self.found.kinds[value]
        if not isinstance(value, ast.Call) or not isinstance(kind, Structure):
            return
        given = dict(zip((name for name, _ in kind.fields), value.args, strict=False))
        given.update({str(each.arg): each.value for each in value.keywords})
        for name, _ in kind.fields:
            if self.e.builds(given[name]):
                self.lines += wrapped(f".{in_c(name)} = {{", indent)
                self._fields(given[name], indent + 1)
                self.lines += wrapped("},", indent)
            else:
                self.lines += wrapped(f".{in_c(name)} = {self.e.text(given[name]).c},", indent)

    def _several(self, target: ast.Tuple, value: ast.expr, indent: int) -> None:
        if not isinstance(value, ast.Call):
            self.found.refuse(value, "several results of something else", "a call")
        symbol = self.found.elsewhere(value.func)
        if symbol is None:
            self.found.refuse(value, "a call without a translation", "a function")
        places = [f"&{in_c(each.id)}" for each in target.elts if isinstance(each, ast.Name)]
        given = ", ".join([self.e.arguments(value, symbol), *places])
        self._say(f"{self.names[symbol]}({given});", indent)

    def _take_apart(
        self, target: ast.Tuple, value: ast.expr, block: list[ast.stmt], indent: int
    ) -> None:
        kind = self.found.kinds[value]
        where = self.e.text(value).c
        where = f"{where[1:]}->" if where.startswith("*") else f"{where}."
        parts = (
            [in_c(name) for name, _ in kind.fields] if isinstance(kind, Structure)
            else [f"at[{place}]" for place in range(kind.size)] if isinstance(kind, Row) else []
        )
        for place, part in zip(target.elts, parts, strict=True):
            if isinstance(place, ast.Name) and place.id != "_":
                first = place.id not in self.declared
                self.declared.add(place.id)
                const = "const " if self.locals[place.id].times == 1 else ""
                lead = const + self._declaration(place.id) if first else in_c(place.id)
                self._say(f"{lead} = {where}{part};", indent)

    def _change(self, node: ast.AugAssign, indent: int) -> None:
        if not isinstance(node.target, ast.Name):
            return
        text = self.e.text(node.value)
        if text.c == "0U" and isinstance(node.op, ast.BitOr):
            return
        name, written = node.target.id, in_c(node.target.id)
        sign = {ast.BitOr: "|", ast.BitAnd: "&", ast.BitXor: "^"}.get(type(node.op))
        if sign:
            self._say(f"{written} {sign}= {text.c};", indent)
            return
        load = ast.Name(name, ast.Load())
        self.found.kinds[load] = self.found.names[name]
        whole = ast.BinOp(load, node.op, node.value)
        self.found.kinds[whole] = self.found.names[name]
        self._say(f"{written} = {self.e.text(whole).c};", indent)

    def _if(self, node: ast.If, indent: int) -> None:
        lead = "if"
        while True:
            test = self.e.truth(node.test).c
            if self.e.before:
                self.found.refuse(node.test, "a structure made within a condition",
                                  "a name for it, before the if")
            self.lines += wrapped(f"{lead} ({test}) {{", indent)
            self._block(node.body, indent + 1)
            rest = node.orelse
            elif_next = (
                len(rest) == 1 and isinstance(rest[0], ast.If)
                and rest[0].col_offset == node.col_offset
            )
            if not elif_next:
                break
            node, lead = rest[0], "} else if"  # type: ignore[assignment]
            self._comments(node, indent)
        if node.orelse:
            self.lines += wrapped("} else {", indent)
            self._block(node.orelse, indent + 1)
        self.lines += wrapped("}", indent)

    def _for(self, node: ast.For, indent: int) -> None:
        name = ast.unparse(node.target)
        written = in_c(name)
        called = node.iter
        ends = list(called.args) if isinstance(called, ast.Call) else []
        texts = [self.e.text(end).c for end in ends]
        down = len(texts) == 3 and texts[2].startswith("-")
        start, stop = ("0", texts[0]) if len(texts) == 1 else (texts[0], texts[1])
        sign, step = (">", "--") if down else ("<", "++")
        kind = c_name(self.found.names[name])
        head = f"{kind} {written} = {start}; {written} {sign} {stop}; {written}{step}"
        self._say(f"for ({head}) {{", indent)
        self._block(node.body, indent + 1)
        self.lines += wrapped("}", indent)

    def _return(self, node: ast.Return, indent: int) -> None:
        value, result = node.value, self.found.result
        if value is None:
            return
        if isinstance(result, Several) and isinstance(value, ast.Tuple):
            for each, name in zip(value.elts, ORDINALS, strict=False):
                self._say(f"*{name} = {self.e.text(each).c};", indent)
            self._say("return;", indent)
        elif isinstance(result, (Structure, Row)) and self.e.builds(value):
            self._say_built(f"return ({result.name})", value, indent)
        else:
            self._say(f"return {self.e.text(value).c};", indent)


def reads(value: ast.expr, name: str) -> bool:
    """Whether an expression takes a name's value."""
    return any(isinstance(each, ast.Name) and each.id == name for each in ast.walk(value))


def c_name(kind: Kind) -> str:
    """The name of a kind in C."""
    if isinstance(kind, (Structure, Row)):
        return kind.name
    return getattr(kind, "c_name", "void")


__all__ = ["Compound", "Function", "Whole", "c_name"]
