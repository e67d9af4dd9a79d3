"""What belongs to one phase lies at rest in every other: check, permission, guard, retries."""

from __future__ import annotations

import pytest

from coilward.controller.decide import decide
from coilward.controller.phases import (
    COLD_START,
    FREEZE,
    MAINTENANCE,
    NO_FLOW,
    PHASES,
    RUN,
    STANDBY,
)
from coilward.controller.prelight import ALL
from coilward.controller.state import NO, YES, first_state
from coilward.controller.types import Requests
from tests.controller.rig import constants_of, healthy
from tests.controller.scenes import COLD_LOOP

RESTING = (STANDBY, COLD_START, FREEZE, MAINTENANCE)
TICK_S = constants_of().tick_s


def after_one(phase, requests=None, readings=None, **control):
    """One tick from a phase, with these things left over in its memory."""
    fire = NO if phase in RESTING else YES
    constants = constants_of()
    state = first_state(constants, phase, fire)
    state = state._replace(
        mode=state.mode._replace(permitted=True),
        control=state.control._replace(**control),
        ages=state.ages._replace(phase_s=500.0),
    )
    good = healthy(constants)
    if fire == NO:
        good = good._replace(**COLD_LOOP, flow_lpm=0.0)
    asked = requests or Requests(key=phase == MAINTENANCE)
    return decide(good._replace(**(readings or {})), asked, state, constants)


@pytest.mark.parametrize("phase", range(len(PHASES)))
def test_what_a_phase_left_over_is_gone_in_the_next(phase):
    made = after_one(phase, passed=ALL, guard_s=50.0, tries=2.0, retry_off_s=0.5).state
    if made.mode.phase != COLD_START:
        assert made.control.passed == 0
        assert not made.mode.permitted
    if made.mode.phase != FREEZE:
        assert made.control.guard_s == 0.0
    if made.mode.phase != NO_FLOW:
        assert made.control.tries == made.control.retry_off_s == made.control.retry_gap_s == 0.0
    if made.mode.phase != RUN:
        assert made.control.target_lpm == made.control.error_k == 0.0
        assert not made.control.closing


def test_the_check_and_the_guard_begin_with_nothing():
    started = after_one(STANDBY, Requests(prepare=True), passed=ALL, guard_s=50.0).state
    assert started.mode.phase == COLD_START
    assert started.control.passed == 0
    assert not started.mode.permitted
    guarding = after_one(STANDBY, readings={"line_min_c": 3.0}, guard_s=50.0).state
    assert guarding.mode.phase == FREEZE
    assert guarding.control.guard_s == 0.0
    going_on = after_one(FREEZE, readings={"line_min_c": 3.0}, guard_s=50.0).state
    assert going_on.control.guard_s == 50.0 + TICK_S


def test_a_check_of_more_than_all_there_is_permits_nothing():
    """Damaged memory."""
    made = after_one(COLD_START, passed=ALL | 1 << 20).state
    assert made.mode.phase == COLD_START
    assert not made.mode.permitted
    assert after_one(COLD_START, passed=ALL).state.mode.permitted
