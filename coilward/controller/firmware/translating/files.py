"""The files of the core: one header and one source a module, of the same name."""

from __future__ import annotations

import ast

from coilward.controller.firmware.translating.kinds import (
    FLOAT,
    TRUTH,
    Kind,
    Row,
    Structure,
    Table,
    Whole,
    c_name,
)
from coilward.controller.firmware.translating.naming import (
    IS_FINITE,
    IS_KNOWN,
    MAGNITUDE,
    NOT_KNOWN,
    in_c,
    names_of,
)
from coilward.controller.firmware.translating.program import Program
from coilward.controller.firmware.translating.sources import Symbol, words_below
from coilward.controller.firmware.translating.statements import Function
from coilward.controller.firmware.translating.wrapping import STEP, comment, wrapped

MADE = "Made by `python -m coilward.controller.firmware` from {file}; don't edit."
NUMBERS = f"""\
/* Made by `python -m coilward.controller.firmware`; don't edit. */
#ifndef NUMBERS_H
#define NUMBERS_H

/* What every file of the core counts with: floats are doubles, masks are unsigned. */
#include <stdbool.h>
#include <stdint.h>

/* A reading that is not known. Every comparison with it is false. */
#define {NOT_KNOWN} (0.0 / 0.0)
/* A limit that nothing reaches. */
#define NO_LIMIT (1.0 / 0.0)

/* A double as its bits: sign, 11 of an exponent, 52 of a fraction. */
typedef union {{
    double number;
    uint64_t bits;
}} Double;

/* A number without its sign; what is not known stays so. */
static inline double {MAGNITUDE}(double number)
{{
    Double found = {{.number = number}};
    found.bits &= UINT64_C(0x7fffffffffffffff);
    return found.number;
}}

/* What in Python is a number that equals itself. */
static inline bool {IS_KNOWN}(double number)
{{
    const Double found = {{.number = magnitude(number)}};
    return found.bits <= UINT64_C(0x7ff0000000000000);
}}

/* Neither infinite nor not known. */
static inline bool {IS_FINITE}(double number)
{{
    const Double found = {{.number = number}};
    return (found.bits & UINT64_C(0x7ff0000000000000)) != UINT64_C(0x7ff0000000000000);
}}

#endif
"""


