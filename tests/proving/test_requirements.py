"""Each requirement kept and broken by a hand-made burn, with its margin reckoned by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from coilward.controller.constants import constants_for
from coilward.loop.derived import derive
from coilward.proving.bounds import bounds_of, samples
from coilward.proving.recording import Recording
from coilward.proving.requirements import (
    MOST,
    REQUIREMENTS,
    Signals,
    prepared,
    robustness,
    signals_of,
)
from coilward.proving.robustness import robustness_by_definition
from coilward.simulator.closed import SIGNALS
from tests.loop.examples import TODAY, shipped
from tests.loop.examples import changed as changed_loop
from tests.proving.burns import COOLING, burns, changed, steady

LOOPS = ("boathouse", "greenhouse", "hot-tub")


def bounds_for(loop):
    derived = derive(loop, TODAY)
    return bounds_of(loop, derived, constants_for(loop, derived))


BOUNDS = bounds_for(shipped("boathouse"))
QUIET = steady(BOUNDS, samples=4000)
AT = 2000
STILL = {"flow_lpm": 0.0}


def margins(*changes):
    """Of the quiet burn with (from, to, levels) changed."""
    signals = QUIET
    for at, until, levels in changes:
        signals = changed(signals, at, until, **levels)
    return robustness(signals, BOUNDS)


def ticks(duration_s):
    return samples(duration_s, BOUNDS.tick_s)


def broken(found):
    return {name for name, margin in found.items() if margin < 0.0}


def test_a_quiet_burn_is_comfortable():
    assert min(margins().values()) >= 1.0


def test_each_requirement_is_told_in_words_and_measured_once():
    assert list(margins()) == [r.name for r in REQUIREMENTS]
    assert len({r.name for r in REQUIREMENTS}) == len(REQUIREMENTS)
    for requirement in REQUIREMENTS:
        assert len(requirement.words) > 60
        assert requirement.source


def test_water_under_boiling():
    held = margins((AT, AT + 1, {"water_c": BOUNDS.water_limit_c - 5.0}))
    assert held["water-under-boiling"] == pytest.approx(0.5)
    over = margins((AT, AT + 1, {"water_c": BOUNDS.water_limit_c + 1.0}))
    assert over["water-under-boiling"] == pytest.approx(-0.1)
    assert broken(over) == {"water-under-boiling"}


def test_joints_under_limit():
    assert margins((AT, AT + 1, {"wall_c": 111.0}))["joints-under-limit"] == pytest.approx(0.5)
    assert broken(margins((AT, AT + 1, {"wall_c": 122.0}))) == {"joints-under-limit"}


@pytest.mark.parametrize("late", [0, 1, 6, 12])
def test_no_flow_is_answered_within_its_limit(late):
    """Still from one tick on, answered so many ticks later: the share of the limit that is left."""
    found = margins((AT, None, STILL), (AT + late, None, COOLING))
    assert found["no-flow-answered"] == 1.0 - late / ticks(BOUNDS.no_flow_s)
    assert broken(found) == {"pump-let-go"}


@pytest.mark.parametrize("missing", ["valve", "damper", "horn"])
def test_no_flow_wants_valve_damper_and_horn(missing):
    answer = {name: level for name, level in COOLING.items() if name != missing}
    found = margins((AT, AT + 100, STILL), (AT + 4, AT + 100, answer))
    assert broken(found) == {"no-flow-answered"}


def test_a_tick_over_the_limit_is_late():
    late = ticks(BOUNDS.no_flow_s) + 1
    found = margins((AT, AT + 60, STILL), (AT + late, None, COOLING))
    assert broken(found) == {"no-flow-answered"}


def test_a_silenced_horn_has_still_sounded():
    silence = ticks(BOUNDS.silence_s)
    answered = ((AT - 10, None, {"pump": 0.0, "flow_lpm": 0.0}), (AT - 8, None, COOLING))
    left = 4000 - AT
    assert silence < left
    kept = margins(*answered, (AT, AT + silence, {"horn": 0.0}))
    assert kept["no-flow-answered"] > 0.5
    lost = margins(*answered, (AT, AT + silence + 20, {"horn": 0.0}))
    assert lost["no-flow-answered"] < 0.0


def test_a_locked_off_pump_leaves_the_valve_alone():
    answer = COOLING | {"valve": 0.6, "pump": 0.0}
    found = margins((AT, None, STILL), (AT + 8, None, answer))
    assert found["no-flow-answered"] == pytest.approx(1.0 - 8 / ticks(BOUNDS.no_flow_s))


@pytest.mark.parametrize(
    ("name", "cause", "limit_s"),
    [
        ("outlet-trip-answered", {"outlet_c": BOUNDS.outlet_hot_c + 0.1}, BOUNDS.outlet_s),
        ("tank-trip-answered", {"tank_c": BOUNDS.tank_hot_c + 0.1}, BOUNDS.tank_s),
    ],
)
def test_trips_are_answered(name, cause, limit_s):
    limit = ticks(limit_s)
    half = margins((AT, None, cause), (AT + limit // 2, None, COOLING))
    assert half[name] == pytest.approx(0.5, abs=0.02)
    assert broken(half) == set()
    assert broken(margins((AT, None, cause), (AT + limit + 1, None, COOLING))) == {name}
    no_dump = COOLING | {"dump": 0.0}
    assert broken(margins((AT, None, cause), (AT + 4, None, no_dump))) == {name}
    barely = {signal: level - 0.2 for signal, level in cause.items()}
    assert margins((AT, None, barely))[name] == 1.0


def test_a_hot_slug_after_a_restart_is_let_pass():
    slug = ticks(BOUNDS.slug_s)
    hot = (AT + 20, AT + 20 + slug, {"outlet_c": BOUNDS.outlet_hot_c + 1.0})
    found = margins((AT, AT + 20, STILL), (AT + 2, AT + 20, COOLING), hot)
    assert found["outlet-trip-answered"] == 1.0


def test_a_loop_without_a_dump_is_not_asked_for_one():
    bounds = bounds_for(changed_loop(shipped("boathouse"), dump=None))
    cause = changed(QUIET, AT, None, tank_c=bounds.tank_hot_c + 1.0)
    answered = changed(cause, AT + 8, None, **(COOLING | {"dump": 0.0}))
    assert robustness(answered, bounds)["tank-trip-answered"] > 0.5


@pytest.mark.parametrize(("off", "kept"), [(4, 0.2), (5, 0.0), (6, -0.2)])
def test_the_pump_is_kept_on(off, kept):
    """1 s off is a retry; a tick more is what a tick can't tell."""
    found = margins((AT, AT + off, {"pump": 0.0}))
    assert found["pump-kept-on"] == pytest.approx(kept)
    assert broken(found) <= {"pump-kept-on"}


