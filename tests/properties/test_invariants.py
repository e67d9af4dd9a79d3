"""The twenty invariants, and where each is shown.

I1, I2, I3, I5, I6, I7, I8, I11, I14, I19  one tick: `invariants.py`, over stories in
    `test_board_machine.py`; I1, I2, I3, I6, I7, I8, I9, I19 from any state in `test_decide.py`;
    I2, I3, I5, I19 on the whole finite part in `test_finite.py` and `test_induction.py`
I4   here, on random sound loops; on the shipped ones in `whole_project/test_pump_loss.py`
I9   `test_decide.py`: a missing reading never reduces protection
I10  `loop/test_units.py`: spelling and parsing are inverse, and a number needs its unit
I12, I13  here, on random loops; typed limits one by one in `loop/test_derived.py`
I15  here: roll-over and clock steps
I16  here, on random sound loops
I17  the boil without hardware here; the same coil with it is a matter of the plant's tests
I18  `desk/test_verdict.py`: boiling is never a pass, whatever is fitted
I20  here
"""

from __future__ import annotations

import ast
import json
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from coilward.controller.constants import debounce_s
from coilward.controller.decide import decide
from coilward.controller.interlocks import CLOCK_JUMPED, ROWS
from coilward.controller.state import after_reboot
from coilward.controller.types import Readings, Requests
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.loop.layout import sound
from coilward.loop.model import Limits
from coilward.loop.safer import BOUNDS
from coilward.simulator.rehearsal import rehearse
from tests.controller.rig import NAN, TODAY, Rig, constants_of
from tests.properties.loops import fault, held, loops, night