class Files:
    """Writes a program."""

    def __init__(self, program: Program) -> None:
        """Names are given to everything first."""
        self.program = program
        self.names = names_of((*program.functions, *program.constants))

    def written(self) -> dict[str, str]:
        """File name to text, of everything."""
        files = {"numbers.h": NUMBERS}
        for dotted in self.program.modules():
            short = dotted.rpartition(".")[2]
            files[f"{short}.h"] = self.header(dotted)
            source = self.source(dotted)
            if source:
                files[f"{short}.c"] = source
        return files

    def _head(self, dotted: str) -> list[str]:
        return comment(MADE.format(file=self.program.sources.read[dotted].file))

    def _functions(self, dotted: str) -> list[Function]:
        order = list(self.program.sources.read[dotted].functions)
        found = [
            Function(inferred, self.names, own=not self._is_public(symbol))
            for symbol, inferred in self.program.functions.items() if symbol.module == dotted
        ]
        return sorted(found, key=lambda each: order.index(each.found.symbol.name))

    def _is_public(self, symbol: Symbol) -> bool:
        return symbol in self.program.roots or self.program.called_from_elsewhere(symbol)

    def _constants(self, dotted: str) -> list[tuple[Symbol, Kind]]:
        order = list(self.program.sources.read[dotted].constants)
        found = [pair for pair in self.program.constants.items() if pair[0].module == dotted]
        return sorted(found, key=lambda pair: order.index(pair[0].name))

    def header(self, dotted: str) -> str:
        """Constants, structures and the functions that others call."""
        short = dotted.rpartition(".")[2]
        guard = f"{short.upper()}_H"
        source = self.program.sources.read[dotted]
        lines = [*self._head(dotted), f"#ifndef {guard}", f"#define {guard}", ""]
        lines += comment(source.words)
        body: list[str] = []
        needs: set[str] = set()
        constants = [pair for pair in self._constants(dotted) if not isinstance(pair[1], Table)]
        made = [pair for pair in constants if homes(pair[1])]
        for symbol, kind in constants:
            if (symbol, kind) not in made:
                value = literal(self.program.sources.value(symbol), kind)
                body += comment(source.constants[symbol.name])
                body.append(f"#define {self.names[symbol]} {value}")
        for name, kind in self._structures(dotted):
            body += ["", *self._structure(dotted, name, kind)]
            if isinstance(kind, Structure):
                for _, each in kind.fields:
                    needs |= homes(each)
        for symbol, kind in made:
            needs |= homes(kind)
            body += ["", *comment(source.constants[symbol.name])]
            body.append(f"extern const {c_name(kind)} {self.names[symbol]};")
        public = [each for each in self._functions(dotted) if not each.own]
        for function in public:
            for kind in (*function.found.arguments.values(), function.found.result):
                needs |= homes(kind)
            body += ["", *wrapped(function.prototype() + ";")]
        lines += includes(needs - {dotted})
        return "\n".join([*lines, "", *trimmed(body), "", "#endif", ""])

    def _structures(self, dotted: str) -> list[tuple[str, Structure | Row]]:
        source = self.program.sources.read[dotted]
        order = [*source.constants, *source.classes]
        found = [
            (name, kind) for (module, name), kind in self.program.compounds.items()
            if module == dotted
        ]
        return sorted(found, key=lambda pair: order.index(pair[0]))

    def _structure(self, dotted: str, name: str, kind: Structure | Row) -> list[str]:
        source = self.program.sources.read[dotted]
        if isinstance(kind, Row):
            inner = [f"{STEP}{kind.each.c_name} at[{kind.size}];"]
            return [*comment(source.constants[name]), "typedef struct {", *inner, f"}} {name};"]
        node = source.classes[name]
        words = {
            each.target.id: words_below(node.body, at) for at, each in enumerate(node.body)
            if isinstance(each, ast.AnnAssign) and isinstance(each.target, ast.Name)
        }
        inner = []
        for field, each_kind in kind.fields:
            inner += [*comment(words[field], 1), f"{STEP}{c_name(each_kind)} {in_c(field)};"]
        lead = comment(ast.get_docstring(node) or "")
        return [*lead, "typedef struct {", *inner, f"}} {name};"]

    def source(self, dotted: str) -> str:
        """Tables, structures that are constants, and the functions; empty without any."""
        short = dotted.rpartition(".")[2]
        functions = self._functions(dotted)
        body: list[str] = []
        for symbol, kind in self._constants(dotted):
            value, name = self.program.sources.value(symbol), self.names[symbol]
            words = self.program.sources.read[dotted].constants[symbol.name]
            if isinstance(kind, (Structure, Row)):
                text = f"const {kind.name} {name} = {value_text(value, kind)};"
                body += ["", *wrapped(text)]
            elif isinstance(kind, Table):
                numbers = ", ".join(f"{one}U" for one in value)
                text = f"static const {narrowest(value)} {name}[{len(value)}] = {{{numbers}}};"
                body += ["", *comment(words), *wrapped(text)]
        texts = [(each, each.text()) for each in functions]
        ahead = [each.prototype() + ";" for each, _ in texts if each.own and self._is_ahead(each)]
        for line in ahead:
            body += ["", *wrapped(line)]
        for _, written in texts:
            body += ["", *written]
        if not body:
            return ""
        used = {each.module for function in functions for each in function.found.used}
        lines = [*self._head(dotted), f'#include "{short}.h"', *includes(used - {dotted})]
        return "\n".join([*lines, *body, ""])

    def _is_ahead(self, function: Function) -> bool:
        symbol = function.found.symbol
        order = list(self.program.sources.read[symbol.module].functions)
        return any(
            symbol in found.used and order.index(other.name) < order.index(symbol.name)
            for other, found in self.program.functions.items() if other.module == symbol.module
        )


def homes(kind: Kind) -> set[str]:
    """The module in whose header a kind stands, if in any."""
    return {kind.module} if isinstance(kind, (Structure, Row)) else set()


def includes(modules: set[str]) -> list[str]:
    """The headers of these modules, and the numbers."""
    names = sorted(each.rpartition(".")[2] for each in modules)
    return ['#include "numbers.h"', *[f'#include "{name}.h"' for name in names]]


def trimmed(lines: list[str]) -> list[str]:
    """Without empty lines at the ends."""
    return "\n".join(lines).strip("\n").split("\n")


def narrowest(values: tuple[int, ...]) -> str:
    """The smallest type that holds a table's numbers, of which none is negative."""
    bits = next(bits for bits in (8, 16, 32, 64) if max(values) < 1 << bits)
    return f"uint{bits}_t"


def literal(value: object, kind: Kind) -> str:
    """A number as a constant of its own type, in every digit that it has."""
    if kind is FLOAT and isinstance(value, float):
        if value != value:
            return NOT_KNOWN
        if value - value != 0.0:
            return "NO_LIMIT" if value > 0.0 else "(-NO_LIMIT)"
        return repr(value) if value >= 0.0 else f"({value!r})"
    if kind is TRUTH:
        return "true" if value else "false"
    if isinstance(kind, Whole) and isinstance(value, int):
        if kind.is_mask:
            return f"UINT64_C(0x{value:x})"
        return f"INT64_C({value})" if value >= 0 else f"(-INT64_C({-value}))"
    raise TypeError(f"{value!r} is no number")


def value_text(value: object, kind: Kind) -> str:
    """A structure or a row as an initialiser."""
    if isinstance(kind, Structure):
        parts = [
            f".{in_c(name)} = {value_text(getattr(value, name), each)}"
            for name, each in kind.fields
        ]
        return "{" + ", ".join(parts) + "}"
    if isinstance(kind, Row) and isinstance(value, tuple):
        return "{.at = {" + ", ".join(literal(each, kind.each) for each in value) + "}}"
    return literal(value, kind)
