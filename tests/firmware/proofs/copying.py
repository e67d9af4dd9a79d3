"""What a proof's own copy of the core has otherwise than the core, so that a solver finds an end.

Each takes a file's text and gives the copy's.
"""

from __future__ import annotations

import re

CALLS = {"*": "product", "/": "quotient"}
OPERATOR = re.compile(r"(?<=[\w)\]])\s+([*/])\s+")
LITERAL = re.compile(r"[\d.]+")
INDEXED = re.compile(r"(\w+->[\w.]+)\.at\[([^\]]+)\](?! = )")
COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
SUM = re.compile(r"([a-z][\w.>-]*) \+ ([a-z][\w.>-]*_s)\b(?!\()")
NARROWED = {
    "uint64_t bits": "uint16_t bits", "UINT64_C(0x7fffffffffffffff)": "UINT16_C(0x7fff)",
    "UINT64_C(0x7ff0000000000000)": "UINT16_C(0x7c00)",
}
"""The places of a number's bits."""
NUMBERS = '#include "numbers.h"\n'
ANY_SUM = "double __CPROVER_uninterpreted_sum(double, double);\n"


def narrowed(text: str) -> str:
    """Floats of 16 bits: real products and quotients of these come to an end."""
    for wide, narrow in NARROWED.items():
        text = text.replace(wide, narrow)
    return re.sub(r"\bdouble\b", "_Float16", text)


def summed(text: str) -> str:
    """Sums of times are any function of what they sum: two ticks have the same ones."""
    text = SUM.sub(r"__CPROVER_uninterpreted_sum(\1, \2)", text)
    return text.replace(NUMBERS, NUMBERS + ANY_SUM)


def alone(text: str) -> str:
    """Each table inside a structure is read from an object of its own.

    An index that leaves it leaves the object then, and is told.
    """
    return INDEXED.sub(r"({ const __typeof__(\1) alone = \1; alone.at[\2]; })", text)


def with_contracts(text: str) -> str:
    """Each product and quotient of two variables is a call of the contract in ``floats.h``."""
    text = COMMENT.sub("", text).replace(NUMBERS, NUMBERS + '#include "floats.h"\n')
    at = 0
    while operator := OPERATOR.search(text, at):
        left = text[_start(text, operator.start()) : operator.start()]
        right = text[operator.end() : _end(text, operator.end())]
        if LITERAL.fullmatch(left) or LITERAL.fullmatch(right):
            at = operator.end()
            continue
        start = operator.start() - len(left)
        call = f"{CALLS[operator[1]]}({left}, {right})"
        text = text[:start] + call + text[operator.end() + len(right) :]
    return text


def _start(text: str, end: int) -> int:
    """Where the operand begins that ends at ``end``: a name's path, a number, or a call."""
    at = end
    while at > 0:
        if text[at - 1] in ")]":
            depth = 0
            while True:
                at -= 1
                depth += (text[at] in ")]") - (text[at] in "([")
                if depth == 0:
                    break
        elif re.match(r"[\w.]", text[at - 1]):
            at -= 1
        elif text[at - 2 : at] == "->":
            at -= 2
        else:
            break
    return at


def _end(text: str, start: int) -> int:
    """Where the operand ends that begins at ``start``."""
    at = start
    while True:
        if text[at] in "([":
            depth = 0
            while True:
                depth += (text[at] in "([") - (text[at] in ")]")
                at += 1
                if depth == 0:
                    break
        elif re.match(r"[\w.]", text[at]):
            at += 1
        elif text[at : at + 2] == "->":
            at += 2
        else:
            return at
