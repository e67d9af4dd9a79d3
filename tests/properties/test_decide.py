"""What must hold for any readings, any requests, any state."""

from __future__ import annotations

import math

import pytest
from hypothesis import HealthCheck, assume, example, given, settings
from hypothesis import strategies as st

from coilward.controller.decide import decide
from coilward.controller.estimating import stands
from coilward.controller.interlocks import LATCH_DRY, METER_DEAD, STOOD_TOO_LONG
from coilward.controller.phases import BOOT, DRY, NO_FLOW, PHASES, WARM_UP
from coilward.controller.sensing import sense
from coilward.controller.state import (
    COLD,
    NO,
    UNKNOWN,
    WET,
    after_reboot,
    first_state,
    sound_state,
)
from coilward.controller.types import Commands, Readings, Requests
from tests.controller.rig import NAN, Rig, constants_of, healthy
from tests.controller.strategies import READINGS, REQUESTS, STATES, WILD_STATES

LOOPS = ("greenhouse", "boathouse", "hot-tub")
CONSTANTS = st.sampled_from([constants_of(name) for name in LOOPS])
CHANNELS = [name for name in Readings._fields if name not in ("time_s", "outage_s")]
THOROUGH = settings(max_examples=400, deadline=None)


def told_to_stand(readings, state, constants):
    """Whether these readings say that the water stands, whatever else they say."""
    sound = sound_state(state, constants)
    seen = sense(
        readings, sound.doubt.suspects, sound.mode, sound.ages, sound.watch, sound.control,
        constants,
    )
    return stands(seen, sound.mode.meter_dead)


def hot_without_pulses(constants):
    """A coil so hot that its window is over as soon as the pulses end, and a pump long on."""
    state = first_state(constants)
    return state._replace(
        mode=state.mode._replace(phase=WARM_UP, fire=UNKNOWN, coil=WET),
        ages=state.ages._replace(window_s=0.0),
        watch=state.watch._replace(pump_on_s=600.0),
        control=state.control._replace(pump=True),
    )


def meter_known_dead(constants):
    """A meter that was found dead, by a flow switch that says that water moves."""
    state = hot_without_pulses(constants)
    mode = state.mode._replace(phase=NO_FLOW, latched=METER_DEAD, meter_dead=True)
    return state._replace(mode=mode, ages=state.ages._replace(phase_s=60.0), seen=METER_DEAD)


def well_formed(commands: Commands) -> bool:
    return (
        isinstance(commands.pump, bool)
        and 0.0 <= commands.valve <= 1.0
        and 0.0 <= commands.fans <= 1.0
        and commands.horn in (0, 1, 2, 3)
        and isinstance(commands.damper_open, bool)
        and isinstance(commands.dump_open, bool)
    )


@THOROUGH
@given(READINGS, REQUESTS, st.one_of(STATES, WILD_STATES), CONSTANTS)
def test_decide_is_total(readings, requests, state, constants):
    decision = decide(readings, requests, state, constants)
    assert well_formed(decision.commands)
    assert 0 <= decision.state.mode.phase < len(PHASES)
    again = decide(readings, requests, decision.state, constants)
    assert well_formed(again.commands)


@THOROUGH
@given(READINGS, REQUESTS, STATES, CONSTANTS)
def test_decide_is_pure(readings, requests, state, constants):
    one = decide(readings, requests, state, constants)
    two = decide(readings, requests, state, constants)
    assert repr(one) == repr(two)


@THOROUGH
@given(READINGS, REQUESTS, STATES, CONSTANTS)
def test_water_moves_while_a_fire_may_be_in_and_the_coil_is_wet(
    readings, requests, state, constants
):
    decision = decide(readings, requests, state, constants)
    mode, control = decision.state.mode, decision.state.control
    assume(mode.fire != NO and mode.coil == WET and not mode.dry and mode.phase != BOOT)
    retrying = mode.phase == NO_FLOW and control.retry_off_s > 0.0
    assert decision.commands.pump or retrying


@THOROUGH
@given(READINGS, REQUESTS, STATES, CONSTANTS)
def test_a_coil_that_may_be_dry_never_sees_the_pump(readings, requests, state, constants):
    decision = decide(readings, requests, state, constants)
    mode = decision.state.mode
    if mode.dry or (mode.phase == DRY and mode.fire != NO):
        assert not decision.commands.pump
    if state.mode.dry and 0 <= state.mode.phase < len(PHASES):
        person = requests.reset and mode.fire == NO
        assert mode.dry or person


@THOROUGH
@given(READINGS, REQUESTS, STATES, CONSTANTS)
def test_the_emergency_button_never_stops_the_water(readings, requests, state, constants):
    without = decide(readings, requests._replace(emergency=False), state, constants)
    pressed = decide(readings, requests._replace(emergency=True), state, constants)
    assert pressed.commands.pump >= without.commands.pump
    assert not pressed.commands.damper_open


@THOROUGH
@given(READINGS, REQUESTS, STATES, CONSTANTS)
def test_the_valve_is_never_told_below_its_stop(readings, requests, state, constants):
    decision = decide(readings, requests, state, constants)
    assert decision.commands.valve >= constants.valve.stop


@THOROUGH
@given(READINGS, REQUESTS, STATES, CONSTANTS)
def test_a_remote_request_moves_nothing(readings, requests, state, constants):
    without = decide(readings, requests._replace(remote_unsafe=False), state, constants)
    asked = decide(readings, requests._replace(remote_unsafe=True), state, constants)
    assert asked.commands._replace(horn=0) == without.commands._replace(horn=0)
    assert asked.commands.horn >= without.commands.horn or without.state.watch.silence_s > 0.0


