"""Lines: what is written is what is read, and nothing else is ever read."""

from __future__ import annotations

import math
import random
import re
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilward.hil import messages
from coilward.hil.frames import BadLine, Decoder, Frame, decode, encode, number
from coilward.hil.messages import LONGEST, MESSAGES, table_hash

FLOATS = st.floats(allow_nan=False, width=64)
WHOLES = st.integers(-(1 << 63) + 1, (1 << 63) - 1)
WORDS = st.from_regex(re.compile(r"[A-Za-z0-9.+-]{1,40}"), fullmatch=True)
OF_KIND = {"float": FLOATS, "whole": WHOLES, "flag": st.integers(0, 1), "word": WORDS}


@st.composite
def lines(draw):
    message = draw(st.sampled_from(list(MESSAGES.values())))
    values = {}
    for field in message.fields:
        if field.name in message.needed or draw(st.booleans()):
            values[field.name] = draw(OF_KIND[field.kind])
    head = draw(st.integers(0, 0xFFFF)), message.name, draw(st.integers(0, 10**9))
    return Frame(*head, draw(st.integers(-(10**9), 10**9)), values)


@given(lines())
def test_there_and_back_to_the_last_bit(frame):
    line = encode(*frame)
    assert len(line) <= LONGEST
    found = decode(line[:-1])
    assert found == frame
    assert repr(found.values) == repr(
        {k: float(v) if MESSAGES[frame.name].by_name[k].kind == "float" else v
         for k, v in frame.values.items()}
    )  # fmt: skip


@given(lines(), st.data())
def test_a_changed_byte_is_never_taken(frame, data):
    line = bytearray(encode(*frame)[:-1])
    place = data.draw(st.integers(0, len(line) - 1))
    line[place] ^= data.draw(st.integers(1, 255))
    with pytest.raises(BadLine):
        decode(bytes(line))


@given(lines(), st.data())
def test_a_cut_line_is_never_taken(frame, data):
    line = encode(*frame)[:-1]
    with pytest.raises(BadLine):
        decode(line[: data.draw(st.integers(0, len(line) - 1))])


@given(st.binary(max_size=300))
def test_any_bytes_are_no_line(data):
    decoder = Decoder()
    assert decoder.feed(data + b"\n") == []


def test_the_checksum_is_the_published_one():
    """CRC-32/ISO-HDLC of the digits 1 to 9 is CBF43926 (catalogue of parametrised CRCs; from
    memory); over the line without the star, as an independent sum has it."""
    assert zlib.crc32(b"123456789") == 0xCBF43926
    line = encode(1, "again", 2, 3, {"parts": 4})
    body, checksum = line[:-1].split(b"*")
    assert body == b"cw1 0001 again 2 3 parts=4"
    assert int(checksum, 16) == bit_by_bit(body)


def bit_by_bit(data: bytes) -> int:
    """CRC-32 with the reflected polynomial EDB88320 (IEEE 802.3), a bit at a time."""
    crc = 0xFFFFFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = crc >> 1 ^ (0xEDB88320 if crc & 1 else 0)
    return crc ^ 0xFFFFFFFF


def signed(body: bytes) -> bytes:
    return b"%b*%08X" % (body, zlib.crc32(body))


@pytest.mark.parametrize(
    ("body", "why"),
    [
        (b"cw1 0001 again 2 3", "without parts"),
        (b"cw1 0001 again 2 3 parts=4 parts=4", "parts twice"),
        (b"cw1 0001 again 2 3 parts=4 more=1", "no more"),
        (b"cw1 0001 again 2 3 parts=4.5", "parts is 4.5"),
        (b"cw1 0001 again 2 3 parts=9223372036854775808", "parts is 9223372036854775808"),
        (b"cw1 0001 nothing 2 3 parts=4", "no message nothing"),
        (b"cw1 0001 coil 2 3 flue_c=nan", "flue_c is nan"),
        (b"cw1 0001 coil 2 3 flue_c=1e", "flue_c is 1e"),
        (b"cw1 0001 water 2 3 flow_switch=2", "flow_switch is 2"),
        (b"cw2 0001 again 2 3 parts=4", "not a line"),
        (b"cw1 001 again 2 3 parts=4", "not a line"),
        (b"cw1 0001 again 02 3 parts=4", "not a line"),
        (b"cw1 0001 again 2 3  parts=4", "not a line"),
    ],
)
def test_a_line_with_a_true_checksum_and_a_false_content_is_not_taken(body, why):
    with pytest.raises(BadLine, match=re.escape(why)):
        decode(signed(body))


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("nothing", {}), ("again", {"more": 1}), ("again", {"parts": 0.5}),
        ("again", {"parts": "x"}), ("water", {"flow_switch": 2}),
        ("hello", {"program": "two words"}), ("hello", {"program": 4}),
        ("again", {"parts": 1 << 63}),
    ],
)  # fmt: skip
def test_what_the_table_does_not_have_is_not_sent(name, values):
    with pytest.raises(ValueError):  # noqa: PT011 - each names its own field
        encode(1, name, 0, 0, values)


def test_what_is_not_known_is_left_out():
    line = encode(1, "coil", 0, 0, {"flue_c": math.nan, "coil_metal_c": 20.0})
    assert b"flue" not in line
    frame = decode(line[:-1])
    assert math.isnan(number(frame.values, "flue_c"))
    assert number(frame.values, "coil_metal_c") == 20.0


def test_lines_come_whole_however_the_bytes_are_cut():
    whole = b"".join(encode(7, "coil", n, n, {"flue_c": n + 0.5}) for n in range(50))
    rng = random.Random(3)
    decoder, found = Decoder(), []
    while whole:
        size = rng.randrange(1, 90)
        found += decoder.feed(whole[:size])
        whole = whole[size:]
    assert [frame.tick for _, frame in found] == list(range(50))
    assert decoder.bad == 0


def test_a_stream_without_an_end_is_not_hoarded():
    decoder = Decoder()
    for _ in range(1000):
        assert decoder.feed(b"x" * 999) == []
        assert len(decoder._rest) <= LONGEST
    assert decoder.bad == 333
    decoder.feed(b"\n")
    assert decoder.feed(encode(1, "again", 0, 0, {"parts": 1}))[0][1].name == "again"


def test_every_message_fits_into_a_line():
    """Each field at its longest: seventeen digits, a sign and an exponent."""
    longest = {"float": -2.2250738585072014e-308, "whole": -(1 << 63) + 1, "flag": 1,
               "word": "w" * 40}  # fmt: skip
    for message in MESSAGES.values():
        values = {field.name: longest[field.kind] for field in message.fields}
        assert len(encode(0xFFFF, message.name, 10**10 - 1, -(10**9), values)) <= LONGEST


def test_another_table_has_another_hash(monkeypatch):
    before = table_hash()
    monkeypatch.setitem(messages.MESSAGES, "again", messages.AGAIN._replace(needed=()))
    assert table_hash() != before
