"""Every small change that a mistake could make to a file of the C core.

The core is written by a translator in one narrow style, so that a walk over its tokens is enough:
comparisons, conjunctions, signs, bits, numbers, conditions, assignments, results, fields of a
structure, masks and tables. A change is text from one place to another, and what stands there
instead.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

TOKEN = re.compile(
    r'/\*.*?\*/|"[^"]*"|0[xX][0-9a-fA-F]+U?|\d+\.\d*(?:e[-+]?\d+)?|\d+(?:e[-+]?\d+)?U?|[A-Za-z_]\w*'
    r"|->|<<|>>|<=|>=|==|!=|&&|\|\||\+\+|--|[-+*/|&^]=|[^\s]",
    re.DOTALL,
)
COMPARED = {
    "<": ("<=", ">="), "<=": ("<", ">"), ">": (">=", "<="), ">=": (">", "<"),
    "==": ("!=",), "!=": ("==",),
}  # fmt: skip
TURNED = {
    "&&": "||", "||": "&&", "|": "&", "^": "|", "|=": "&=", "&=": "|=", "<<": ">>", ">>": "<<",
    "/": "*", "++": "--", "--": "++",
}  # fmt: skip
BINARY = {"+": "-", "-": "+", "*": "/", "&": "|"}
OTHER = {"bool": "!({})", "double": "({}) + 1.0", "int64_t": "({}) + 1", "uint64_t": "~({})"}
"""Another result of each kind."""
WORDS = {"if", "else", "for", "return", "const", "static", "typedef"}
NAMED_NUMBER = re.compile(r"^#define (\w+) (.+)$", re.MULTILINE)
TABLE = re.compile(
    r"^(?:static )?const (\w+) (\w+)(?:\[\d+\])? = \{(.*?)\};", re.MULTILINE | re.DOTALL
)
FUNCTION = re.compile(
    r"^(?:static )?(?:(?:inline|RARE|USUAL) )?(\w+) (\w+)\(([^;{]*?)\)\n\{\n(.*?)^\}",
    re.MULTILINE | re.DOTALL,
)


@dataclass(frozen=True)
class Change:
    """Text from ``start`` to ``end`` of a file becomes ``text``."""

    file: str
    kind: str
    start: int
    end: int
    text: str
    line: int
    was: str
    """The line as it is."""
    now: str
    """The line as it was changed; both in one piece where they were several."""
    function: str
    """The function, table or named number."""

    @property
    def key(self) -> str:
        """What tells it from every other change."""
        return f"{self.file}:{self.start}:{self.end}:{self.text}"


@dataclass(frozen=True)
class Token:
    text: str
    start: int
    end: int

    @property
    def is_operand_end(self) -> bool:
        """Whether a value ends here, so that a sign that follows has two sides."""
        text = self.text
        if text in (")", "]"):
            return True
        is_type = text in ("double", "bool") or text.endswith("_t")
        is_type = is_type or (text[:1].isupper() and any(c.islower() for c in text))
        return (text[:1].isalnum() and text not in WORDS and not is_type) or text[0] == "_"


def tokens_of(text: str, start: int = 0, end: int | None = None) -> list[Token]:
    """All but comments."""
    return [
        Token(found.group(), found.start(), found.end())
        for found in TOKEN.finditer(text, start, len(text) if end is None else end)
        if not found.group().startswith("/*")
    ]


class Changes:
    """All changes of one file."""

    def __init__(self, file: str, text: str) -> None:
        self.file, self.text = file, text
        self.function = ""

    def change(self, kind: str, start: int, end: int, instead: str) -> Change:
        first = self.text.rfind("\n", 0, start) + 1
        last = self.text.find("\n", end)
        was = self.text[first:last]
        now = self.text[first:start] + instead + self.text[end:last]
        line = self.text.count("\n", 0, start) + 1
        was, now = " ".join(was.split()), " ".join(now.split())
        return Change(self.file, kind, start, end, instead, line, was, now, self.function)

    def all(self) -> list[Change]:
        """Each once, in the order of the file."""
        found = [*self.named_numbers(), *self.tables(), *self.functions()]
        each = {one.key: one for one in found if one.was != one.now}
        return sorted(each.values(), key=lambda one: (one.start, one.end, one.text))

    def named_numbers(self) -> Iterator[Change]:
        for found in NAMED_NUMBER.finditer(self.text):
            if not found.group(1).endswith("_H"):
                self.function = found.group(1)
                yield from self.numbers(tokens_of(self.text, found.start(2), found.end(2)))

    def tables(self) -> Iterator[Change]:
        for found in TABLE.finditer(self.text):
            self.function = found.group(2)
            yield from self.numbers(tokens_of(self.text, found.start(3), found.end(3)))

    def numbers(self, tokens: list[Token]) -> Iterator[Change]:
        """A whole number one more, one less; a float a hundredth; of a mask each bit, one new."""
        for token in tokens:
            text = token.text
            if not text[0].isdigit():
                if text in ("true", "false"):
                    other = "false" if text == "true" else "true"
                    yield self.change("truth", token.start, token.end, other)
                continue
            if "." in text:
                value = float(text)
                for near in (value * 1.01, value * 0.99) if value else (1.0,):
                    yield self.change("number", token.start, token.end, repr(near))
            elif text.startswith("0x") or text.endswith("U"):
                value = int(text.rstrip("U"), 0)
                tail = "U" if text.endswith("U") else ""
                for bit in (bit for bit in range(value.bit_length()) if value >> bit & 1):
                    without = value & ~(1 << bit)
                    yield self.change("bit", token.start, token.end, f"{without}{tail}")
                new = next(bit for bit in range(65) if not value >> bit & 1)
                yield self.change("new bit", token.start, token.end, f"{value | 1 << new}{tail}")
            else:
                value = int(text)
                yield self.change("number", token.start, token.end, str(value + 1))
                if value > 0:
                    yield self.change("number", token.start, token.end, str(value - 1))

    def functions(self) -> Iterator[Change]:
        for found in FUNCTION.finditer(self.text):
            self.function = found.group(2)
            tokens = tokens_of(self.text, found.start(4), found.end(4))
            yield from self.numbers(tokens)
            yield from self.signs(tokens)
            yield from self.conditions(tokens)
            yield from self.statements(tokens, found.group(1))

    def signs(self, tokens: list[Token]) -> Iterator[Change]:
        before = Token(";", 0, 0)
        for token in tokens:
            text = token.text
            for other in COMPARED.get(text, ()):
                yield self.change("comparison", token.start, token.end, other)
            if text in TURNED:
                yield self.change("sign", token.start, token.end, TURNED[text])
            elif text in BINARY and before.is_operand_end:
                yield self.change("sign", token.start, token.end, BINARY[text])
            elif text in ("!", "~") or (text == "-" and not before.is_operand_end):
                yield self.change("dropped sign", token.start, token.end, "")
            before = token

    def conditions(self, tokens: list[Token]) -> Iterator[Change]:
        """What is asked is always so, never so, or the other way round."""
        for at, token in enumerate(tokens):
            if token.text == "if":
                close = closing(tokens, at + 1)
                start, end = tokens[at + 1].end, tokens[close].start
                yield self.change("condition", start, end, "true")
                yield self.change("condition", start, end, "false")
            elif token.text == "?":
                start = tokens[operand_start(tokens, at - 1)].start
                asked = self.text[start : tokens[at - 1].end]
                yield self.change("condition", start, tokens[at - 1].end, f"!({asked})")

    def statements(self, tokens: list[Token], result: str) -> Iterator[Change]:
        """Assignments and calls left out, fields zero, other results."""
        depth, begin = 0, 0
        for at, token in enumerate(tokens):
            text = token.text
            if text in "([":
                depth += 1
            elif text in ")]":
                depth -= 1
            elif text in "{}" and depth == 0 and not within_values(tokens, begin, at):
                begin = at + 1
            elif text == "." and tokens[at - 1].text in ("{", ",") and tokens[at + 2].text == "=":
                start, end = tokens[at + 3].start, tokens[value_end(tokens, at + 3) - 1].end
                if self.text[start:end] not in ("0", "0.0", "0U", "false"):
                    nothing = "{0}" if self.text[start] == "{" else "0"
                    yield self.change("field zero", start, end, nothing)
            elif text == ";" and depth == 0:
                yield from self.statement(tokens[begin : at + 1], result)
                begin = at + 1

    def statement(self, tokens: list[Token], result: str) -> Iterator[Change]:
        words = [token.text for token in tokens]
        start, end = tokens[0].start, tokens[-1].end
        if words[0] == "return" and len(words) > 2 and "{" not in words:
            value = self.text[tokens[1].start : tokens[-2].end]
            if result in OTHER:
                other = OTHER[result].format(value)
                yield self.change("result", tokens[1].start, tokens[-2].end, other)
        elif words == ["return", ";"] or not (words[0] in WORDS or "{" in words or declares(words)):
            yield self.change("left out", start, end, ";")


def declares(words: list[str]) -> bool:
    """Whether a statement begins a name."""
    return len(words) > 1 and (words[1][0].isalpha() or (words[1] == "*" and words[0][0].isupper()))


def closing(tokens: list[Token], at: int) -> int:
    """The place of the parenthesis that closes the one at a place."""
    depth = 0
    for place in range(at, len(tokens)):
        depth += {"(": 1, ")": -1}.get(tokens[place].text, 0)
        if depth == 0:
            return place
    raise ValueError("a parenthesis that nothing closes")


def operand_start(tokens: list[Token], at: int) -> int:
    """Where the value begins that ends at a place: parentheses, or a path of names."""
    depth = 0
    while True:
        text = tokens[at].text
        depth += {")": 1, "]": 1, "(": -1, "[": -1}.get(text, 0)
        before = tokens[at - 1].text if at else ";"
        path = before in ("->", ".", "!") or text in ("->", ".")
        if depth == 0 and not path and not (text in "([" and tokens[at - 1].is_operand_end):
            return at
        at -= 1


def value_end(tokens: list[Token], at: int) -> int:
    """The place of the comma or brace after a value among others."""
    depth = 0
    for place in range(at, len(tokens)):
        text = tokens[place].text
        if depth == 0 and text in (",", "}"):
            return place
        depth += {"(": 1, "{": 1, "[": 1, ")": -1, "}": -1, "]": -1}.get(text, 0)
    raise ValueError("a value that doesn't end")


def within_values(tokens: list[Token], begin: int, at: int) -> bool:
    """Whether a brace belongs to the values of a structure, not to a block."""
    words = [token.text for token in tokens[begin:at]]
    if not words:
        return False
    return words[0] in ("return", "const") or "=" in words


def changes_of(file: str, text: str) -> list[Change]:
    """Every change of a file, in the order of its places."""
    return Changes(file, text).all()
