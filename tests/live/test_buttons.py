"""The three requests, and the pipe that carries nothing else."""

from __future__ import annotations

import io

import pytest

from coilward.controller.types import Requests
from coilward.desk.live.buttons import ACTS, LONGEST_BYTES, WORDS, Buttons, act_of, line


def test_there_are_three_and_each_line_comes_back():
    assert ACTS == ("silence", "horn", "finish")
    assert set(WORDS) == set(ACTS)
    for act in ACTS:
        assert act_of(line(act)) == act
        assert len(line(act).encode()) <= LONGEST_BYTES


@pytest.mark.parametrize("text", [
    "", "\n", "reset\n", "Silence\n", "silence \n", " silence", "silence\nfinish\n", "finish\n\n",
    "emergency", "hand_pump", "prepare", "lit", *Requests._fields[4:],
])  # fmt: skip
def test_nothing_else_is_a_request(text):
    assert act_of(text) is None


def test_a_press_is_one_line():
    pipe = io.StringIO()
    buttons = Buttons(pipe)
    assert buttons.there()
    assert buttons.press("silence")
    assert buttons.press("finish")
    assert pipe.getvalue() == "silence\nfinish\n"


def test_without_a_listener_there_are_no_buttons():
    buttons = Buttons(None, "This is a rehearsal.")
    assert not buttons.there()
    assert not buttons.press("horn")
    assert buttons.why_none == "This is a rehearsal."


def test_a_pipe_that_breaks_stays_broken():
    class Broken(io.StringIO):
        def flush(self):
            raise BrokenPipeError

    buttons = Buttons(Broken())
    assert not buttons.press("horn")
    assert not buttons.there()
    assert "gone away" in buttons.why_none
