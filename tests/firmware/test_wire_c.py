"""The line protocol in C: it reads and refuses what Python does, and writes the same bytes."""

from __future__ import annotations

import math
import random
import shutil
import struct
import zlib
from fractions import Fraction

import pytest

from coilward.hil.firmware import writing
from coilward.hil.frames import BadLine, Decoder, decode, encode
from coilward.hil.messages import LONGEST, MESSAGES, TABLE
from tests.firmware import hosted
from tests.firmware.hosted import SOURCES, WIRE, ZIG, compiled, decoded, encoded, read, write

BLOCKS = range(4)
EXAMPLES = (
    "9007199254740993", "9007199254740992.9999999999999999999", "9007199254740993.0000000000000001",
    "2.2250738585072011e-308", "2.2250738585072012e-308", "2.2250738585072014e-308",
    "2.4703282292062327e-324", "2.4703282292062328e-324", "4.9406564584124654e-324", "5e-324",
    "1.7976931348623157e308", "1.7976931348623158e308", "1.7976931348623159e308", "1e309", "1e999",
    "1e-999", "0e999", "0.000e-999", "-0.0", "00000000000000000001", "8.5e22", "1e23",
    "6.02214076e23",
    "1.00000000000000011102", "1.00000000000000011103", "0.500000000000000166533", "inf", "-inf",
    "3.518437208883201171875", "62.5364939768271845828", "8.10109172351e-10",
    "1.50000000000000011102",
    "9007199254740991.4999999999999999999", "99999999999999999999.9999999999999999999",
)  # fmt: skip
"""Halfway cases, ends of the range and cases that have been read wrongly somewhere: of the kind
that published work on correctly rounded reading lists (Clinger 1990; Paxson 1991), from memory."""


def random_text(chance):
    """A number as a line may carry it: at most 40 bytes."""
    most = chance.choice((1, 3, 17, 19, 20))
    text = str(chance.randrange(10 ** chance.randint(1, most)))
    if chance.random() < 0.7:
        text += "." + "".join(chance.choices("0123456789", k=chance.randint(1, most)))
    if chance.random() < 0.6:
        text = text[:34] + chance.choice(("e", "e-", "e+"))
        text += str(chance.randrange(chance.choice((10, 30, 340, 1000))))
    return chance.choice(("", "-")) + text[:39].rstrip(".")


def halfway_text(chance):
    """A number half-way between two doubles, or a last digit beside it, where 40 bytes hold it."""
    below = chance.randrange(1 << 52, 1 << 53)
    power = chance.randrange(-40, 12)
    half = Fraction(2 * below + 1) * Fraction(2) ** (power - 1)
    digits = 0
    while (half * 10**digits).denominator != 1 and digits < 60:
        digits += 1
    whole = str(int(half * 10**digits) + chance.choice((-1, 0, 0, 1))).rjust(digits + 1, "0")
    place = len(whole) - digits
    text = f"{whole[:place]}.{whole[place:]}" if digits else whole
    return text if len(text) <= 40 and place <= 20 and digits <= 20 else None


def test_what_was_read_wrongly_elsewhere_is_read_right():
    for text in EXAMPLES:
        assert repr(read(text)) == repr(float(text)), text


@pytest.mark.parametrize("block", BLOCKS)
def test_numbers_are_read_as_python_reads_them(block):
    """CPython's float() is the other implementation: David Gay's, correctly rounded."""
    chance = random.Random(f"reading {block}")
    for _ in range(25_000):
        text = random_text(chance)
        assert repr(read(text)) == repr(float(text)), text


def test_halfway_cases_are_read_to_the_even_neighbour():
    """Exact sums say which of two doubles is nearer; Python's float() says the same."""
    chance, ties = random.Random("half-way"), 0
    for _ in range(20_000):
        text = halfway_text(chance)
        if text is None:
            continue
        found, exact = read(text), Fraction(text)
        assert found == float(text), text
        off = abs(Fraction(found) - exact)
        for other in (math.nextafter(found, 0.0), math.nextafter(found, math.inf)):
            away = abs(Fraction(other) - exact)
            assert off <= away, text
            if off == away:
                ties += 1
                assert struct.pack("<d", found)[0] % 2 == 0, text
    assert ties > 1000


