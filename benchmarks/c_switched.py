"""The C core with all changes in it at once, of which a number switches one on.

Every changed function stands there as often as it has changes; a head of its old name asks the
number and calls one. Named numbers become a look into a list, tables can be overwritten.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from benchmarks.c_changes import FUNCTION, NAMED_NUMBER, TABLE, Change

NUMBER = "int MUTANT;\n"
DECLARED = "#include <string.h>\nextern int MUTANT;\n"
ARGUMENT = re.compile(r"\w+(?=\s*(?:\[|$))")
SIZE = re.compile(r"\[(\d+)\] = ")


class Switched:
    """One file."""

    def __init__(self, name: str, text: str, numbered: Iterable[tuple[int, Change]]) -> None:
        self.name, self.was = name, text
        self.numbered = [pair for pair in numbered if pair[1].file == name]
        self.choosers: list[str] = []
        """Functions that overwrite a table."""

    def within(self, start: int, end: int) -> list[tuple[int, Change]]:
        return [(n, each) for n, each in self.numbered if start <= each.start and each.end <= end]

    def text(self) -> str:
        """The file with everything in it."""
        edits = [
            *((m.span(), self.named(m)) for m in NAMED_NUMBER.finditer(self.was)),
            *((m.span(), self.table(m)) for m in TABLE.finditer(self.was)),
            *((m.span(), self.function(m)) for m in FUNCTION.finditer(self.was)),
        ]
        parts, at = [], 0
        for (start, end), instead in sorted(edits):
            parts += [self.was[at:start], instead]
            at = end
        parts.append(self.was[at:])
        whole = re.sub(r"^extern const (?!char)", "extern ", "".join(parts), flags=re.MULTILINE)
        if self.name.endswith(".c"):
            return DECLARED + whole
        return whole.replace('#include "numbers.h"\n', f'#include "numbers.h"\n{DECLARED}', 1) \
            if self.name != "numbers.h" else whole.replace("\n\n", f"\n{DECLARED}\n", 1)

    def piece(self, change: Change, start: int, end: int) -> str:
        """A piece of the file with one change in it."""
        return self.was[start : change.start] + change.text + self.was[change.end : end]

    def pieces(self, changes: list[tuple[int, Change]], start: int, end: int) -> list[str]:
        """A piece with each change from the first number to the last; as it is where none is."""
        some = dict(changes)
        return [
            self.piece(some[number], start, end) if number in some else self.was[start:end]
            for number in range(changes[0][0], changes[-1][0] + 1)
        ]

    def named(self, found: re.Match[str]) -> str:
        changes = self.within(*found.span(2))
        if not changes:
            return found.group()
        value = found.group(2)
        kind = "uint64_t" if "UINT64_C" in value else "int64_t" if "INT64_C" in value else "double"
        name, first, last = found.group(1), changes[0][0], changes[-1][0]
        listed = ", ".join(self.pieces(changes, *found.span(2)))
        return (
            f"static const {kind} {name}__[] = {{{listed}}};\n"
            f"#define {name} ((MUTANT >= {first} && MUTANT <= {last}) "
            f"? {name}__[MUTANT - {first}] : ({value}))"
        )

    def table(self, found: re.Match[str]) -> str:
        changes = self.within(*found.span(3))
        plain = found.group().replace("const ", "", 1)
        if not changes:
            return plain
        kind, name, first, last = found.group(1), found.group(2), changes[0][0], changes[-1][0]
        size = SIZE.search(found.group())
        each = f"[{size.group(1)}]" if size else ""
        pieces = [found.group(3), *self.pieces(changes, *found.span(3))]
        listed = ",\n".join("{" + piece + "}" for piece in pieces)
        self.choosers.append(f"choose_{name}")
        return (
            f"{plain}\nvoid choose_{name}(void);\nvoid choose_{name}(void)\n{{\n"
            f"    static const {kind} made[]{each} = {{{listed}}};\n"
            f"    int at = (MUTANT >= {first} && MUTANT <= {last}) ? MUTANT - {first - 1} : 0;\n"
            f"    memcpy(&{name}, &made[at], sizeof made[0]);\n}}\n"
        )

    def function(self, found: re.Match[str]) -> str:
        changes = self.within(*found.span(4))
        if not changes:
            return found.group()
        result, name, given = found.group(1), found.group(2), found.group(3)
        arguments = ", ".join(
            ARGUMENT.findall(each)[-1] for each in given.split(",") if each.strip() != "void"
        )
        head = self.was[found.start() : found.start(4)]
        copies = [self.copy(found, 0, found.group(4) + "}")]
        cases = []
        back = "" if result == "void" else "return "
        for number, change in changes:
            copies.append(self.copy(found, number, self.piece(change, found.start(4), found.end())))
            cases.append(f"    case {number}: {back}{name}__{number}({arguments}); "
                         f"{'return;' if not back else ''}\n")  # fmt: skip
        return (
            "\n".join(copies) + f'\n#line 1 "{self.name}"\n{head}    switch (MUTANT) {{\n'
            + "".join(cases) + f"    default: {back}{name}__0({arguments});\n    }}\n}}"
        )

    def copy(self, found: re.Match[str], number: int, body: str) -> str:
        head = self.was[found.start() : found.start(4)]
        head = head.replace(f" {found.group(2)}(", f" {found.group(2)}__{number}(", 1)
        lead = "" if head.startswith("static") else "static "
        return f'#line 1 "mutant_{number}"\n{lead}{head}{body}'


def switched(
    texts: dict[str, str], numbered: list[tuple[int, Change]], unchanged: set[str]
) -> dict[str, str]:
    """All files; those unchanged as they are. ``choose`` sets the number and the tables."""
    files, choosers = {}, []
    for name, text in texts.items():
        if name in unchanged:
            files[name] = text
            continue
        one = Switched(name, text, numbered)
        files[name] = one.text()
        choosers += one.choosers
    heads = "".join(f"void {name}(void);\n" for name in choosers)
    calls = "".join(f"    {name}();\n" for name in choosers)
    files["switched.c"] = (
        f"{NUMBER}{heads}void choose(int number);\nvoid choose(int number)\n{{\n"
        f"    MUTANT = number;\n{calls}}}\n"
    )
    return files