def test_a_pump_told_off_after_the_water_stopped_is_no_breach():
    stood = (AT, None, STILL), (AT + 4, None, COOLING), (AT + 16, None, {"pump": 0.0})
    assert broken(margins(*stood)) == set()
    first = (AT, None, {"pump": 0.0}), (AT + 4, None, STILL), (AT + 6, None, COOLING)
    assert broken(margins(*first)) == {"pump-kept-on"}


@pytest.mark.parametrize(("after_s", "found"), [
    (1.0, {"burn-out-waited"}), (890.0, {"burn-out-waited"}), (901.0, set()),
])  # fmt: skip
def test_a_fire_without_heat_is_waited_for(after_s, found):
    """A quarter of an hour after its last heat the pump may rest."""
    burnt = steady(BOUNDS, samples=5000)
    out = changed(burnt, 100, None, heat_w=BOUNDS.fire_w - 1.0)
    off = changed(out, 100 + ticks(after_s), None, pump=0.0)
    off = changed(off, 104 + ticks(after_s), None, flow_lpm=0.0)
    assert broken(robustness(off, BOUNDS)) == found


def test_a_pump_that_is_shaken_loose_over_embers_is_no_breach():
    out = changed(QUIET, AT, None, heat_w=0.0)
    for off, kept in ((4, 0.2), (6, -0.2)):
        found = robustness(changed(out, AT + 50, AT + 50 + off, pump=0.0), BOUNDS)
        assert found["burn-out-waited"] == pytest.approx(kept)


