"""Lines of C: broken before they are too long, and words as comments."""

from __future__ import annotations

import textwrap

WIDTH = 100
STEP = "    "
BEFORE = ("&&", "||", "?", ":", "+", "-", "*", "/", "&", "|", "^")


def wrapped(text: str, indent: int = 0) -> list[str]:
    """One statement as lines of at most 100 characters, where spaces allow it."""
    lead = STEP * indent
    if len(lead + text) <= WIDTH:
        return [lead + text]
    words = text.split(" ")
    lines, line = [], lead
    for at, word in enumerate(words):
        rest = tied(words, at)
        if len(line) + len(rest) + 1 > WIDTH and line.strip():
            lines.append(line.rstrip())
            line = lead + STEP
        line += word + " "
    return [*lines, line.rstrip()]


def tied(words: list[str], at: int) -> str:
    """A word with what must stay on its line: an operator never ends one."""
    end = at + 1
    while end < len(words) and words[end - 1] in BEFORE:
        end += 1
    return " ".join(words[at:end])


def comment(words: str, indent: int = 0) -> list[str]:
    """Words as a comment; none for no words."""
    if not words:
        return []
    lead = STEP * indent
    parts = words.replace("*/", "* /").replace("/*", "/ *").splitlines()
    if len(parts) == 1 and len(lead) + len(words) + 6 <= WIDTH:
        return [f"{lead}/* {parts[0]} */"]
    lines = []
    for part in parts:
        room = WIDTH - len(lead) - 3
        lines += textwrap.wrap(part, room, drop_whitespace=False) if len(part) > room else [part]
    return [f"{lead}/*", *[f"{lead} * {line}".rstrip() for line in lines], f"{lead} */"]