@THOROUGH
@given(READINGS, REQUESTS, STATES, CONSTANTS)
def test_silence_moves_nothing_but_the_horn(readings, requests, state, constants):
    without = decide(readings, requests._replace(silence=False), state, constants)
    silent = decide(readings, requests._replace(silence=True), state, constants)
    assert silent.commands._replace(horn=0) == without.commands._replace(horn=0)


@settings(  # Many made-up ticks end in the lock-out: as many are tried as give 1,500 others.
    max_examples=1500, deadline=None, suppress_health_check=[HealthCheck.filter_too_much]
)
@given(READINGS, REQUESTS, STATES, CONSTANTS, st.sampled_from(CHANNELS))
@example(
    healthy(constants_of("greenhouse"))._replace(flow_lpm=0.0), Requests(),
    hot_without_pulses(constants_of("greenhouse")), constants_of("greenhouse"), "flow_switch",
)
@example(
    healthy(constants_of("greenhouse"))._replace(flow_lpm=0.0), Requests(),
    meter_known_dead(constants_of("greenhouse")), constants_of("greenhouse"), "flow_switch",
)
def test_a_missing_reading_never_reduces_protection(
    readings, requests, state, constants, channel
):
    """Losing a reading clears no cause and moves no actuator to the unsafe side.

    A cause that is latched goes on acting without its reading: it is not cleared. That a meter
    is dead is latched in the tick in which it is seen: no state has the one without the other.

    The lock-out is the one thing that asks for positive evidence: what stops the pump may
    go away with its witness, so the pump may be on where it would have been off. What held it
    off may go away too: readings that say that water stands lock the coil out when its window
    is over, unless others say that it moves; one of those that is lost says nothing, as on a
    loop that has none. The readings must have said so before the loss. A permitted retry that
    has begun ends its second of rest. The three seconds of a boot follow rules of their own,
    tested beside them. A fire that nobody knows of yet can only be found by a reading, so the
    rule starts where a fire is not ruled out.
    """
    assume(state.mode.phase != BOOT and state.mode.fire != NO)
    if state.seen & METER_DEAD:
        mode = state.mode._replace(latched=state.mode.latched | METER_DEAD, meter_dead=True)
        state = state._replace(mode=mode)
    whole = decide(readings, requests, state, constants)
    lost = decide(readings._replace(**{channel: NAN}), requests, state, constants)
    assume(whole.state.mode.phase != DRY)
    retrying = lost.state.mode.phase == NO_FLOW and lost.state.control.retry_off_s > 0.0
    locked = lost.state.raised & STOOD_TOO_LONG != 0
    unopposed = locked and told_to_stand(readings, state, constants)
    assert lost.commands.pump >= whole.commands.pump or retrying or unopposed
    assert lost.commands.damper_open <= whole.commands.damper_open
    if whole.state.mode.fire != NO and lost.state.mode.phase != DRY:
        assert lost.commands.valve >= whole.commands.valve
    acting = lost.state.raised | lost.state.mode.latched
    cleared = whole.state.raised & ~acting & state.seen & ~LATCH_DRY
    assert cleared == 0
    if whole.state.mode.fire != NO:
        assert lost.state.mode.fire != NO


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["stop", "start", "hot", "cool", "nan", "cut", "press", "reboot"]),
            st.floats(0.25, 20.0),
        ),
        max_size=10,
    )
)
def test_any_story_keeps_the_two_rules_of_water(story):
    """Whatever happens in whatever order: wet means moving, maybe dry means never again."""
    rig = Rig(constants_of("greenhouse")).settle(30.0)
    dry_seen = False
    for act, seconds in story:
        request = Requests()
        if act == "stop":
            rig.stop_water()
        elif act == "start":
            rig.start_water()
        elif act == "hot":
            rig.set(coil_outlet_a_c=82.0, coil_metal_c=110.0)
        elif act == "cool":
            rig.set(coil_outlet_a_c=60.0, coil_metal_c=70.0)
        elif act == "nan":
            rig.set(pump_a=NAN, flow_switch=NAN)
        elif act == "cut":
            rig.state = after_reboot(rig.state)
            rig.set(outage_s=seconds * 3.0, pump_contact=0.0)
        elif act == "press":
            request = Requests(reset=True, emergency=True, lit=True, prepare=True)
        else:
            rig.state = after_reboot(rig.state)
            rig.set(pump_contact=1.0, outage_s=0.5)
        for _ in range(math.ceil(seconds / rig.constants.tick_s)):
            rig.tick(request)
            mode = rig.state.mode
            dry_seen = dry_seen or mode.dry
            if dry_seen:
                assert mode.dry
                assert not rig.commands.pump
            elif mode.coil in (WET, COLD) and mode.phase not in (BOOT, NO_FLOW):
                assert rig.commands.pump


@THOROUGH
@given(READINGS, REQUESTS, STATES, CONSTANTS)
def test_a_reboot_at_any_tick_forgets_no_latch_and_no_clock(readings, requests, state, constants):
    """Latches, fire, coil, the coil's clock and the refill window are stored at every tick."""
    before = decide(readings, requests, state, constants).state
    found = after_reboot(before)
    assert found.mode.phase == BOOT
    for name in ("dry", "latched", "fire", "coil", "first_out", "meter_dead"):
        assert getattr(found.mode, name) == getattr(before.mode, name)
    for name in ("still_s", "window_s", "heat_s", "flow_return_s", "dump_4_s"):
        assert getattr(found.ages, name) == getattr(before.ages, name)
    after = decide(readings, requests._replace(reset=False), found, constants)
    assert after.state.mode.latched & before.mode.latched == before.mode.latched
    assert after.state.mode.dry or not before.mode.dry


def test_channels_are_named_as_they_are_read():
    with pytest.raises(ValueError, match="unexpected field"):
        Rig().readings._replace(no_such_channel=1.0)
