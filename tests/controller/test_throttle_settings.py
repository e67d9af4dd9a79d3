"""The valve's settings: today's numbers where the file gives none, and what each of them does."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilward.controller.constants import Constants
from coilward.controller.estimating import Estimate
from coilward.controller.sensing import Seen
from coilward.controller.state import Control
from coilward.controller.valve import lowest_lpm, throttle
from coilward.loop.model import Throttle
from coilward.loop.sums.swing import rule_at
from tests.controller.rig import NAN, changed, constants_of

LOOPS = st.sampled_from(["greenhouse", "boathouse"])
LONG_S = 1000.0


def seen_of(outlet_c, tank_c, flow_lpm, coil_l):
    blank = Seen._make([NAN] * len(Seen._fields))
    return blank._replace(
        outlet_c=outlet_c, tank_c=tank_c, flow_lpm=flow_lpm, flow_good=True,
        transit_s=60.0 * coil_l / flow_lpm,
    )


def now_of(seen, min_lpm=0.0):
    blank = Estimate._make([0.0] * len(Estimate._fields))
    return blank._replace(rise_k=seen.outlet_c - seen.tank_c, min_lpm=min_lpm)


def control_of(target_lpm, error_k, valve, moved_s=LONG_S):
    blank = Control._make([0.0] * len(Control._fields))
    return blank._replace(target_lpm=target_lpm, error_k=error_k, valve=valve, moved_s=moved_s)


def with_settings(constants: Constants, **changes) -> Constants:
    return changed(constants, throttling=constants.throttling._replace(**changes))


SCENES = st.fixed_dictionaries(
    {
        "outlet_c": st.floats(20.0, 95.0), "tank_c": st.floats(5.0, 70.0),
        "flow": st.floats(0.05, 1.3), "target": st.floats(0.1, 1.1), "was_k": st.floats(-30, 30),
        "valve": st.floats(0.3, 1.0), "min": st.floats(0.0, 1.2),
    }
)


def moved(constants, scene, entering=False, moved_s=LONG_S):
    open_lpm = constants.water.open_lpm
    flow_lpm = scene["flow"] * open_lpm
    seen = seen_of(scene["outlet_c"], scene["tank_c"], flow_lpm, constants.water.coil_l)
    control = control_of(scene["target"] * open_lpm, scene["was_k"], scene["valve"], moved_s)
    now = now_of(seen, scene["min"] * open_lpm)
    return seen, throttle(entering, False, seen, now, control, constants)


@given(LOOPS, SCENES)
def test_without_settings_the_target_moves_by_the_fixed_numbers_to_the_last_bit(name, scene):
    """Kc = V/(4 rise), Ti = V_coil/(2 V) + lag, dead band 1.5 K, every 10 s: the rule as it was."""
    constants = constants_of(name)
    water = constants.water
    seen, told = moved(constants, scene)
    error_k = seen.outlet_c - constants.limits.set_point_c
    rise_k = max(seen.outlet_c - seen.tank_c, 5.0)
    gain = seen.flow_lpm / (4.0 * rise_k)
    reset_s = 60.0 * water.coil_l / (2.0 * seen.flow_lpm) + water.lag_s
    target_lpm = scene["target"] * water.open_lpm
    was_k = scene["was_k"]
    if abs(error_k) > 1.5 or abs(error_k - was_k) > 1.5:
        target_lpm = target_lpm + gain * (error_k - was_k + error_k * 10.0 / reset_s)
    low_lpm = max(1.15 * (scene["min"] * water.open_lpm), water.stop_lpm)
    if low_lpm >= water.open_lpm:
        assert told.target_lpm == water.open_lpm
    else:
        assert told.target_lpm == min(max(target_lpm, low_lpm), water.open_lpm)


ANY = st.fixed_dictionaries(
    {
        "gain": st.floats(0.02, 4.0), "gain_slope": st.floats(0.0, 2.0),
        "reset_transits": st.floats(0.05, 10.0), "reset_lags": st.floats(0.0, 10.0),
        "dead_band_k": st.floats(0.0, 5.0), "flow_band": st.floats(0.0, 0.2),
    }
)


@given(LOOPS, SCENES, ANY)
def test_no_settings_wind_up_the_target(name, scene, settings):
    """However long the outlet is off, the target is a flow that the loop can have at once."""
    constants = with_settings(constants_of(name), **settings)
    seen, told = moved(constants, scene)
    now = now_of(seen, scene["min"] * constants.water.open_lpm)
    for _ in range(20):
        control = control_of(told.target_lpm, told.error_k, told.valve)
        told = throttle(False, False, seen, now, control, constants)
    low_lpm, high_lpm = lowest_lpm(now, constants), constants.water.open_lpm
    assert min(low_lpm, high_lpm) <= told.target_lpm <= high_lpm
    other_way = seen._replace(outlet_c=2.0 * constants.limits.set_point_c - seen.outlet_c)
    control = control_of(told.target_lpm, told.error_k, told.valve)
    back = throttle(False, False, other_way, now, control, constants)
    if low_lpm < high_lpm and abs(told.error_k) > max(settings["dead_band_k"], 1e-3):
        turned = back.target_lpm - told.target_lpm
        assert turned * told.error_k <= 0.0
        free = high_lpm if told.error_k < 0.0 else low_lpm
        if abs(told.target_lpm - free) > 0.01 and settings["gain"] * abs(told.error_k) > 0.1:
            assert turned != 0.0


@given(LOOPS, SCENES, ANY)
def test_taking_over_never_bumps_the_valve(name, scene, settings):
    """Entering the phase the target is the flow as it is, and the valve stays where it stands."""
    constants = with_settings(constants_of(name), **settings)
    seen, told = moved(constants, {**scene, "min": 0.0}, entering=True)
    assert told.target_lpm == seen.flow_lpm
    assert told.valve == scene["valve"]


@given(LOOPS, SCENES, ANY)
def test_the_gain_never_turns_round(name, scene, settings):
    """Too hot is never answered with less flow, even by a meter that shows too much."""
    constants = with_settings(constants_of(name), **settings)
    scene = {**scene, "was_k": scene["outlet_c"] - constants.limits.set_point_c, "min": 0.0}
    _, told = moved(constants, scene)
    target_lpm = scene["target"] * constants.water.open_lpm
    kept_lpm = min(max(target_lpm, constants.water.stop_lpm), constants.water.open_lpm)
    if told.error_k > 0.0:
        assert told.target_lpm >= kept_lpm
    if told.error_k < 0.0:
        assert told.target_lpm <= kept_lpm


def told(constants, **changes):
    scene = {
        "outlet_c": 64.0, "tank_c": 30.0, "flow": 0.5, "target": 0.5, "was_k": 4.0, "valve": 0.6,
        "min": 0.0, **changes,
    }  # fmt: skip
    return moved(constants, scene)[1]


def test_the_slope_adds_to_the_gain_as_the_flow_falls():
    plain = constants_of()
    sloped = with_settings(plain, gain_slope=0.25)
    start_lpm = 0.5 * plain.water.open_lpm
    # At half of the open flow one more of it is missing: the gain is a quarter and a quarter.
    before, after = (told(c).target_lpm - start_lpm for c in (plain, sloped))
    assert after == pytest.approx(2.0 * before, rel=1e-9)
    open_plain, open_sloped = (
        told(c, flow=1.0, target=0.9).target_lpm for c in (plain, sloped)
    )
    assert open_plain == open_sloped


@given(
    st.floats(0.02, 2.0), st.floats(0.0, 1.0), st.floats(0.05, 5.0), st.floats(0.1, 5.0),
    st.floats(0.4, 1.2),
)
def test_the_board_moves_by_the_rule_that_is_reckoned_with(gain, slope, transits, lags, flow):
    """`swing.rule_at` is what soundness and tuning judge; the board reckons for itself."""
    settings = Throttle(
        gain=gain, gain_slope=slope, reset_transits=transits, reset_lags=lags, dead_band="0 K"
    )
    plain = constants_of()
    water, flow_lpm = plain.water, flow * plain.water.open_lpm
    rule = rule_at(settings, flow_lpm, water.open_lpm, water.coil_l, water.lag_s)
    constants = with_settings(
        plain, gain=gain, gain_slope=slope, reset_transits=transits, reset_lags=lags,
        dead_band_k=0.0,
    )
    error_k = 0.02
    scene = {"outlet_c": plain.limits.set_point_c + error_k, "flow": flow, "was_k": 0.01}
    moved_lpm = told(constants, target=0.6, **scene).target_lpm - 0.6 * water.open_lpm
    rise_k = scene["outlet_c"] - 30.0
    every_s = plain.throttling.every_s
    due_lpm = rule.share * flow_lpm / rise_k * (0.01 + error_k * every_s / rule.reset_s)
    assert moved_lpm == pytest.approx(due_lpm, rel=1e-6)


def test_both_parts_of_the_reset_time_slow_the_integral():
    plain = constants_of()
    base_lpm = told(plain).target_lpm
    for changes in ({"reset_transits": 1.0}, {"reset_lags": 5.0}):
        assert told(with_settings(plain, **changes)).target_lpm < base_lpm


def test_an_error_in_the_dead_band_does_not_move_the_target():
    plain = constants_of()
    start_lpm = 0.5 * plain.water.open_lpm
    assert told(with_settings(plain, dead_band_k=4.5)).target_lpm == start_lpm
    assert told(with_settings(plain, dead_band_k=3.5)).target_lpm > start_lpm


def test_the_flow_band_spares_the_valve_but_never_under_the_clamp():
    plain = constants_of()
    banded = with_settings(plain, flow_band=0.03, dead_band_k=5.0)
    off = {"flow": 0.5, "target": 0.51}
    assert told(with_settings(plain, dead_band_k=5.0), **off).valve > 0.6
    assert told(banded, **off).valve == 0.6
    assert told(banded, flow=0.5, target=0.53).valve > 0.6
    # All that there is was asked for, and 2 % of it are missing: the valve opens to the end.
    assert told(banded, flow=0.98, target=1.0).valve > 0.6
    assert told(banded, flow=0.98, target=0.995).valve == 0.6
    # The clamp lies 2 % over the flow: inside the band, and the valve opens nevertheless.
    assert told(banded, flow=0.5, target=0.5, min=0.51 / 1.15).valve > 0.6
