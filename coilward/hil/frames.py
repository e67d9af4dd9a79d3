"""Lines on a wire: from values to bytes, and from any bytes back to what is surely a line.

    cw1 3f2a water 118 4021 pulses=51822 pulse_period_s=0.0405 pulse_age_s=0.01*9A3F77C0

Version, session (four hexadecimal digits), message, sequence, tick, then what is known, and a
CRC-32 over everything before the star. What is not known is left out. ASCII alone, a line feed
at the end.
"""

from __future__ import annotations

import math
import re
import zlib
from collections.abc import Mapping
from typing import NamedTuple

from coilward.hil.messages import LONGEST, MESSAGES, VERSION, Field, Message

Value = float | int | str
Values = dict[str, Value]

_HEAD = re.compile(
    rb"cw1 ([0-9a-f]{4}) ([a-z_]{2,20}) (0|[1-9][0-9]{0,9}) (0|-?[1-9][0-9]{0,9})"
    rb"((?: [a-z][a-z0-9_]{0,40}=[A-Za-z0-9.+-]{1,40})*)\*([0-9A-F]{8})"
)
_FLOAT = re.compile(r"-?(?:inf|[0-9]{1,20}(?:\.[0-9]{1,20})?(?:e[+-]?[0-9]{1,3})?)")
_WHOLE = re.compile(r"0|-?[1-9][0-9]{0,18}")
_WORD = re.compile(r"[A-Za-z0-9.+-]{1,40}")
LARGEST = (1 << 63) - 1


class Frame(NamedTuple):
    """One line, understood."""

    session: int
    name: str
    sequence: int
    tick: int
    values: Values


class BadLine(Exception):  # noqa: N818 - what happened, not an error of the program
    """A line that is not one: what is wrong with it."""


def encode(session: int, name: str, sequence: int, tick: int, values: Mapping[str, Value]) -> bytes:
    """The line of these values; NaN is left out.

    Raises ValueError for a name, field or value that the table does not have.
    """
    message = MESSAGES.get(name)
    if message is None:
        raise ValueError(f"no message {name!r}")
    fields = message.by_name
    told = []
    for key, value in values.items():
        if key not in fields:
            raise ValueError(f"message {name} has no field {key!r}")
        text = _text(fields[key], value)
        if text:
            told.append(f" {key}={text}")
    body = f"{VERSION} {session:04x} {name} {sequence} {tick}{''.join(told)}".encode("ascii")
    line = b"%b*%08X\n" % (body, zlib.crc32(body))
    if len(line) > LONGEST:
        raise ValueError(f"message {name} is {len(line)} bytes long; accepted: {LONGEST}")
    return line


def _text(field: Field, value: Value) -> str:
    """A value as it stands in a line; empty where it is not known."""
    if isinstance(value, str):
        if field.kind != "word" or not _WORD.fullmatch(value):
            raise ValueError(f"{field.name} is {value!r}")
        return value
    if value != value:
        return ""
    if field.kind == "float":
        return repr(float(value))
    if field.kind == "flag":
        if value not in (0, 1):
            raise ValueError(f"{field.name} is {value!r}; accepted: 0 or 1")
        return str(int(value))
    if field.kind == "word" or value != int(value) or abs(value) > LARGEST:
        raise ValueError(f"{field.name} is {value!r}")
    return str(int(value))


def decode(line: bytes) -> Frame:
    """What a line without its end says. Raises BadLine, and nothing else, for any other bytes."""
    match = _HEAD.fullmatch(line)
    if match is None:
        raise BadLine("not a line of this protocol")
    session, name_bytes, sequence, tick, told, checksum = match.groups()
    if zlib.crc32(line[: match.start(6) - 1]) != int(checksum, 16):
        raise BadLine("checksum")
    name = name_bytes.decode()
    message = MESSAGES.get(name)
    if message is None:
        raise BadLine(f"no message {name}")
    values: Values = {}
    for pair in told.decode().split():
        key, _, text = pair.partition("=")
        if key in values:
            raise BadLine(f"{key} twice")
        values[key] = _value(message, key, text)
    for key in message.needed:
        if key not in values:
            raise BadLine(f"{name} without {key}")
    return Frame(int(session, 16), name, int(sequence), int(tick), values)


def _value(message: Message, key: str, text: str) -> Value:
    field = message.by_name.get(key)
    if field is None:
        raise BadLine(f"{message.name} has no {key}")
    if field.kind == "word":
        return text
    if field.kind == "float":
        if not _FLOAT.fullmatch(text):
            raise BadLine(f"{key} is {text}")
        return float(text)
    if not _WHOLE.fullmatch(text):
        raise BadLine(f"{key} is {text}")
    whole = int(text)
    if abs(whole) > LARGEST or (field.kind == "flag" and whole not in (0, 1)):
        raise BadLine(f"{key} is {text}")
    return whole


class Decoder:
    """Bytes in, lines out. Holds at most one line's length of what is not yet a line."""

    def __init__(self) -> None:
        self._rest = b""
        self.good = 0
        self.bad = 0
        """Lines, or stretches without an end, that were not understood."""

    def forget(self) -> None:
        """Drop what has come of an unfinished line."""
        self._rest = b""

    def feed(self, data: bytes) -> list[tuple[bytes, Frame]]:
        """The lines that these bytes end, each as it came and as it was understood."""
        found = []
        *lines, rest = (self._rest + data).split(b"\n")
        if len(rest) > LONGEST:
            self.bad += 1
            rest = b""
        self._rest = rest
        for line in lines:
            line = line.rstrip(b"\r")
            if not line:
                continue
            try:
                frame = decode(line)
            except BadLine:
                self.bad += 1
                continue
            self.good += 1
            found.append((line, frame))
        return found


def number(values: Mapping[str, Value], name: str) -> float:
    """A number of a frame as a float; NaN where it was left out."""
    value = values.get(name, math.nan)
    return math.nan if isinstance(value, str) else float(value)
