"""A function in C: the same statements in the same order, each name declared where it begins.

A structure that is only looked at is a pointer to where it lies. One that is looked at first and
made anew later is a pointer too, which moves on to the new one. A large result is written field
by field to where the caller wants it.
"""

from __future__ import annotations

import ast

from coilward.controller.firmware.translating.expressions import Expressions, given_fields
from coilward.controller.firmware.translating.inferring import Inferring
from coilward.controller.firmware.translating.kinds import (
    ORDINALS,
    Kind,
    Row,
    Several,
    Structure,
    c_name,
    is_compound,
    is_large,
)
from coilward.controller.firmware.translating.locals import (
    Block,
    Locals,
    assigned,
    is_view,
    reads,
)
from coilward.controller.firmware.translating.naming import in_c
from coilward.controller.firmware.translating.sources import Symbol
from coilward.controller.firmware.translating.wrapping import STEP, WIDTH, comment, wrapped

AS_IT_WAS = "All stays as it is."
"""What stands in the ``else`` that C's coding rules want where Python has none."""
BITS = {ast.BitOr: "|", ast.BitAnd: "&", ast.BitXor: "^"}


class Function:
    """Writes one function."""

    def __init__(self, found: Inferring, names: dict[Symbol, str], own: bool) -> None:
        """What was inferred; ``own`` for one that no other module calls."""
        self.found = found
        self.names = names
        self.own = own
        self.locals = Locals(found)
        self.e = Expressions(found, names)
        self.e.pointers = self.locals.pointers
        self.lines: list[str] = []
        self.declared = set(found.arguments) | self.locals.counters
        self.said = found.node.body[0].end_lineno or found.node.lineno

    def prototype(self) -> str:
        """The head of the function."""
        parts = [
            f"const {c_name(kind)} *{in_c(name)}" if is_compound(kind)
            else f"{c_name(kind)} {in_c(name)}"
            for name, kind in self.found.arguments.items()
        ]
        result, given = self.found.result, "void"
        if isinstance(result, Several):
            each = zip(result.each, ORDINALS, strict=False)
            parts += [f"{kind.c_name} *{name}" for kind, name in each]
        elif is_large(result):
            parts.append(f"{c_name(result)} *out")
        else:
            given = c_name(result)
        lead = "static " if self.own else ""
        return f"{lead}{given} {self.names[self.found.symbol]}({', '.join(parts) or 'void'})"

    def text(self) -> list[str]:
        """The whole function, with its words before it."""
        words = ast.get_docstring(self.found.node) or ""
        self.lines = [*comment(words), *wrapped(self.prototype()), "{"]
        for name, place in self.locals.moved.items():
            if name not in self.locals.places and not self._made_once_on_top(name):
                self.lines.append(f"{STEP}{c_name(self.found.names[name])} {place};")
        self._block(self.locals.body, 1)
        if self.lines[-1].strip() == "return;":
            del self.lines[-1]
        return [*self.lines, "}"]

    def _made_once_on_top(self, name: str) -> bool:
        local = self.locals.each[name]
        return local.made == local.made_on_top == 1

    def _say(self, text: str, indent: int) -> None:
        for line in self.e.before:
            self.lines += wrapped(line, indent)
        self.e.before = []
        self.lines += wrapped(text, indent)

    def _space_and_comments(self, node: ast.stmt, indent: int) -> None:
        """Empty lines and comments as they stand before a statement."""
        source = self.found.source
        between = range(self.said + 1, node.lineno)
        if any(line in source.empty for line in between) and self.lines[-1] != "{":
            self.lines.append("")
        words = [source.comments[line] for line in between if line in source.comments]
        self.lines += comment("\n".join(words), indent)
        self.said = node.lineno

    def _block(self, block: Block, indent: int) -> None:
        for node in block:
            self._space_and_comments(node, indent)
            self._declare_before(node, block, indent)
            match node:
                case ast.Assign():
                    self._assign(node, indent)
                case ast.AugAssign():
                    self._change(node, indent)
                case ast.If():
                    self._if(node, indent)
                case ast.For():
                    self._for(node, indent)
                case ast.Return():
                    self._return(node, indent)
            self.said = max(self.said, node.end_lineno or 0)

    def _declare_before(self, node: ast.stmt, block: Block, indent: int) -> None:
        """Names that begin in a statement, but not by being assigned in it, in this very block."""
        direct = {target.id for target, _ in assigned(node) if isinstance(target, ast.Name)}
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Tuple):
            taken = not isinstance(node.value, ast.Tuple)
            if taken and not isinstance(self.found.kinds[node.value], Several):
                direct |= {ast.unparse(each) for each in node.targets[0].elts}
        for each in ast.walk(node):
            if isinstance(each, ast.Name) and each.id in self.found.names:
                begins = self.locals.begins_in(each.id, block)
                if begins and each.id not in self.declared | direct:
                    self.declared.add(each.id)
                    self.lines += wrapped(f"{self._declaration(each.id)};", indent)

    def _declaration(self, name: str) -> str:
        kind = c_name(self.found.names[name])
        return (f"const {kind} *" if name in self.e.pointers else f"{kind} ") + in_c(name)

    def _left(self, name: str) -> str:
        """A name to be assigned to, with its kind where it begins."""
        if name in self.declared:
            return in_c(name)
        self.declared.add(name)
        const = self.locals.each[name].times == 1 and name not in self.e.pointers
        return ("const " if const else "") + self._declaration(name)

    def _assign(self, node: ast.Assign, indent: int) -> None:
        target, value = node.targets[0], node.value
        if isinstance(target, ast.Name):
            self._put(target.id, value, indent)
        elif isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
            for place, each in self._in_turn(node):
                self._put(place.id, each, indent)
        elif isinstance(target, ast.Tuple):
            kind = self.found.kinds[value]
            if isinstance(kind, Several):
                places = [f"&{in_c(ast.unparse(each))}" for each in target.elts]
                self._say(f"{self.e.call_into(value, *places)};", indent)
            else:
                self._take_apart(target, value, kind, indent)

    def _in_turn(self, node: ast.Assign) -> list[tuple[ast.Name, ast.expr]]:
        """Assignments that Python does at once, so that none takes what another has written."""
        left = [(a, b) for a, b in assigned(node) if isinstance(a, ast.Name)]
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

    def _put(self, name: str, value: ast.expr, indent: int) -> None:
        """One assignment of one name."""
        kind = self.found.names[name]
        if name in self.e.pointers:
            if is_view(value):
                place = self.e.address(value)
            else:
                place = f"&{self.locals.moved[name]}"
                self._make(name, self.locals.moved[name], value, kind, indent)
                if not self.locals.is_read_after(name, value):
                    self.declared.add(name)
                    return
            self._say(f"{self._left(name)} = {place};", indent)
        elif is_compound(kind) and not is_view(value):
            if name in self.declared and self.e.builds(value):
                self._fill(f"{in_c(name)}.", value, indent)
            else:
                self._make(name, in_c(name), value, kind, indent)
        else:
            text = self.e.text(value).c
            self._say(f"{self._left(name)} = {text};", indent)

    def _make(self, name: str, place: str, value: ast.expr, kind: Kind, indent: int) -> None:
        """A new structure at its place, which is declared where it isn't yet."""
        own = name not in self.e.pointers
        fresh = name not in self.declared if own else (
            name not in self.locals.places and self._made_once_on_top(name)
        )
        if own:
            self.declared.add(name)
        if is_large(kind) and not self.e.builds(value):
            if reads(value, name) and own:
                self.found.refuse(value, "a structure made of its own self", "a new name")
            if fresh:
                self._say(f"{c_name(kind)} {place};", indent)
            self._say(f"{self.e.call_into(value, f'&{place}')};", indent)
        elif self.e.builds(value) and not fresh:
            self._fill(f"{place}.", value, indent)
        else:
            const = own and self.locals.each[name].times > 1
            lead = f"{'' if const else 'const '}{c_name(kind)} {place}" if fresh else place
            if self.e.builds(value):
                self._build(f"{lead} = ", value, indent)
            else:
                self._say(f"{lead} = {self.e.text(value).c};", indent)

    def _fill(self, lead: str, value: ast.expr, indent: int) -> None:
        """A structure, field by field."""
        if isinstance(value, ast.Tuple):
            for at, each in enumerate(value.elts):
                self._say(f"{lead}at[{at}] = {self.e.text(each).c};", indent)
            return
        kind = self.found.kinds[value]
        if not isinstance(kind, Structure) or not isinstance(value, ast.Call):
            return
        for name, each in given_fields(value, kind).items():
            place = f"{lead}{in_c(name)}"
            if self.e.builds(each):
                self._fill(f"{place}.", each, indent)
            elif isinstance(each, ast.Name) and self.locals.places.get(each.id) == place:
                if not self._made_once_on_top(each.id):
                    self._say(f"{place} = {self.e.text(each).c};", indent)
            elif is_large(self.found.kinds[each]) and not is_view(each):
                self._say(f"{self.e.call_into(each, f'&{place}')};", indent)
            else:
                self._say(f"{place} = {self.e.text(each).c};", indent)

    def _build(self, lead: str, value: ast.expr, indent: int) -> None:
        """A structure as an initialiser, a line a field where one line is too short."""
        braces = self.e.braces(value)
        short = len(STEP) * indent + len(lead) + len(braces) + 1 <= WIDTH
        if short or isinstance(value, ast.Tuple):
            self._say(f"{lead}{braces};", indent)
            return
        self._say(f"{lead}{{", indent)
        self._fields(value, indent + 1)
        self.lines += wrapped("};", indent)

    def _fields(self, value: ast.expr, indent: int) -> None:
        kind = self.found.kinds[value]
        if not isinstance(value, ast.Call) or not isinstance(kind, Structure):
            return
        for name, each in given_fields(value, kind).items():
            if isinstance(each, ast.Call) and self.e.builds(each):
                self.lines += wrapped(f".{in_c(name)} = {{", indent)
                self._fields(each, indent + 1)
                self.lines += wrapped("},", indent)
            else:
                self.lines += wrapped(f".{in_c(name)} = {self.e.text(each).c},", indent)

    def _take_apart(self, target: ast.Tuple, value: ast.expr, kind: Kind, indent: int) -> None:
        where = self.e.text(value).c
        where = f"{where[1:]}->" if where.startswith("*") else f"{where}."
        parts: list[str] = []
        if isinstance(kind, Structure):
            parts = [in_c(name) for name, _ in kind.fields]
        elif isinstance(kind, Row):
            parts = [f"at[{place}]" for place in range(kind.size)]
        for place, part in zip(target.elts, parts, strict=True):
            if isinstance(place, ast.Name) and place.id != "_":
                self._say(f"{self._left(place.id)} = {where}{part};", indent)

    def _change(self, node: ast.AugAssign, indent: int) -> None:
        """``+=`` and the like; nothing where no bits are added."""
        text = self.e.text(node.value)
        name = in_c(ast.unparse(node.target))
        sign = BITS.get(type(node.op))
        if sign == "|" and text.c == "0U":
            return
        if sign:
            self._say(f"{name} {sign}= {text.c};", indent)
        else:
            self._say(f"{name} = {self.e.text(self.found.changed[node]).c};", indent)

    def _if(self, node: ast.If, indent: int) -> None:
        lead = "if"
        while True:
            test = self.e.truth(node.test).c
            if self.e.before:
                self.found.refuse(node.test, "a structure made within a condition",
                                  "a name for it, before the if")
            self.lines += wrapped(f"{lead} ({test}) {{", indent)
            self.said = node.test.end_lineno or node.lineno
            self._block(node.body, indent + 1)
            rest = node.orelse
            if not (len(rest) == 1 and isinstance(rest[0], ast.If)
                    and rest[0].col_offset == node.col_offset):
                break
            node, lead = rest[0], "} else if"
        if node.orelse:
            self.lines += wrapped("} else {", indent)
            self._block(node.orelse, indent + 1)
        elif lead != "if":
            self.lines += [*wrapped("} else {", indent), *comment(AS_IT_WAS, indent + 1)]
        self.lines += wrapped("}", indent)

    def _for(self, node: ast.For, indent: int) -> None:
        name = in_c(ast.unparse(node.target))
        given = node.iter.args if isinstance(node.iter, ast.Call) else []
        ends = [self.e.text(end) for end in given]
        down = len(ends) == 3 and ends[2].c.startswith("-")
        start, stop = ("0", ends[0]) if len(ends) == 1 else (ends[0].c, ends[1])
        sign, step = (">", "--") if down else ("<", "++")
        kind = c_name(self.found.names[ast.unparse(node.target)])
        head = f"{kind} {name} = {start}; {name} {sign} {stop.held}; {name}{step}"
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
        elif is_large(result):
            if self.e.builds(value):
                self._fill("out->", value, indent)
            elif is_view(value):
                self._say(f"*out = {self.e.text(value).c};", indent)
            else:
                self._say(f"{self.e.call_into(value, 'out')};", indent)
            self._say("return;", indent)
        elif self.e.builds(value):
            self._build(f"return ({c_name(result)})", value, indent)
        else:
            self._say(f"return {self.e.text(value).c};", indent)
