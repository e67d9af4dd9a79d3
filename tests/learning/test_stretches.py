"""What drives the plant and what is held against it, made from rows."""

from __future__ import annotations

import numpy as np
import pytest

from coilward.learning.log import log_of_rows
from coilward.learning.stretches import BLUR_S, REACH, stretches
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.simulator.actuators import FANS_S
from coilward.simulator.parameters import parameters
from tests.learning.made import TODAY

LOOP = read_loop("greenhouse")
P = parameters(LOOP, derive(LOOP, TODAY), -8.0)


def log_with(every_s, lost=(), **columns):
    """An hour of even rows in which nothing happens but what is given."""
    time_s = np.arange(0.0, 3600.0, every_s)
    same = np.ones(len(time_s))
    rows = {"coil_outlet": 60 * same, "radiator_inlet": 59 * same, "radiator_outlet": 30 * same,
            "tank": 20 * same, "room": 8 * same, "flow": 8 * same, "fans": same}  # fmt: skip
    rows |= {name: make(time_s) for name, make in columns.items()}
    for name, first, last in lost:
        rows[name] = np.where((time_s >= first) & (time_s < last), np.nan, rows[name])
    return log_of_rows("x.csv", time_s, rows)


@pytest.mark.parametrize("every_s", [1, 2, 5, 10])
def test_fans_are_switched_between_the_row_that_shows_it_and_the_row_before(every_s):
    log = log_with(every_s, fans=lambda t: (t >= 1800.0).astype(float))
    (stretch,) = stretches(log, LOOP, P)
    still_s = float(np.trapezoid(1.0 - stretch.fans))
    assert still_s == pytest.approx(1800.0 - 0.5 * every_s + FANS_S, abs=0.1)


@pytest.mark.parametrize("every_s", [1, 5])
def test_what_drives_and_what_is_held_against_it_are_blurred_alike(every_s):
    step = lambda t: 40.0 + 20.0 * (t >= 1800.0)  # noqa: E731
    log = log_with(every_s, coil_outlet=step, radiator_inlet=step)
    (stretch,) = stretches(log, LOOP, P)
    driver = np.interp(
        stretch.at_rows["radiator_inlet"], np.arange(stretch.rows), stretch.outlet_c
    )
    assert np.array_equal(driver, stretch.readings["radiator_inlet"])
    assert np.ptp(driver) == pytest.approx(20.0, abs=0.1)
    steepest = 20.0 / (np.sqrt(2 * np.pi) * max(BLUR_S, 2.0 * every_s))
    assert stretch.outlet_k_s.max() == pytest.approx(steepest, rel=0.05)


def test_no_reading_counts_that_a_gap_has_blurred():
    log = log_with(1, lost=[("radiator_outlet", 2000.0, 2100.0)])
    (stretch,) = stretches(log, LOOP, P)
    near_s = np.abs(stretch.at_rows["radiator_outlet"][:, None] - [1999.0, 2100.0]).min()
    assert near_s >= REACH * BLUR_S
    assert len(stretch.at_rows["radiator_inlet"]) - len(stretch.at_rows["radiator_outlet"]) > 100


def test_a_short_gap_is_bridged_and_a_long_one_cuts():
    short = log_with(1, lost=[("flow", 2000.0, 2020.0)])
    long = log_with(1, lost=[("flow", 2000.0, 2100.0)])
    assert len(stretches(short, LOOP, P)) == 1
    assert len(stretches(long, LOOP, P)) == 2
