"""Which row told first, and for how long that is remembered."""

from __future__ import annotations

import pytest

from coilward.controller.decide import decide
from coilward.controller.interlocks import INDEX, bit
from coilward.controller.phases import BOOT, DRY, NO_FLOW, PHASES, SHUTDOWN
from coilward.controller.state import NO, YES, first_state
from coilward.controller.types import Requests
from tests.controller.rig import Rig, constants_of, healthy

BEFORE = INDEX["C05"]
OPEN_TROUBLE = (BOOT, NO_FLOW, DRY)
QUIET_PHASES = [each for each in range(len(PHASES)) if each not in OPEN_TROUBLE]


def first_out(phase=SHUTDOWN, was=-1, latched=(), held=(), requests=None, fire=YES, **changes):
    """What is told as first after one tick with these rows standing."""
    constants = constants_of()
    state = first_state(constants, phase, fire)
    state = state._replace(
        mode=state.mode._replace(first_out=was, latched=sum(map(bit, latched))),
        watch=state.watch._replace(held=sum(map(bit, held))),
    )
    given = healthy(constants)._replace(**changes)
    return decide(given, requests or Requests(), state, constants).state.mode


@pytest.mark.parametrize("phase", QUIET_PHASES)
def test_a_quiet_loop_has_no_first(phase):
    assert first_out(phase, was=BEFORE).first_out == -1


@pytest.mark.parametrize("phase", OPEN_TROUBLE)
def test_a_quiet_moment_in_the_middle_of_trouble_forgets_nothing(phase):
    still = {"flow_lpm": 0.0, "pulse_age_s": 5.0, "flow_switch": 0.0}
    made = first_out(phase, was=BEFORE, fire=NO if phase == DRY else YES, **still)
    assert made.phase == phase
    assert made.first_out == BEFORE


@pytest.mark.parametrize(("latched", "held"), [
    (["C32"], []), ([], ["C13"]), (["C32"], ["C13"]), (["C09"], ["C13"]),
])  # fmt: skip
def test_while_anything_stands_the_first_stays(latched, held):
    rows = {"latched": latched, "held": held}
    assert first_out(was=BEFORE, **rows).first_out == BEFORE
    assert first_out(was=0, **rows).first_out == 0


@pytest.mark.parametrize(("latched", "held", "first"), [
    (["C32"], [], "C32"), (["C32", "C14"], [], "C14"), ([], ["C13"], "C13"),
    ([], ["C15", "C18"], "C15"), (["C09"], ["C13"], "C13"), (["C32"], ["C13"], "C13"),
])  # fmt: skip
def test_what_counts_now_comes_before_what_is_only_latched(latched, held, first):
    assert first_out(latched=latched, held=held).first_out == INDEX[first]


def test_a_row_that_latches_and_counts_at_once_is_first_until_it_is_reset():
    rig = Rig().settle(20.0).run(1.0, Requests(emergency=True))
    assert rig.state.raised == rig.state.mode.latched == bit("C32")
    rig.run(1.0, Requests(emergency=True))
    assert rig.state.mode.first_out == INDEX["C32"]
    rig.run(5.0)
    assert rig.state.mode.first_out == INDEX["C32"]
    rig.set(level_low_low=1.0).run(5.0)
    assert rig.state.mode.first_out == INDEX["C32"]


def test_the_first_row_can_be_the_first_of_the_table():
    rig = Rig().settle(20.0).stop_water(current="as before")
    rig.until(lambda r: r.state.raised & bit("C01"), 20.0)
    assert rig.state.mode.first_out == INDEX["C01"] == 0
    rig.set(level_low_low=1.0).run(5.0)
    assert rig.state.mode.first_out == 0