def test_the_pump_is_let_go():
    limit = ticks(BOUNDS.window_s)
    stood = (AT, None, STILL), (AT + 4, None, COOLING)
    assert broken(margins(*stood, (AT + limit, None, {"pump": 0.0}))) == set()
    late = margins(*stood, (AT + limit + 1, None, {"pump": 0.0}))
    assert broken(late) == {"pump-let-go"}


def test_the_pump_is_off_before_steam():
    stood = (AT, None, STILL), (AT + 4, None, COOLING)
    near = (AT + 40, AT + 50, {"water_c": BOUNDS.water_limit_c - 2.0})
    on = margins(*stood, near, (AT + 60, None, {"pump": 0.0}))
    assert on["pump-off-before-steam"] == pytest.approx(0.2)
    off = margins(*stood, near, (AT + 30, None, {"pump": 0.0}))
    assert off["pump-off-before-steam"] > 1.0
    hot = (AT + 40, AT + 50, {"water_c": BOUNDS.water_limit_c + 2.0})
    assert "pump-off-before-steam" in broken(margins(*stood, hot))


def test_the_valve_is_over_its_stop():
    assert margins((AT, AT + 1, {"valve": BOUNDS.valve_stop}))["valve-over-stop"] == pytest.approx(
        1.0
    )
    under = margins((AT, AT + 1, {"valve": BOUNDS.valve_stop - 0.02}))
    assert broken(under) == {"valve-over-stop"}
    assert broken(margins((AT, AT + 1, {"valve": 0.0, "heat_w": 0.0}))) == set()


def test_the_dump_is_steady():
    minute = ticks(BOUNDS.dump_least_s)
    once = margins((AT, AT + 8, {"dump": 1.0}))
    assert once["dump-steady"] == MOST
    ends = AT + 8, AT + 8 + minute
    twice = margins((AT, ends[0], {"dump": 1.0}), (ends[0] + 4, ends[1], {"dump": 1.0}))
    assert twice["dump-steady"] == 0.0
    early = margins((AT, ends[0], {"dump": 1.0}), (ends[0] + 4, ends[1] - 60, {"dump": 1.0}))
    assert early["dump-steady"] == pytest.approx(-0.25)
    assert broken(early) == {"dump-steady"}


def test_nothing_is_asked_of_outputs_while_the_board_is_away():
    away = {"awake": 0.0, "flow_lpm": 0.0, "pump": 0.0, "valve": 0.0, "damper": 0.0}
    assert broken(margins((AT, None, away))) == set()
    plant = away | {"water_c": BOUNDS.water_limit_c + 1.0}
    assert broken(margins((AT, None, plant))) == {"water-under-boiling"}


def test_a_board_that_is_back_has_its_time():
    back = AT + 100
    away = (AT, back, {"awake": 0.0}), (AT, None, STILL | {"damper": 0.0, "pump": 0.0})
    allowed = ticks(BOUNDS.boot_s) + ticks(BOUNDS.no_flow_s)
    assert broken(margins(*away, (back + allowed, None, COOLING))) == set()
    late = margins(*away, (back + allowed + 1, None, COOLING))
    assert "no-flow-answered" in broken(late)