@pytest.mark.parametrize("block", BLOCKS)
def test_numbers_are_written_as_python_writes_them(block):
    """The shortest text that is read as the same bits: repr's, on bits of every kind."""
    chance = random.Random(f"writing {block}")
    for turn in range(20_000):
        kind = turn % 4
        value = struct.unpack("<d", chance.randbytes(8))[0]
        if kind == 1:
            value = chance.uniform(-1.0, 1.0) * 10.0 ** chance.randint(-8, 8)
        elif kind == 2:
            value = round(chance.uniform(-200.0, 200.0), chance.randint(0, 15))
        elif kind == 3:
            value = math.ldexp(chance.choice((1.0, -1.0, 1.5)), chance.randrange(-1076, 1024))
        if value == value:
            text = write(value)
            assert text == repr(value)
            assert struct.pack("<d", read(text)) == struct.pack("<d", value)


def random_value(chance, kind):
    """A value of a kind, in the text of a line."""
    if kind == "float":
        return chance.choice((chance.uniform(-100.0, 100.0), float(chance.randrange(200)), math.inf,
                              struct.unpack("<d", chance.randbytes(8))[0]))  # fmt: skip
    if kind == "flag":
        return chance.randrange(2)
    if kind == "whole":
        return chance.choice((0, -1, 1, chance.randrange(-(1 << 63) + 1, 1 << 63)))
    letters = "abcxyzABCXYZ0189.+-"
    return "".join(chance.choices(letters, k=chance.randint(1, 40)))


def random_line(chance):
    """A line that is one."""
    message = chance.choice(list(MESSAGES.values()))
    values = {
        field.name: random_value(chance, field.kind) for field in message.fields
        if field.name in message.needed or chance.random() < 0.7
    }  # fmt: skip
    items = list(values.items())
    if chance.random() < 0.2:
        chance.shuffle(items)
    return encode(chance.randrange(0x10000), message.name, chance.randrange(10**10),
                  chance.randrange(-(10**10) + 1, 10**10), dict(items))[:-1]  # fmt: skip


SPOILS = (
    b"cw1 ", b"cw2 ", b" ", b"  ", b"*", b"=", b"-", b"+", b".", b"e", b"e5", b"inf", b"nan", b"0",
    b"00", b"1e1000", b"-0", b"9223372036854775807", b"9223372036854775808", b"\x00", b"\r",
    b"\xff", b"A", b"a", b"z", b"_", b" pump=1", b" pump=2", b" parts=3", b" valve=1e5",
    b" horn=01", b"=1", b"0" * 20, b"1" * 41,
)  # fmt: skip


def spoilt(chance, line):
    """A body changed in some places; mostly with a checksum that fits it again."""
    body = bytearray(line[:-9])
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        at = chance.randrange(len(body) + 1)
        kind = chance.randrange(5)
        if kind == 0 and at < len(body):
            body[at] ^= 1 << chance.randrange(8)
        elif kind == 1:
            del body[at : at + chance.randint(1, 4)]
        elif kind == 2:
            body[at:at] = chance.choice(SPOILS)
        elif kind == 3:
            body[at : at + chance.randint(1, 3)] = chance.choice(SPOILS)
        else:
            pairs = bytes(body).split(b" ")
            pairs.insert(chance.choice((5, len(pairs))), chance.choice(pairs))
            body = bytearray(b" ".join(pairs))
    if chance.random() < 0.9:
        return bytes(body) + b"*%08X" % zlib.crc32(body)
    return bytes(body) + line[-9:]


def understood(line):
    """What Python makes of a line."""
    try:
        return decode(line)
    except BadLine:
        return None


