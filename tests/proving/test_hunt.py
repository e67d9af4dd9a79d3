"""The hunt: on nights whose worst is known, and on the logic with defects planted in it."""

from __future__ import annotations

import pytest

from coilward.proving.case import DIMENSIONS, Case, draw, parse_case, place
from coilward.proving.hunt import INVALID, Search, weigh
from coilward.proving.sweeping import sharp
from tests.proving.needles import COUNTED, outcome, weighed, well

NAMES = [f"fault-{n}" for n in range(10)] + ["pump-weak"] + [f"fault-{n}" for n in range(10, 20)]


def sharps(seed):
    return (("run", sharp(Case((name,), 0, seed), {"fire": 0.95})) for name in NAMES)


def search(play, runs=300, seed=1):
    hunted = Search(weighed(play), runs)
    hunted.pull(hunted.sweep(sharps(seed)), seed)
    return hunted.found


def test_it_finds_a_well_that_one_night_in_thousands_falls_into():
    """Three numbers within 0.09 of a place, and one fault of 21: 4/3 pi 0.09^3 / 21 = 1.5e-4."""
    found = search(well(depth=0.1, width=1.0))
    assert found.escaped
    assert found.worst.case.faults == ("pump-weak",)
    assert found.runs <= 300
    assert all(abs(draw(found.worst.case)[n] - 0.8) < 0.1 for n in (0, 1, 4))


def test_it_finds_the_same_each_time():
    first, second = (search(well(depth=0.1, width=1.0), seed=5) for _ in range(2))
    assert first == second


def test_what_does_not_escape_is_told_with_its_least_margin_after_all_runs():
    found = search(well(depth=-0.2, width=1.0), runs=200)
    assert not found.escaped
    assert found.runs == 200
    assert 0.2 <= found.worst.least < 0.35


def test_it_stops_at_the_first_escape():
    played = []

    def play(case):
        played.append(case)
        return outcome(case, -1.0 if case.faults == ("fault-3",) else 1.0)

    found = search(play)
    assert found.runs == len(played) == 4
    assert found.worst.case.faults == ("fault-3",)


def test_a_night_that_showed_nothing_is_counted_and_never_the_worst():
    found = search(lambda case: outcome(case, -1.0, fired=False), runs=30)
    assert found.worst is None
    assert found.invalid == found.runs > 0
    assert not found.escaped


def test_a_board_that_is_never_in_a_phase_is_a_finding():
    """The nights say "run" of themselves."""
    hunted = Search(weighed(lambda case: outcome(case, 1.0, fired=False)), 300)
    hunted.sweep([("boot", Case((name,), 0, 1)) for name in NAMES])
    assert hunted.found.runs == 3
    assert hunted.found.astray == ("boot", "run")
    assert hunted.found.escaped


def test_a_board_that_was_once_in_a_phase_is_not_astray():
    hunted = Search(weighed(lambda case: outcome(case, 1.0)), 300)
    cases = [Case((name,), 0, 1) for name in NAMES]
    hunted.sweep([("run", cases[0]), *(("boot", case) for case in cases[:2])])
    assert hunted.found.runs == 3
    assert not hunted.found.escaped


def test_progress_is_told_up_to_the_end():
    shares = []
    hunted = Search(weighed(well(depth=-0.2, width=1.0)), 50, shares.append)
    hunted.pull(hunted.sweep(sharps(1)), 1)
    assert shares == [n / 50 for n in range(1, 51)]


CASE = Case(("pump-weak",), 0, 1)


@pytest.mark.parametrize(("told", "least", "what"), [
    (outcome(CASE, 0.3), 0.3, "kept"),
    (outcome(CASE, -0.3), -0.3, "kept"),
    (outcome(CASE, -0.3, counted="not promised"), INVALID, ""),
    (outcome(CASE, 0.3, fired=False), INVALID, ""),
    (outcome(CASE, 0.9, caught_s=3.0, deadline_s=4.0), 0.75, "deadline"),
    (outcome(CASE, 0.9, caught_s=None, deadline_s=4.0), 0.5, "deadline"),
    (outcome(CASE, 0.9, caught_s=5.0, deadline_s=4.0, more=("deadline",)), -1.0, "deadline"),
    (outcome(CASE, 0.9, more=("named elsewhere",)), -1.0, "named elsewhere"),
])  # fmt: skip
def test_the_least_margin_is_of_what_counts(told, least, what):
    tried = weigh(CASE, told, COUNTED)
    assert (tried.least, tried.what) == (pytest.approx(least), what)


def test_a_searched_case_is_named_by_its_places_and_read_back():
    u = [0.5] * DIMENSIONS
    u[0], u[4] = 0.125, 0.8999
    case = place(CASE, u)
    assert case.key == "pump-weak/0@1=0:125,4:900"
    assert parse_case(case.key) == case
    assert draw(case) == tuple(0.125 if n == 0 else 0.9 if n == 4 else 0.5
                               for n in range(DIMENSIONS))
    middle = place(CASE, [0.5] * DIMENSIONS)
    assert middle.key == "pump-weak/0@1="
    assert parse_case(middle.key) == middle
    assert parse_case("pump-weak/0@1") == CASE


@pytest.mark.parametrize("text", ["a/0@1=0:1000", "a/0@1=99:1", "a/0@1=1:1,1:2", "a/0@1=1", "a/0"])
def test_a_text_that_is_no_case_is_refused(text):
    with pytest.raises(ValueError, match="is no case"):
        parse_case(text)
