"""Every number of a tick there and back, on the way through rows, chunks and files."""

from __future__ import annotations

import math
import struct

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilward.controller.types import Commands, Readings, Requests
from coilward.hil.journal.layout import (
    as_numbers,
    block,
    layout_of,
    packed,
    row_of,
    state_of_words,
    state_words,
    unpacked,
)
from coilward.hil.journal.packing import Damaged, fingerprint, grown, shrunk
from coilward.hil.tick import Tick, digest
from tests.controller.strategies import STATES
from tests.hil.made import night

ODD = [math.nan, math.inf, -math.inf, -0.0, 5e-324, 1.7976931348623157e308]
FLOATS = st.one_of(st.floats(), st.sampled_from(ODD))
TICKS = st.builds(
    Tick, st.integers(0, 2**62), FLOATS, FLOATS, st.just(()),
    st.builds(Readings, *[FLOATS] * len(Readings._fields)),
    st.builds(Requests, *[st.booleans()] * len(Requests._fields)),
    st.builds(Commands, st.booleans(), FLOATS, FLOATS, st.booleans(), st.booleans(),
              st.integers(0, 3), st.booleans()),
    STATES,
)  # fmt: skip


@settings(deadline=None)
@given(TICKS, st.lists(FLOATS, min_size=3, max_size=3))
def test_a_tick_there_and_back(tick, values):
    layout = layout_of(("adc", "pulses", "edge"))
    words = packed(tick, layout)
    assert packed(unpacked(words, layout), layout) == words
    assert repr(unpacked(words, layout)) == repr(tick)
    full = tick._replace(raw=tuple(values))
    again = unpacked(packed(full, layout), layout)
    if not all(math.isnan(value) for value in values):
        assert repr(again.raw) == repr(full.raw)


@settings(deadline=None)
@given(TICKS)
def test_a_chunk_there_and_back(tick):
    layout, calm = layout_of(), night().ticks
    rows = [packed(each, layout) for each in (calm[0], tick, *calm[1:4], tick)]
    words = block(rows)
    again = grown(shrunk(words), *words.shape)
    assert again.tobytes() == words.tobytes()
    assert fingerprint(again) == fingerprint(words)
    assert [row_of(again, place) for place in range(len(rows))] == rows


@settings(deadline=None)
@given(st.lists(st.integers(0, 2**64 - 1), min_size=1, max_size=50))
def test_any_bits_there_and_back(numbers):
    words = np.array([numbers, numbers[::-1]], np.uint64)
    assert (grown(shrunk(words), *words.shape) == words).all()


def test_a_nan_keeps_its_own_bits():
    [odd] = struct.unpack("<d", struct.pack("<Q", 0x7FF8_0000_DEAD_BEEF))
    words = np.array([[odd, 1.0, odd]]).view(np.uint64)
    assert (grown(shrunk(words), 1, 3) == words).all()
    assert fingerprint(words) != fingerprint(np.array([[math.nan, 1.0, odd]]).view(np.uint64))


def test_memory_and_facts_are_what_a_digest_is_over():
    tick = night().ticks[-1]
    layout = layout_of()
    words = packed(tick, layout)[8 * len(layout.inputs) :]
    import zlib

    assert zlib.crc32(words) == digest(tick.state, tick.commands)


@settings(deadline=None)
@given(STATES)
def test_a_state_alone_there_and_back(state):
    assert repr(state_of_words(state_words(state))) == repr(state)


def test_a_minute_of_a_night_is_small():
    layout = layout_of()
    words = block([packed(tick, layout) for tick in night().ticks[:240]])
    assert len(shrunk(words)) < 0.1 * words.nbytes


def test_whole_numbers_are_whole():
    words = np.array([2**62 - 1, 3], np.uint64)
    assert as_numbers("raised", words).tolist() == [2**62 - 1, 3]
    assert as_numbers("tank_c", np.array([61.5]).view(np.uint64)).tolist() == [61.5]


def test_what_is_no_chunk_is_refused():
    with pytest.raises(Damaged, match="unpacked"):
        grown(b"nonsense", 1, 1)
    with pytest.raises(Damaged, match="8 bytes, not 16"):
        grown(shrunk(np.array([[1]], np.uint64)), 1, 2)


def test_other_values_of_a_wire_than_named_are_refused():
    with pytest.raises(ValueError, match="not 3"):
        packed(night().ticks[0]._replace(raw=(1.0,)), layout_of(("a", "b", "c")))


def test_ticks_of_another_version_are_refused():
    words = packed(night().ticks[0], layout_of())
    with pytest.raises(ValueError, match="another version"):
        unpacked(words[:-8], layout_of())
    with pytest.raises(ValueError, match="another version"):
        unpacked(words, layout_of()._replace(memory=layout_of().memory[::-1]))
    with pytest.raises(ValueError, match="another version"):
        state_of_words(words)
