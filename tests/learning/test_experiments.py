"""The test that is proposed tells what the log could not."""

from __future__ import annotations

import math
from datetime import date
from itertools import pairwise

import pytest

from coilward.learning.experiments import EXPERIMENTS, ranked
from coilward.learning.learned import learn
from coilward.learning.proposing import changes, hot_leg_w_mk, updated
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.simulator import slots as at
from coilward.simulator.parameters import parameters
from tests.learning.made import HELD, made

TODAY = date(2026, 11, 25)
FANS_ON_ONLY = (
    (0, True, 1.0, 1.0, True, None),
    (5, True, 0.6, 1.0, True, ("hold", 1.0)),
    (40, True, 0.6, 1.0, True, None),
)


@pytest.fixture(scope="module")
def steady():
    """A log in which the fans never stood and the damper never shut."""
    log, truth = made(6, FANS_ON_ONLY, every=2, gaps=False)
    return learn(truth.file, log, TODAY)


def test_what_never_happened_is_not_told(steady):
    assert steady.number("radiator.fans_on").told
    for key in ("radiator.fans_off", "fire.decay", "fire.caught"):
        assert not steady.number(key).told, key
        assert steady.number(key).why


def test_the_fitting_test_is_proposed(steady):
    derived = derive(steady.loop, TODAY)
    fans = ranked(steady.plant, steady.fit, derived, ["radiator.fans_off"], math.nan)
    assert fans[0].experiment.key == "fans"
    assert "radiator.fans_off" in fans[0].tells
    decay = ranked(steady.plant, steady.fit, derived, ["fire.decay"], math.nan)
    assert decay[0].experiment.key == "damper"
    assert len(fans) == len(EXPERIMENTS)
    assert all(one.gain >= other.gain for one, other in pairwise(fans))


def test_the_proposed_test_does_tell_it():
    """The held burn has the fans off for twelve minutes: then it is told, and right."""
    log, truth = made(6, HELD, every=2)
    told = learn(truth.file, log, TODAY).number("radiator.fans_off")
    assert told.told
    assert told.value == pytest.approx(truth.numbers["radiator.fans_off"], rel=0.05)


def test_changes_give_a_loop_that_is_what_was_learned(steady):
    every = changes(steady)
    new = updated(steady.loop, every)
    assert {change.key for change in every} >= {"radiator.fans_on", "tank.water"}
    assert new.radiator.fans_on_w_k == pytest.approx(
        steady.number("radiator.fans_on").value, rel=1e-3
    )
    assert new.fire == steady.loop.fire
    assert new.passive == steady.loop.passive


def test_the_hot_leg_loses_what_was_measured():
    """There and back: the conductivity that gives a loss gives it in the plant's parameters."""
    loop = read_loop("greenhouse")
    conductivity = hot_leg_w_mk(loop.lines.hot, 2.5)
    hot = loop.lines.hot.model_copy(update={"insulation_w_mk": conductivity})
    other = loop.model_copy(update={"lines": loop.lines.model_copy(update={"hot": hot})})
    p = parameters(other, derive(other, TODAY), -8.0)
    assert at.LINE_CELLS * p[at.HOT_W_K] == pytest.approx(2.5, rel=1e-6)
    assert hot_leg_w_mk(loop.lines.hot, 1e6) is None
