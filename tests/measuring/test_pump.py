"""The pump's currents."""

from __future__ import annotations

import numpy as np
import pytest

from coilward.measuring.pump import COLUMNS, calibrate, class_of
from tests.measuring.tables import PUMP, faults, read


def learn(text=PUMP):
    return calibrate(read(COLUMNS, text), step_a=0.01)


def test_the_window_lies_half_way_between_the_classes():
    found = learn()
    running, shut, dry, held = found.classes
    assert found.running_a == pytest.approx(np.mean([4.02, 3.97, 4.05, 4.0, 3.98]))
    assert found.low_a == pytest.approx((dry.high_a + shut.low_a) / 2)
    assert found.high_a == pytest.approx((running.high_a + held.low_a) / 2)
    assert dry.high_a < found.low_a < shut.low_a < running.low_a
    assert found.tells_shut
    assert found.flow_lpm == pytest.approx(12.0)
    # Student: s = 0.0816 over the root of 4, k = 3.31 at 3 freedoms (GUM, table G.2)
    assert found.flow_doubt.expanded == pytest.approx(3.31 * 0.0816 / 2, abs=2e-3)


def test_a_class_by_hand():
    """Five readings: one-sided factor 5.74 for 99 % with 95 % (NIST e-Handbook method; memory)."""
    each = class_of("running", [4.02, 3.97, 4.05, 4.0, 3.98], 0.0)
    assert (each.mean_a - each.low_a) / each.deviation_a == pytest.approx(5.741, abs=0.01)


def test_the_window_holds_what_it_promises():
    """99 % of a class in at least 95 of 100 learnings, tried with dice."""
    dice = np.random.default_rng(3)
    kept = [class_of("x", dice.normal(0, 1, 5), 0.0).low_a < -2.326 for _ in range(2000)]
    assert np.mean(kept) == pytest.approx(0.95, abs=0.015)


def test_a_shut_valve_may_look_like_running():
    text = PUMP.replace("3.31", "3.98").replace("3.28", "4.01").replace("3.35", "4.03")
    assert not learn(text).tells_shut


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("dry, 1.62", "dry, 3.2"), "dry reaches up to"),
        (("held fast, 9.1", "held fast, 4.5"), "held fast down to"),
        (("held fast, 9.0,\n", ""), "fewer than 3 readings of held fast"),
        (("shut off, 3.35,\n", ""), "fewer than 3 readings of shut off"),
    ],
)
def test_classes_that_overlap_or_are_thin_are_refused(change, words):
    assert words in faults(lambda: learn(PUMP.replace(*change)))[0]


def test_no_flow_is_no_baseline():
    text = "\n".join(",".join(line.split(",")[:2]) for line in PUMP.splitlines())
    found = learn(text)
    assert (found.flow_lpm, found.flow_doubt) == (None, None)
