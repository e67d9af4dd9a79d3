"""Where in a TOML text each key, each value and each list element stands.

The parser of the standard library keeps no positions. This walk trusts that the text has
already been parsed without error, so it only has to find keys, not to judge them.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from typing import Final, NamedTuple

Path = tuple[str | int, ...]

_DEEPEST: Final = 8
"""More parts than any key of ours has; the rest of a longer one is not followed."""
_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR: Final = re.compile(r"[^,\]}#\n]*[^,\]}#\s]")
_SKIP: Final = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_STRING: Final = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'', re.S
)


class Places(NamedTuple):
    """What stands where in one text; positions are counted from 0, ends are one past the last."""

    lines: dict[Path, int]
    """Line, counted from 1, of every key, table header and element."""
    values: dict[Path, tuple[int, int]]
    """Start and end of every value, of those in lists and between braces too."""
    statements: dict[Path, tuple[int, int]]
    """Start and end of the whole statement, key to last bracket, in which a value stands."""
    homes: dict[Path, Path]
    """Where the keys of a table are written: itself for one with a header or braces, and the
    table around it for one that only dotted keys make."""
    ends: dict[Path, int]
    """End of the header, or of the last statement, of the file's top and of every header."""


def places(text: str) -> dict[Path, int]:
    """Line, counted from 1, of every key, table header and element of a valid TOML text."""
    return mapped(text).lines


def mapped(text: str) -> Places:
    """Everything that has a place in a valid TOML text."""
    walk = _Walk(text)
    walk.document()
    return walk.found


class _Walk:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.breaks = [found.start() for found in re.finditer("\n", text)]
        self.found = Places({}, {}, {}, {(): ()}, {(): 0})
        self.inner: list[Path] = []
        """Values of the statement that is being walked."""
        self.tables: dict[Path, int] = {}
        """How many times each list of tables was opened."""

    def document(self) -> None:
        """All headers and pairs, from the first to the last."""
        table: Path = ()
        self.skip()
        while self.at < len(self.text):
            if self.text.startswith("[[", self.at):
                table = self.header(2)
            elif self.text[self.at] == "[":
                table = self.header(1)
            else:
                self.statement(table)
            self.skip()

    def statement(self, table: Path) -> None:
        """One pair that is not between braces, with all that it holds."""
        start, self.inner = self.at, []
        self.pair(table)
        self.found.ends[table] = self.at
        self.found.statements.update(dict.fromkeys(self.inner, (start, self.at)))

    def header(self, brackets: int) -> Path:
        """[table] or [[table]]; returns where the pairs under it belong."""
        start = self.at
        self.at += brackets
        parts = self.key()
        self.at += brackets
        path: Path = ()
        for part in parts[:-1]:
            self.mark((*path, part), start)
            path = self.inside((*path, part))
        path = (*path, parts[-1])
        self.mark(path, start)
        if brackets == 2:
            self.tables[path] = self.tables.get(path, 0) + 1
            path = self.inside(path)
            self.mark(path, start)
        self.found.homes[path] = path
        self.found.ends[path] = self.at
        return path

    def inside(self, path: Path) -> Path:
        """The newest element, where the path is a list of tables."""
        return (*path, self.tables[path] - 1) if path in self.tables else path

    def pair(self, table: Path) -> None:
        """key = value, in a table or between braces."""
        start = self.at
        path = table
        for part in self.key():
            if path != table:
                self.found.homes.setdefault(path, table)
            path = (*path, part)
            self.mark(path, start)
        self.at += 1  # the equals sign
        self.skip()
        self.value(path)

    def key(self) -> list[str]:
        """The parts of a key, bare or quoted, between dots."""
        parts: list[str] = []
        while True:
            self.skip()
            quoted = _STRING.match(self.text, self.at)
            found = quoted or _BARE.match(self.text, self.at)
            if found is None:  # not TOML after all
                self.at = len(self.text)
                return parts or [""]
            parts.append(found[0][1:-1] if quoted else found[0])
            self.at = found.end()
            self.skip()
            if not self.text.startswith(".", self.at):
                return parts[:_DEEPEST]
            self.at += 1

    def value(self, path: Path) -> None:
        """Past one value; what it holds is marked on the way."""
        start, opening = self.at, self.text[self.at : self.at + 1]
        if opening == "[":
            self.items(path, "]")
        elif opening == "{":
            self.found.homes[path] = path
            self.items(path, "}")
        else:
            found = _STRING.match(self.text, self.at) or _SCALAR.match(self.text, self.at)
            self.at = found.end() if found else len(self.text)
        self.found.values[path] = (start, self.at)
        self.inner.append(path)

    def items(self, path: Path, closing: str) -> None:
        """The elements between brackets, or the pairs between braces."""
        self.at += 1
        count = 0
        self.skip()
        while self.at < len(self.text) and self.text[self.at] != closing:
            if closing == "}":
                self.pair(path)
            else:
                self.mark((*path, count), self.at)
                self.value((*path, count))
                count += 1
            self.skip()
            if self.text.startswith(",", self.at):
                self.at += 1
                self.skip()
        self.at += 1

    def skip(self) -> None:
        """Past blanks, line ends and comments."""
        found = _SKIP.match(self.text, self.at)
        self.at = found.end() if found else self.at

    def mark(self, path: Path, position: int) -> None:
        """Note the line of a path where it is first met."""
        self.found.lines.setdefault(path, bisect_left(self.breaks, position) + 1)
