"""Times in words."""

from __future__ import annotations

import math

import pytest

from coilward.desk.times import clock, span


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0.0, "0 s"), (1.25, "1.2 s"), (9.5, "9.5 s"), (10.4, "10 s"), (34.0, "34 s"),
        (119.6, "2 min"), (125.0, "2 min 05 s"), (3600.0, "1 h 00 min"), (3725.0, "1 h 02 min"),
        (math.inf, "no limit"), (math.nan, "not known"),
    ],
)  # fmt: skip
def test_span(seconds, words):
    assert span(seconds) == words


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0.0, "0:00:00"), (59.99, "0:00:59"), (3674.75, "1:01:14"), (86400.0, "24:00:00")],
)
def test_clock(seconds, words):
    assert clock(seconds) == words