ROOT = Path(__file__).parents[2]
FEW = settings(
    max_examples=8, deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
ROLL_S = 2.0**32 / 1000.0
"""A counter of milliseconds in 32 bits begins again after 49.7 days."""
JOINT_C = 121.0
"""Where service is hotter, joints are brazed: 250 degF (Copper Tube Handbook)."""

ACTS = ("calm", "stop", "start", "hot", "cool", "nan", "cut", "press", "reboot")
STORIES = st.lists(st.tuples(st.sampled_from(ACTS), st.integers(1, 80)), min_size=1, max_size=8)


def act(rig, what):
    """One act of a story; what is asked for while it lasts."""
    if what == "stop":
        rig.stop_water()
    elif what == "start":
        rig.start_water()
    elif what == "hot":
        rig.set(coil_outlet_a_c=81.0, coil_outlet_b_c=81.0)
    elif what == "cool":
        rig.set(coil_outlet_a_c=60.0, coil_outlet_b_c=60.0)
    elif what == "nan":
        rig.set(pump_a=NAN, tank_c=NAN)
    elif what in ("cut", "reboot"):
        rig.state = after_reboot(rig.state)
        rig.set(outage_s=1.0, pump_contact=0.0 if what == "cut" else 1.0)
    pressed = what == "press"
    return Requests(reset=pressed, emergency=pressed, finish=pressed)


def decided(rig):
    """What must not differ: outputs, mode, rows, and all ages but the time itself.

    A jump is noticed, by its row (which may be the first of the trouble) and a beep, and by
    nothing that moves.
    """
    commands, mode = rig.commands, rig.state.mode
    noticed = rig.state.raised & CLOCK_JUMPED
    horn = 0 if noticed and commands.horn == 1 else commands.horn
    rows = rig.state.raised & ~CLOCK_JUMPED
    return repr((commands._replace(horn=horn), mode._replace(first_out=-1), rows,
                 rig.state.ages[1:]))


def at_time(rig, time_s):
    """The same rig at another time of its clock."""
    rig.time_s = time_s
    rig.state = rig.state._replace(ages=rig.state.ages._replace(time_s=time_s))
    return rig


# --- I4, I16, I17: the plant ---


@FEW
@given(loops(), st.floats(200.0, 600.0), st.sampled_from(["pump-dies", "pump-stalls"]))
def test_i4_from_still_water_to_valve_damper_and_horn_within_the_deadline(loop, died_s, name):
    derived = derive(loop, TODAY)
    assume(not sound(loop, derived))
    run = rehearse(loop, night(fault(died_s, name), hours=0.2), today=TODAY)
    first = next(cause for cause in run.causes if cause.name in ("C01", "C02"))
    assert first.time_s - died_s <= derived.low_flow_total_s + loop.tick_s
    told = run.trace["time_s"] >= first.time_s + loop.tick_s
    locked = next((at_s for at_s, phase in run.phases if phase == "dry lock-out"), math.inf)
    told &= run.trace["time_s"] <= min(locked, died_s + 20.0)
    assert told.any()
    assert (run.trace["valve_cmd"][told] == 1.0).all()
    assert not run.trace["damper_cmd"][told].any()
    assert (run.trace["horn"][told] == 3.0).all()


SURVIVED = ("fan-fails", "outlet-a-open", "outlet-b-open", "tank-open", "current-lost", "level-low")
"""Faults of instruments and fans, which the logic alone has to bring to a good end."""


@FEW
@given(loops(), st.floats(200.0, 900.0), st.sampled_from(SURVIVED))
def test_i16_what_logic_alone_survives_keeps_its_distance_from_boiling(loop, at_s, name):
    derived = derive(loop, TODAY)
    assume(not sound(loop, derived))
    run = rehearse(loop, night(fault(at_s, name), hours=0.5), today=TODAY)
    assert run.first_boil_s is None
    assert run.margins.boil_k >= 5.0
    assert run.peaks.coil_outlet_true_c <= JOINT_C


@pytest.mark.parametrize("name", ["greenhouse", "boathouse"])
def test_i17_a_lost_pump_boils_a_coil_that_no_hardware_holds(name):
    run = rehearse(read_loop(name), night(fault(300.0, "pump-dies"), hours=0.2), today=TODAY)
    assert run.first_boil_s is not None


# --- I12, I13: limits of the loop ---


@settings(max_examples=60, deadline=None)
@given(loops())
def test_i12_no_debounce_outlasts_its_deadline(loop):
    derived = derive(loop, TODAY)
    quarter_s = min(3.0, derived.boil_s.largest.peaked_est / 4.0)
    assert derived.low_flow_total_s <= quarter_s
    for row in ROWS:
        lasts_s = debounce_s(row.debounce_s, derived)
        if row.limit_s == "low_flow_total_s":
            assert lasts_s <= max(0.5, quarter_s - derived.pulse_timeout_s), row.name
        elif not isinstance(row.limit_s, str):
            assert lasts_s + loop.tick_s <= row.limit_s, row.name


@settings(max_examples=60, deadline=None)
@given(loops(), st.floats(20.0, 110.0), st.data())
def test_i13_the_tank_trip_follows_its_sum_and_typing_only_lowers_it(loop, typed_c, data):
    """At the trip the largest fire brings the outlet to the allowed temperature at most."""
    bare = loop.model_copy(update={"limits": Limits()})
    derived = derive(bare, TODAY)
    stream_w_k = derived.water_w_per_lpm_k * derived.flow_open_lpm
    assert derived.tank_trip_c <= derived.allow_c - 1e3 * loop.fire.largest_kw / stream_w_k + 1e-6
    typed = bare.model_copy(update={"limits": Limits(tank_trip=f"{typed_c!r} degC")})
    trip_c = derive(typed, TODAY).tank_trip_c
    assert trip_c == min(typed_c, derived.tank_trip_c)
    bound = data.draw(
        st.sampled_from([each for each in BOUNDS if each.typed and each.safer == "lower"])
    )
    assert bound.value(typed, derive(typed, TODAY)) <= bound.value(bare, derived)


# --- I14: replay ---


@settings(max_examples=20, deadline=None)
@given(STORIES)
def test_i14_a_log_played_again_gives_the_same_bits(story):
    """The log goes through text, as a file would."""
    rig = Rig(constants_of())
    first, log, outputs = rig.state, [], []
    for what, ticks in story:
        asked = act(rig, what)
        reboots = what in ("cut", "reboot")
        for _ in range(ticks):
            rig.tick(asked)
            log.append([reboots, rig.given, asked])
            outputs.append(repr((rig.commands, rig.state)))
            reboots = False
    state = first
    for (reboots, readings, asked), said in zip(json.loads(json.dumps(log)), outputs, strict=True):
        state = after_reboot(state) if reboots else state
        done = decide(Readings(*readings), Requests(*asked), state, rig.constants)
        assert repr((done.commands, done.state)) == said
        state = done.state


# --- I15: clocks ---


@settings(max_examples=25, deadline=None)
@given(STORIES, st.integers(0, 400))
def test_i15_a_clock_that_rolls_over_changes_nothing(story, ticks_before):
    usual = at_time(Rig(constants_of()), 4096.0)
    rolls = at_time(Rig(constants_of()), ROLL_S - 0.25 * ticks_before)
    for what, ticks in story:
        asked = act(usual, what)
        act(rolls, what)
        for _ in range(ticks):
            usual.tick(asked)
            rolls.tick(asked)
            if rolls.time_s + rolls.constants.tick_s >= ROLL_S:
                rolls.time_s -= ROLL_S
            assert decided(usual) == decided(rolls)


@settings(max_examples=25, deadline=None)
@given(STORIES, st.floats(0.25, 1e8))
def test_i15_a_clock_set_back_changes_nothing(story, back_s):
    usual, stepped = Rig(constants_of()), Rig(constants_of())
    for what, ticks in story:
        asked = act(usual, what)
        act(stepped, what)
        stepped.time_s -= back_s
        for _ in range(ticks):
            usual.tick(asked)
            stepped.tick(asked)
            assert decided(usual) == decided(stepped)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.25, 1e8), st.integers(1, 200))
