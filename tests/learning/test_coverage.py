"""A seeded share of what `benchmarks/learning.py` counts: intervals hold, bad logs are noticed."""

from __future__ import annotations

import pytest

from coilward.learning.learned import INEXACT, learn
from tests.learning.made import HELD, TODAY, WOOD, made
from tests.learning.trials import covered, spoiled

KNOWN = {
    "radiator.fans_on", "radiator.fans_off", "tank.water", "lines.hot.loss",
    "sensors.coil_outlet_a.offset", "sensors.room.offset",
}  # fmt: skip


def test_intervals_cover_what_the_logs_were_made_with():
    """Of about fifty intervals of 95 % a few may miss, and none by far."""
    found = [each for seed in (2, 3, 4, 5) for each in covered(seed)]
    assert {key for key, _, _ in found} >= KNOWN | {"fire.caught", "fire.decay"}
    missed = [(key, off) for key, off, _ in found if abs(off) > 1.0]
    assert len(missed) <= 0.1 * len(found), missed
    assert all(abs(off) < 2.5 for _, off, _ in found), missed


def test_intervals_are_narrow_where_the_log_tells():
    half = {key: share for key, _, share in covered(2)}
    assert half["radiator.fans_on"] < 0.03
    assert half["tank.water"] < 0.03
    assert half["fire.caught"] < 0.03


def test_what_the_plant_leaves_out_of_a_radiator_is_what_is_allowed_for():
    """16 such logs (seeds 1430 to 1445) lay 1.3 % over the truth in the mean."""
    off = []
    for seed in (1430, 1431, 1432, 1433):
        script = WOOD if seed % 2 == 0 else HELD
        log, truth = made(seed, script, "boathouse", every=1, gaps=False, late=False)
        off.append(learn(truth.file, log, TODAY).number("radiator.fill").value - 1.0)
    assert abs(sum(off) / len(off)) < 2.0 * INEXACT["radiator.fill"]


@pytest.mark.parametrize("seed", [2, 7, 9])
def test_a_swapped_or_offset_thermometer_is_noticed(seed):
    what, said = spoiled(seed)
    assert said, what
