"""A case's key alone gives everything that is drawn for it."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest

from coilward.loop.document import read_loop
from coilward.proving.case import (
    DIMENSIONS,
    DRAWN,
    Case,
    draw,
    parse_case,
    phases_for,
    story,
)
from coilward.proving.scenes import PRELUDES, STOOD_S, STOP_S
from coilward.proving.stage import Stage
from coilward.simulator import slots as at
from coilward.simulator.bench import Bench
from coilward.simulator.faults import FAULTS, forget, register
from coilward.simulator.faults.fault import BURNING
from coilward.simulator.tolerances import TOLERANCES, deviate
from tests.simulator.plants import LOOPS, TODAY

CASES = [
    Case(("pump-stalls",), 0, 1), Case(("pump-stalls",), 17, 1), Case(("pump-stalls",), 17, 2),
    Case(("meter-dead",), 17, 1), Case(("pump-stalls", "meter-dead"), 3, 1),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_a_key_reads_back_to_its_case(case):
    assert parse_case(case.key) == case


@pytest.mark.parametrize("text", ["", "pump", "pump/1", "pump@1", "a+b+c/1@1", "a/-1@1", "a/1@b"])
def test_what_is_no_key_is_refused(text):
    with pytest.raises(ValueError, match="no case"):
        parse_case(text)


def test_a_draw_is_a_function_of_the_key_alone_and_no_two_keys_share_one():
    draws = [draw(case) for case in CASES]
    assert draws == [draw(parse_case(case.key)) for case in CASES]
    assert len(set(draws)) == len(CASES)
    assert all(len(each) == DIMENSIONS for each in draws)
    # First eight bytes that another program gives: openssl dgst -shake256 -xoflen 8.
    assert draws[1][0] == (0xdcb8f9d0490baa01 >> 11) * 2.0**-53


def test_draws_fill_their_range_evenly():
    """Mean 1/2 and variance 1/12 of the uniform distribution, within four standard errors."""
    numbers = [n for index in range(300) for n in draw(Case(("fans-fail",), index, 1))]
    mean = sum(numbers) / len(numbers)
    spread = sum((n - mean) ** 2 for n in numbers) / len(numbers)
    assert mean == pytest.approx(0.5, abs=4 * (1 / 12 / len(numbers)) ** 0.5)
    assert spread == pytest.approx(1 / 12, rel=0.03)
    assert 0.0 <= min(numbers) < 0.001 < 0.999 < max(numbers) < 1.0


@pytest.fixture
def anywhere():
    """A fault that acts in every phase: it changes a number that nothing reads."""
    row = replace(FAULTS["hand-left-on"], name="anywhere", phases=tuple(PRELUDES), lasts_s=5.0)
    register(row)
    yield row
    forget("anywhere")


@pytest.mark.parametrize("name", LOOPS)
def test_every_phase_is_reached_on_every_loop(name, anywhere):
    stage = Stage(read_loop(name), today=TODAY)
    phases = phases_for(stage.loop, [anywhere])
    assert set(phases) == set(PRELUDES)
    for index in range(3 * len(phases)):
        case = Case(("anywhere",), index, 1)
        outcome = stage.play(case)
        assert outcome.phase == stage.story(case).phase == phases[index % len(phases)]
        assert outcome.fired


@pytest.mark.parametrize("name", LOOPS)
def test_a_stop_before_the_onset_is_noticed_and_a_long_one_locks_off(name):
    derived = Bench(read_loop(name), TODAY, "interpreted").derived
    assert derived.low_flow_total_s < STOP_S < derived.window_largest_s
    assert 2.0 * derived.window_nominal_s < STOOD_S


def test_a_loop_without_outdoor_lines_has_no_freeze_guard(anywhere):
    loop = read_loop("boathouse")
    lines = {name: getattr(loop.lines, name).model_copy(update={"outdoors": False})
             for name in ("cold", "hot", "back")}  # fmt: skip
    inside = loop.model_copy(update={"lines": loop.lines.model_copy(update=lines)})
    assert "freeze guard" not in phases_for(inside, [anywhere])


def test_no_phase_is_said_and_not_guessed(anywhere):
    register(replace(anywhere, name="nowhere", phases=("asleep",)))
    try:
        with pytest.raises(ValueError, match="no phase"):
            story(read_loop("boathouse"), Case(("nowhere",), 0, 1), draw(CASES[0]))
    finally:
        forget("nowhere")


def test_deviations_stay_in_their_spread_and_none_is_no_change():
    bench = Bench(read_loop("greenhouse"), TODAY, "interpreted")
    sound = bench.sound(0.0)
    for place in (-1.0, 0.0, 1.0):
        p = bench.sound(0.0)
        deviate(p, bench.loop, [place] * len(TOLERANCES))
        for tolerance in TOLERANCES:
            for slot in tolerance.slots:
                assert p[slot] == pytest.approx(sound[slot] * (1.0 + place * tolerance.spread))
        error_k = bench.loop.sensors.tank.error_k
        off_k = p[at.OFFSET_K_ + at.TANK] - sound[at.OFFSET_K_ + at.TANK]
        assert off_k == pytest.approx(place * error_k)
        if place == 0.0:
            assert p == sound


def test_numbers_at_the_ends_of_their_range_still_tell_a_story():
    loop, fault = read_loop("greenhouse"), FAULTS["pump-weak"]
    for ends in (0.0, 1.0 - 2.0**-53):
        told = story(loop, Case((fault.name,), 0, 1), [ends] * DIMENSIONS)
        assert fault.lowest <= told.sizes[0] <= fault.highest
        assert all(-1.0 <= each <= 1.0 for each in told.deviations)
        assert told.onset_s % loop.tick_s == 0.0
    assert len(DRAWN) + len(TOLERANCES) == DIMENSIONS


def test_pairs_meet_in_different_phases_and_each_in_all_of_them_in_turn():
    loop = read_loop("greenhouse")
    burning = [name for name, fault in FAULTS.items() if fault.phases == BURNING]
    stories = [story(loop, case, draw(case)) for case in
               (Case(pair, 0, 1) for pair in pairwise(burning))]  # fmt: skip
    most = max(Counter(each.phase for each in stories).values())
    assert most < len(stories) / 2
    pair = "pump-stalls", "meter-dead"
    phases = phases_for(loop, [FAULTS[name] for name in pair])
    turns = [Case(pair, index, 1) for index in range(len(phases))]
    assert {story(loop, case, draw(case)).phase for case in turns} == set(phases) > {"run"}
