"""A state as two rows of numbers, and back."""

from __future__ import annotations

import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilward.controller.state import YES, first_state
from coilward.controller.types import Commands, Requests
from coilward.hil.tick import FLOATS, WHOLES, asked, digest, flat, requests_of, unflat
from tests.controller.rig import Rig
from tests.controller.strategies import STATES

COMMANDS = Commands(True, 0.5, 1.0, False, True, 3, False)


@given(STATES)
def test_there_and_back(state):
    floats, wholes = flat(state)
    again = unflat(floats, wholes)
    assert repr(again) == repr(state)
    assert digest(again, COMMANDS) == digest(state, COMMANDS)


@given(st.integers(0, len(FLOATS) - 1), st.integers(0, len(WHOLES) - 1))
def test_every_number_counts_in_the_digest(place, whole_place):
    state = first_state(Rig().constants, 4, YES)
    before = digest(state, COMMANDS)
    floats, wholes = flat(state)
    changed = [value + (index == place) for index, value in enumerate(floats)]
    if floats[place] == floats[place]:
        assert digest(unflat(changed, wholes), COMMANDS) != before
    other = [value ^ (index == whole_place) for index, value in enumerate(wholes)]
    assert digest(unflat(floats, other), COMMANDS) != before


def test_every_nan_counts_as_the_same_one():
    state = first_state(Rig().constants)
    negative = struct.unpack("<d", b"\x00\x00\x00\x00\x00\x00\xf8\xff")[0]
    floats, wholes = flat(state)
    place = FLOATS.index("watch_slow_a_c")
    digests = set()
    for nan in (negative, float("nan")):
        floats[place] = nan
        digests.add(digest(unflat(floats, wholes), COMMANDS))
    assert len(digests) == 1


@pytest.mark.parametrize("place", range(len(Commands._fields)))
def test_every_command_counts_in_the_digest(place):
    state = first_state(Rig().constants)
    other = Commands(*(value if index != place else 0.25 if place in (1, 2) else not value
                       for index, value in enumerate(COMMANDS)))  # fmt: skip
    assert other != COMMANDS
    assert digest(state, other) != digest(state, COMMANDS)


@given(st.builds(Requests, *[st.booleans()] * len(Requests._fields)))
def test_requests_there_and_back(requests):
    assert requests_of(asked(requests)) == requests


@pytest.mark.parametrize("mask", [-1, 1 << len(Requests._fields)])
def test_a_mask_beyond_all_requests_is_refused(mask):
    with pytest.raises(ValueError, match="bits"):
        requests_of(mask)


def test_a_row_of_another_length_is_refused():
    floats, wholes = flat(first_state(Rig().constants))
    with pytest.raises(ValueError, match="floats"):
        unflat(floats[:-1], wholes)