@pytest.mark.parametrize(("over_k", "kept"), [(-2.0, True), (1.0, False)])
def test_a_board_that_is_back_starts_no_pump_near_steam(over_k, kept):
    """Not for a tick, although its time to look around has not passed."""
    back = AT + 100
    stood = STILL | {"awake": 0.0, "pump": 0.0, "damper": 0.0}
    hot = {"water_c": BOUNDS.water_limit_c + over_k}
    started = (back, back + 1, {"awake": 1.0, "pump": 1.0})
    found = margins((AT, None, stood), (back - 20, back + 20, hot), started)
    assert ("pump-off-before-steam" not in broken(found)) == kept


def test_a_fire_that_got_no_air_is_not_the_logic_s():
    """Lit without the check: nothing was told to open the damper."""
    unasked = (0, None, STILL | {"damper": 0.0, "pump": 0.0})
    assert broken(margins(unasked)) == set()
    assert "no-flow-answered" in broken(margins((1, None, unasked[2])))


def test_a_fire_that_is_out_asks_nothing():
    out = {"heat_w": BOUNDS.fire_w - 1.0} | STILL | {"pump": 0.0, "valve": 0.0}
    assert broken(margins((AT, None, out))) == set()


@pytest.mark.parametrize("name", LOOPS)
def test_bounds_leave_room_for_what_the_loop_states_and_no_more(name):
    loop = shipped(name)
    bounds, derived = bounds_for(loop), derive(loop, TODAY)
    assert bounds.water_limit_c == derived.coil_boil_c - 5.0
    assert derived.outlet_dump_c + 3.0 <= bounds.outlet_hot_c < derived.outlet_hh_c
    assert bounds.tank_hot_c == derived.tank_trip_c + 3.0
    # Three lags of 8 s and of 10 s, a second of conversion, and the rows' own 4 s and 10 s.
    assert bounds.outlet_s == 3 * loop.sensors.coil_outlet_a.lag_s + 1.0 + 4.0
    assert bounds.tank_s == 3 * loop.sensors.tank.lag_s + 1.0 + 10.0
    assert derived.window_nominal_s < bounds.window_s
    assert bounds.fire_w < 0.2 * 1e3 * loop.fire.nominal_kw


def test_a_lag_of_three_time_constants_leaves_what_the_bound_allows():
    """A first-order thermometer 30 K behind a step."""
    assert 30.0 * math.exp(-3.0) < 1.5


def test_a_loop_without_a_tank_thermometer_is_refused():
    loop = shipped("boathouse")
    derived, constants = derive(loop, TODAY), constants_for(loop, derive(loop, TODAY))
    with pytest.raises(ValueError, match="thermometer"):
        bounds_of(changed_loop(loop, sensors__tank=None), derived, constants)


def test_coarse_ticks_leave_at_least_one():
    assert samples(0.5, 1.0) == 1
    assert samples(3.0, 0.25) == 12
    assert samples(0.3, 0.1) == 3


def test_the_quick_verdict_is_that_of_the_definition():
    """On burns of four hours, each requirement."""
    for signals in burns(BOUNDS).values():
        fields = dict(zip(Signals._fields, signals, strict=True))
        recording = Recording(fields)
        for name, _, formula in prepared(BOUNDS):
            slow = robustness_by_definition(formula, fields)[0]
            assert formula.first(recording) == slow, name


def test_signals_are_those_that_the_loop_writes():
    assert Signals._fields == SIGNALS
    flat = np.arange(2.0 * len(SIGNALS))
    assert signals_of(flat).time_s.tolist() == [0.0, 1.0]
    assert signals_of(flat).raised.tolist() == flat[-2:].tolist()
    with pytest.raises(ValueError, match="reshape"):
        signals_of(flat[:-1])


@pytest.mark.parametrize("name", ["water_c", "flow_lpm", "horn", "awake"])
def test_nan_is_refused(name):
    with pytest.raises(ValueError, match=f"'{name}' is NaN at sample {AT}"):
        margins((AT, AT + 1, {name: math.nan}))