def test_i15_a_clock_set_forward_changes_nothing_while_water_moves(ahead_s, ticks):
    """With still water a gap counts as time without flow: the board may have slept in it."""
    usual, stepped = Rig(constants_of()).settle(30.0), Rig(constants_of()).settle(30.0)
    stepped.time_s += ahead_s
    for _ in range(ticks):
        usual.tick()
        stepped.tick()
        assert decided(usual) == decided(stepped)


# --- I20: a dead board ---


@FEW
@given(
    st.sampled_from(["greenhouse", "boathouse", "hot-tub"]), st.floats(20.0, 900.0),
    st.sampled_from(["board-reboots", "supply-lost"]), st.booleans(),
)
def test_i20_a_dead_board_leaves_what_the_hardware_does(name, at_s, what, hot):
    """The fail table: damper shut, horn silent, dump open where it is built so; the contactor
    holds while there is a supply, and everything is off without one."""
    loop = read_loop(name)
    fails_open = loop.dump is not None and loop.dump.opens_without_power
    moments = [fault(at_s, what, 30.0)] + ([held(10.0, "largest")] if hot else [])
    run = rehearse(loop, night(*moments, hours=0.3), today=TODAY)
    trace = run.trace
    dead = np.flatnonzero((trace["time_s"] > at_s + 1.0) & (trace["time_s"] < at_s + 29.0))
    assert dead.size > 20
    before = dead[0] - 3
    assert not trace["damper_cmd"][dead].any()
    assert not trace["horn"][dead].any()
    was = trace["dump_cmd"][before]
    assert (trace["dump_cmd"][dead] == (1.0 if fails_open else was)).all()
    assert (trace["valve_cmd"][dead] == trace["valve_cmd"][dead[0]]).all()
    kept = trace["pump_cmd"][before] if what == "board-reboots" else 0.0
    assert (trace["pump_cmd"][dead] == kept).all()


# --- python -O ---

PLANTED = """
from coilward.controller.decide import decide
from coilward.controller.state import first_state
from tests.controller.rig import constants_of, healthy
from coilward.controller.types import Requests
from tests.properties.invariants import Moment, Violation, hold

assert False, "stripped"
constants = constants_of()
state = first_state(constants, 4, 1)
readings, asked = healthy(constants), Requests()
done = decide(readings, asked, state, constants)
hold(Moment(readings, asked, state, done, constants))
print("sound")
for planted in ({"pump": False}, {"valve": 0.0}, {"fans": 0.3}):
    wrong = done._replace(commands=done.commands._replace(**planted))
    try:
        hold(Moment(readings, asked, state, wrong, constants))
    except Violation as found:
        print(str(found).split(":")[0])
"""


def test_invariants_are_held_under_optimisation():
    """The script's own assert is gone, and each planted violation is caught all the same."""
    done = subprocess.run(
        [sys.executable, "-O", "-c", PLANTED], cwd=ROOT, capture_output=True, text=True,
        check=False,
    )
    assert done.stdout.split() == ["sound", "I1", "I3", "I14"], done.stderr


def test_no_check_of_the_program_is_an_assert():
    """``python -O`` takes asserts away; what must hold raises."""
    files = list((ROOT / "coilward").rglob("*.py"))
    assert len(files) > 50
    for file in files:
        asserts = [n for n in ast.walk(ast.parse(file.read_text("utf-8")))
                   if isinstance(n, ast.Assert)]
        assert not asserts, file
