"""Lines of C: broken before they are too long, and words as comments."""

from __future__ import annotations

import textwrap
from itertools import pairwise

WIDTH = 100
STEP = "    "
BEFORE = ("&&", "||", "?", ":", "+", "-", "|")
"""Operators that may begin a line."""


def wrapped(text: str, indent: int = 0) -> list[str]:
    """One statement as lines of at most 100 characters, broken behind commas and before operators.

    A piece that is still too long is broken anywhere.
    """
    lead = STEP * indent
    if len(lead + text) <= WIDTH:
        return [lead + text]
    words = text.split(" ")
    for free in (False, True):
        lines, line = [], lead + words[0]
        for piece in pieces(words, free):
            if len(line) + len(piece) + 1 > WIDTH:
                lines.append(line)
                line = lead + STEP + piece
            else:
                line += f" {piece}"
        lines.append(line)
        if max(map(len, lines)) <= WIDTH:
            break
    return lines


def pieces(words: list[str], free: bool) -> list[str]:
    """What must stay on one line, behind the first word."""
    found: list[str] = []
    begins = True
    for last, word in pairwise(words):
        begins = free or last.endswith((",", "=")) or word in BEFORE
        if begins or not found:
            found.append(word)
        else:
            found[-1] += f" {word}"
    return found


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
