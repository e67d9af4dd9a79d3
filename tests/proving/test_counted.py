"""Which requirements count for a fault, by what can be held and what has to tell."""

from __future__ import annotations

from functools import cache

import pytest

from coilward.loop.document import read_loop
from coilward.proving.case import Case
from coilward.proving.results import violated
from coilward.proving.stage import BEYOND, EVERY, Stage
from tests.proving.mistakes import wrong_and_sound
from tests.simulator.plants import TODAY


@cache
def stage():
    return Stage(read_loop("greenhouse"), today=TODAY, engine="interpreted")


@pytest.mark.parametrize(("faults", "counted"), [
    (("valve-jams",), EVERY),
    (("pump-stalls",), EVERY - BEYOND),
    (("supply-lost",), frozenset()),
    (("supply-blinks",), {"pump-off-before-steam"}),
    (("pump-stalls", "ticks-late"), EVERY - BEYOND),
    (("pump-stalls", "supply-lost"), frozenset()),
    (("pump-stalls", "supply-blinks"), {"pump-off-before-steam"}),
])  # fmt: skip
def test_what_counts(faults, counted):
    assert stage().counted(faults) == counted
    assert stage().counted(faults[::-1]) == counted


def test_a_night_shows_a_pump_that_starts_although_the_water_stood_too_long():
    wrong, sound = wrong_and_sound("outage not counted")
    for index in range(120):
        case = Case(("supply-blinks",), index, 1)
        if "pump off before steam" in violated(wrong.play(case)):
            assert sound.play(case).missed == ()
            return
    raise AssertionError("no such night")