@pytest.mark.parametrize("block", BLOCKS)
def test_lines_are_read_and_refused_as_python_does(block):
    chance = random.Random(f"lines {block}")
    taken = refused = 0
    for turn in range(10_000):
        line = random_line(chance)
        if turn % 4:
            line = spoilt(chance, line)
        ours, theirs = understood(line), decoded(line)
        assert repr(theirs) == repr(ours) or (ours and theirs and same(ours, theirs)), line
        taken, refused = taken + (ours is not None), refused + (ours is None)
    assert taken > 2500
    assert refused > 3000


def same(ours, theirs):
    """Equal, whatever the order in which the fields stand."""
    return ours[:4] == theirs[:4] and {k: repr(v) for k, v in ours.values.items()} == {
        k: repr(v) for k, v in theirs.values.items()
    }


def test_a_stream_is_cut_into_the_same_lines():
    """Noise, ends of every kind, and stretches longer than a line: byte by byte."""
    chance = random.Random("stream")
    lines, python, frame = hosted.CLines(), Decoder(), hosted.CFrame()
    for _ in range(600):
        piece = chance.choice((
            random_line(chance) + chance.choice((b"\n", b"\r\n", b"\r\r\n")), b"\n", b"\r\n",
            chance.randbytes(chance.randrange(80)), b"x" * (LONGEST - 1) + b"\n",
            b"y" * chance.choice((LONGEST, LONGEST + 1, 2 * LONGEST + 2)),
            random_line(chance)[: chance.randrange(20)],
        ))  # fmt: skip
        for place in range(len(piece)):
            byte = piece[place : place + 1]
            ours = python.feed(byte)
            there = hosted.library().lines_take(lines, byte, frame)
            assert there == bool(ours)
            if there:
                assert same(ours[0][1], frame.told())
    assert (lines.good, lines.bad) == (python.good, python.bad)
    assert lines.good > 40
    assert lines.bad > 100


def test_no_line_that_is_one_is_longer_than_the_buffer():
    assert max(writing.longest(message) for message in MESSAGES.values()) < LONGEST


def test_lines_are_written_byte_for_byte_as_python_writes_them():
    chance = random.Random("written")
    for message in [each for each in MESSAGES.values() if "logic" in each.sent_by] * 200:
        values = {field.name: random_value(chance, field.kind) for field in message.fields}
        head = chance.randrange(0x10000), message.name, chance.randrange(1 << 32)
        tick = chance.randrange(-(1 << 31), 1 << 31)
        assert encoded(*head, tick, values) == encode(*head, tick, values)


def test_the_longest_line_of_a_logic_has_room():
    values = {"float": -1.7976931348623157e308, "whole": 1 - (1 << 63), "flag": 1, "word": 40 * "w"}
    for message in [each for each in MESSAGES.values() if "logic" in each.sent_by]:
        most = {field.name: values[field.kind] for field in message.fields}
        line = encoded(0xFFFF, message.name, (1 << 32) - 1, -(10**10) + 1, most)
        assert line == encode(0xFFFF, message.name, (1 << 32) - 1, -(10**10) + 1, most)
        assert len(line) <= writing.longest(message) <= writing.longest_sent()


def test_the_table_is_the_one_of_the_messages():
    for name, text in writing.written().items():
        assert (SOURCES / name).read_text("utf-8") == text, f"{name}: python -m {writing.__name__}"
    assert TABLE in writing.header()


@pytest.mark.parametrize("compiler", ["gcc", "zig"])
def test_every_file_compiles_without_a_word(compiler, tmp_path):
    if compiler == "gcc" and not shutil.which("gcc"):
        pytest.skip("no gcc here")
    for name in WIRE:
        command = ("gcc",) if compiler == "gcc" else ZIG
        compiled(command, "-c", str(SOURCES / f"{name}.c"), "-o", str(tmp_path / "out.o"))
