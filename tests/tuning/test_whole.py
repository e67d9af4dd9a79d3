"""The valve loop of whole plants: prediction against the clock, and what every proposal keeps."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from benchmarks.tuning import TODAY, sound_loop
from coilward.controller.constants import constants_for
from coilward.controller.phases import RUN
from coilward.loop.derived import derive
from coilward.loop.document import read_loop, read_text
from coilward.loop.model import Loop, Throttle
from coilward.loop.shipped import loop_text
from coilward.simulator import slots as at
from coilward.simulator.night import Heat, Moment, Night
from coilward.simulator.rehearsal import rehearse, rehearsed
from coilward.simulator.run import at_limits_s
from coilward.tuning.checks import at_most, ending_well, integrated, surging, unscheduled
from coilward.tuning.fires import fires, losses, settled_at
from coilward.tuning.margins import margins
from coilward.tuning.scheduling import keys, scheduled
from coilward.tuning.stand import Place, Stand
from coilward.tuning.trials import Ending, bench_for, moved, surge, surge_night
from coilward.tuning.tuning import Tuner, tune
from coilward.tuning.working import answer, identify, lasting_s, places, robustness, rule_at


def silent(loop: Loop) -> Loop:
    """Without noise: what is seen is the loop's own swing."""
    sensors, quiet = loop.sensors, {"noise_k": 0.0, "quantum_k": 0.0}
    still = {
        name: getattr(sensors, name).model_copy(update=quiet)
        for name in ("coil_outlet_a", "coil_outlet_b", "tank")
        if getattr(sensors, name) is not None
    }
    return loop.model_copy(
        update={
            "sensors": sensors.model_copy(update=still),
            "meter": loop.meter.model_copy(update={"noise": 0.0}),
        }
    )


def kicked(heat_w: float) -> Night:
    """A heat that is a tenth larger for half a minute."""
    moments = [
        Moment(at_s=at_s, do="hold", heat=Heat("", 1e-3 * heat_w * share))
        for at_s, share in ((1.0, 1.0), (2400.0, 1.1), (2430.0, 1.0))
    ]
    return Night(coilward=1, name="kick", duration_s=5400.0, start="running", moment=moments)


def test_the_whole_machine_swings_from_the_predicted_gain_on_at_the_predicted_period():
    """Boathouse with a short reset: steady under the limit of gain, a lasting swing over it."""
    loop = silent(read_loop("boathouse"))
    derived = derive(loop, TODAY)
    constants = constants_for(loop, derived)
    heat_w = 1.15e3 * loop.fire.nominal_kw
    base = Throttle.model_validate(
        {"gain": 0.3, "reset_transits": 0.1, "reset_lags": 0.0, "dead_band": "0 K"}
    )

    def seen(gain: float) -> dict[str, np.ndarray]:
        changed = loop.model_copy(update={"throttle": base.model_copy(update={"gain": gain})})
        return rehearse(changed, kicked(heat_w), today=TODAY).trace

    calm = seen(base.gain)
    place = Place(
        float(calm["flow_true_lpm"][1800:2400].mean()), heat_w,
        float(calm["tank_seen_c"][1800:2400].mean()),
    )  # fmt: skip
    predicted = robustness(answer(loop, derived, constants, place), base, constants)
    under, over = (
        seen(share * base.gain * predicted.gain_margin)["coil_outlet_seen_c"][4200:]
        for share in (0.75, 1.15)
    )
    assert 0.5 * np.ptp(under) < 0.8
    assert 0.5 * np.ptp(over) > 2.0
    over = over - over.mean()
    ups = np.flatnonzero((over[:-1] <= 0.0) & (over[1:] > 0.0))
    period_s = (ups[-1] - ups[0]) / (len(ups) - 1)
    assert period_s == pytest.approx(predicted.period_s, rel=0.1)


@cache
def stage(name: str):
    loop = read_loop(name)
    derived = derive(loop, TODAY)
    return loop, derived, constants_for(loop, derived)


@pytest.mark.parametrize("name", ["greenhouse", "boathouse"])
def test_identified_gains_are_those_of_the_heat_balance(name):
    """Rise times flow is heat: d(rise)/d(flow) = -rise/flow, exactly."""
    loop, derived, constants = stage(name)
    every = places(loop, derived)
    for place in (every[4], every[10], every[-1]):
        found = identify(loop, derived, constants, place, 1)
        gain = found.process.gain
        due = -found.rise_k / found.mean_lpm
        assert abs(gain.value - due) < gain.within + 0.04 * abs(due)
        assert found.relay is not None
        assert 0.0 < found.process.lag_s.value < 60.0 * derived.coil_water_l / place.flow_lpm


@pytest.mark.parametrize("name", ["greenhouse", "boathouse"])
def test_the_range_goes_from_the_stop_to_open_and_from_cold_to_settled(name):
    loop, derived, _ = stage(name)
    every = places(loop, derived)
    flows = [place.flow_lpm for place in every]
    assert min(flows) < 1.2 * max(derived.flow_stop_lpm, derived.flow_least_lpm)
    assert max(flows) > 0.85 * derived.flow_open_lpm
    assert min(place.tank_c for place in every) == pytest.approx(loop.tank.start_c, abs=8.0)
    assert max(place.tank_c for place in every) <= derived.settled.largest.tank_c + 1e-6
    assert max(place.heat_w for place in every) <= 1e3 * loop.fire.largest_kw + 1e-3


def test_a_cold_tank_and_a_warm_one_make_the_same_answer_but_for_its_size():
    loop, derived, constants = stage("greenhouse")
    cold, warm = (
        answer(loop, derived, constants, Place(6.0, heat_w, 60.0 - heat_w / (68.72 * 6.0)))
        for heat_w in (18_000.0, 8_000.0)
    )
    assert cold.step / cold.rise_k == pytest.approx(warm.step / warm.rise_k, rel=0.03, abs=2e-3)


@pytest.mark.parametrize("heat_share", [0.8, 1.15])
def test_a_hair_more_flow_hardly_changes_the_prediction(heat_share):
    """The valve's move falls on no lucky moment of the machine that is measured."""
    loop, derived, constants = stage("boathouse")
    settings = Throttle.model_validate({"gain": 0.3, "reset_transits": 0.1, "reset_lags": 0.0})
    heat_w = heat_share * 1e3 * loop.fire.nominal_kw
    found = []
    for share in (0.98, 0.99, 1.0, 1.01, 1.02):
        rise_k = heat_w / (2.6 * derived.water_w_per_lpm_k)
        place = Place(2.6 * share, heat_w, derived.set_point_c - rise_k)
        found.append(robustness(answer(loop, derived, constants, place), settings, constants))
    for one, next_one in pairwise(found):
        assert next_one.gain_margin == pytest.approx(one.gain_margin, rel=0.03)
        assert next_one.period_s == pytest.approx(one.period_s, rel=0.03)


def test_a_move_at_any_other_time_of_a_second_is_answered_no_later():
    loop, derived, constants = stage("boathouse")
    settings = Throttle.model_validate({"gain": 0.3, "reset_transits": 0.1, "reset_lags": 0.0})
    place = places(loop, derived)[4]
    answered = answer(loop, derived, constants, place)
    worst, rule = robustness(answered, settings, constants), rule_at(answered, settings, constants)
    lasts_s = float(np.ceil(lasting_s(place, constants)))
    every_s = constants.throttling.every_s
    for early_s in (0.0, 0.5, 0.75):
        stand = Stand(loop, derived, constants, place)
        before = stand.flow_to(0.9 * place.flow_lpm, lasts_s - early_s)
        after = stand.flow_to(1.1 * place.flow_lpm, lasts_s)
        step = before.outlet_c[-1] - after.outlet_c[:: round(every_s)]
        other = margins(step / (0.2 * place.flow_lpm), every_s, rule)
        assert other.sensitivity < worst.sensitivity
        assert other.gain_margin > worst.gain_margin


def test_a_schedule_stays_within_the_rule_everywhere_and_slower_is_weaker():
    loop, derived, constants = stage("boathouse")
    every = places(loop, derived)[::3]
    found = [identify(loop, derived, constants, place, n) for n, place in enumerate(every)]
    tight, slow = (scheduled(loop, constants, found, slower) for slower in (1.0, 3.0))
    assert slow.gain == pytest.approx(0.5 * tight.gain, abs=2e-3)
    assert tight.flow_band == pytest.approx(3.0 * loop.meter.noise)
    assert tight.dead_band_k < loop.throttle.dead_band_k
    wide = scheduled(loop, constants, found, 1.0, loop.throttle.dead_band_k)
    assert wide == tight.model_copy(update={"dead_band_k": loop.throttle.dead_band_k})
    answers = [answer(loop, derived, constants, place) for place in every]
    for each in answers:
        rule = rule_at(each, tight, constants)
        assert integrated(each, rule, constants) < integrated(
            each, rule_at(each, slow, constants), constants
        )
        assert (
            robustness(each, slow, constants).sensitivity
            < robustness(each, tight, constants).sensitivity
        )


def test_written_settings_are_read_as_they_were_proposed():
    settings = Throttle.model_validate(
        {"gain": 0.512, "gain_slope": 0.1, "reset_transits": 0.44, "reset_lags": 0.3,
         "dead_band": "0.5 K", "flow_band": 0.03}
    )  # fmt: skip
    text = loop_text("hot-tub")
    lines = [f"{key.split('.')[1]} = {value!r}" for key, value in keys(settings).items()]
    text += "\n[throttle]\n" + "\n".join(lines) + "\n"
    assert read_text(text, Loop, file="made", sample=loop_text("greenhouse")).throttle == settings


def test_a_proposal_on_a_random_sound_loop_keeps_what_it_promises():
    """One of the loops of `python -m benchmarks.tuning`, which runs as many as are asked for."""
    loop = sound_loop(1, 0)
    tuned = tune(loop, today=TODAY, seed=3)
    now = tuned.proposed
    assert now is not None, [check for check in tuned.checks if not check.held]
    assert max(each.sensitivity for each in (*now.margins, *now.cornered)) <= 1.7
    assert max(each.peak_c for each in now.trials) < tuned.derived.outlet_dump_c
    assert max(each.moves_1_h for each in now.trials) <= 60.0
    assert now.against_fixed.max() <= 1.0 + 1e-6
    assert now.against_fixed.min() < 0.5
    for was, new in zip(tuned.present.trials, now.trials, strict=True):
        if was.regulates:
            assert new.surge_k_min <= was.surge_k_min
            assert was.clamped_s > 0.0 or new.clamped_s == 0.0


def test_moves_are_counted_once_though_they_come_back():
    still = np.full(100, 0.6)
    assert moved(still) == (0, 0.0)
    shut = still.copy()
    shut[20] = 0.45
    shut[21:] = 0.5
    assert moved(shut) == (1, pytest.approx(0.2))
    twice = shut.copy()
    twice[60:] = 0.7
    assert moved(twice)[0] == 2


def test_a_surge_is_nearly_a_third_more_heat_in_a_minute():
    night = surge_night(10_000.0)
    heats = [moment.heat.kw for moment in night.moment]
    assert heats[0] == pytest.approx(10.0)
    assert heats[-1] == pytest.approx(13.0)
    assert night.moment[-1].at_s - 6000.0 == pytest.approx(60.0)


def ended(**changes):
    return Ending("n", 30.0, 65.0, 1800.0, ("C01",))._replace(**changes)


@pytest.mark.parametrize(
    ("after", "key"),
    [
        ({}, ""), ({"peak_c": 66.6}, "night-peak"), ({"first_boil_s": 1790.0}, "night-boil"),
        ({"causes": ("C01", "C03")}, "night-alarms"), ({"first_boil_s": float("inf")}, ""),
    ],
)  # fmt: skip
def test_a_night_that_ends_worse_is_told(after, key):
    constants = stage("greenhouse")[2]
    checks = ending_well([ended()], [ended(**after)], constants, Throttle())
    assert [check.key for check in checks if not check.held] == ([key] if key else [])


@cache
def trial():
    """One real trial to bend."""
    tuner_loop, derived, _ = stage("boathouse")
    bench = bench_for(tuner_loop, tuner_loop.throttle, TODAY, "auto")
    return derived, surge(bench, fires(tuner_loop, derived)[1], 1)


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"peak_c": 80.5}, {"peak", "peak-before"}), ({"moves_1_h": 61.0}, {"moves"}),
        ({"surge_k_min": 99.0}, {"surge-error"}), ({"steady_k": 2.0}, {"steady-error"}),
        ({"clamped_s": 5.0}, {"clamp"}), ({"causes": ("C03",)}, {"alarms"}), ({}, set()),
    ],
)  # fmt: skip
def test_a_surge_that_goes_worse_is_told(changes, key):
    derived, was = trial()
    good = was._replace(moves_1_h=10.0, surge_k_min=0.5 * was.surge_k_min, steady_k=0.1)
    checks = surging([was._replace(clamped_s=0.0)], [good._replace(clamped_s=0.0, **changes)]
                     if "clamped_s" not in changes else [good._replace(**changes)],
                     derived, Throttle())  # fmt: skip
    assert {check.key for check in checks if not check.held} == key


def test_a_fire_that_the_clamp_or_the_open_valve_holds_is_not_the_rules():
    was = trial()[1]
    assert was.regulates
    assert was.opened == 0.0
    assert not was._replace(clamped_s=5000.0).regulates
    assert not was._replace(opened=0.2).regulates


def test_a_fire_is_tried_where_the_valve_has_it_in_hand():
    """With the whole radiator the tank is so cold that the clamp holds the same fire."""
    loop = sound_loop(1, 3)
    derived = derive(loop, TODAY)
    tried = fires(loop, derived)[0]
    assert 0.0 < tried.cooling < 1.0
    assert loop.room.air_c < tried.tank_c < derived.set_point_c
    bench = bench_for(loop, loop.throttle, TODAY, "auto")
    assert surge(bench, tried, 1).regulates
    assert not surge(bench, tried._replace(cooling=1.0), 1).regulates


def test_no_fire_is_tried_with_so_weak_a_radiator_that_its_fans_seem_lost():
    loop = sound_loop(1, 34)
    derived = derive(loop, TODAY)
    bench = bench_for(loop, loop.throttle, TODAY, "auto")
    tried = fires(loop, derived)[0]
    assert surge(bench, tried, 1).steady_k < 2.0
    assert surge(bench, tried._replace(cooling=0.7 * tried.cooling), 1).steady_k > 20.0


def test_a_trial_begins_with_its_own_fire_and_water():
    loop, derived, _ = stage("greenhouse")
    bench = bench_for(loop, loop.throttle, TODAY, "auto")
    tried = fires(loop, derived)[0]
    start = settled_at(tried, bench, bench.start(surge_night(tried.heat_w)))
    assert start.y[at.HOLD_W] == tried.heat_w
    assert start.y[at.TANK_TOP] == start.y[at.TANK_BOTTOM] == start.y[at.BACK_] == tried.tank_c
    assert start.y[at.STUB] == start.y[at.HOT_] == derived.set_point_c
    assert start.p[at.FANS_ON_W_K] == pytest.approx(tried.cooling * loop.radiator.fans_on_w_k)


def test_lines_and_tank_lose_what_the_running_machine_loses():
    """Reckoned at once, and as the heat balance of an hour has it."""
    loop, derived, _ = stage("boathouse")
    bench = bench_for(loop, loop.throttle, TODAY, "auto")
    tried = fires(loop, derived)[1]
    night = surge_night(tried.heat_w)
    trace = rehearsed(bench, night, settled_at(tried, bench, bench.start(night)), seed=1).trace
    hour = slice(2400, 6000)
    lost_w, tank_c = trace["heat_loss_w"][hour].mean(), float(trace["tank_bottom_c"][hour].mean())
    assert losses(loop, derived)(tank_c) == pytest.approx(lost_w, rel=0.02)


@pytest.mark.parametrize("name", ["greenhouse", "boathouse"])
def test_a_fire_settles_where_it_was_reckoned(name):
    """Lines and tank take their share: reckoned by hand, and as the whole machine ran it."""
    loop, derived, constants = stage(name)
    settings = Throttle.model_validate({
        "gain": 0.4, "gain_slope": 0.1, "reset_lags": 0.4, "dead_band": "0.2 K", "flow_band": 0.03,
    })
    bench = bench_for(loop, settings, TODAY, "auto")
    for tried in fires(loop, derived)[1:]:
        rise_k = derived.set_point_c - tried.tank_c
        reckoned_lpm = tried.heat_w / constants.water.w_per_lpm_k / rise_k
        assert surge(bench, tried, 1).flow_lpm == pytest.approx(reckoned_lpm, rel=0.1)


def test_fixed_gains_are_nowhere_less_robust_than_the_schedule():
    loop, derived, constants = stage("boathouse")
    settings = Throttle.model_validate({"gain": 0.4, "gain_slope": 0.12, "reset_lags": 0.4})
    answers = [answer(loop, derived, constants, place) for place in places(loop, derived)]
    fixed = unscheduled([rule_at(each, settings, constants) for each in answers])
    for each in answers:
        alone = margins(each.step, constants.throttling.every_s, fixed)
        assert alone.sensitivity <= robustness(each, settings, constants).sensitivity + 1e-9


def test_time_at_the_clamp_is_counted_from_where_it_is_asked():
    constants = stage("boathouse")[2]
    flat = np.ones(101)
    trace = {"time_s": np.arange(101.0), "phase": RUN * flat, "valve_cmd": 0.5 * flat,
             "flow_min_lpm": 3.0 * flat, "target_lpm": 0.1 * flat}  # fmt: skip
    assert at_limits_s(trace, constants) == {"full": 0.0, "clamp": 101.0}
    assert at_limits_s(trace, constants, 40.0) == {"full": 0.0, "clamp": 61.0}


def test_a_check_holds_up_to_its_limit():
    assert at_most("a", 1.0, 1.0).held
    assert not at_most("a", float("nan"), 1.0).held


def test_a_tub_has_nothing_to_tune():
    with pytest.raises(ValueError, match="always open"):
        tune(read_loop("hot-tub"), today=TODAY)


def test_the_worst_corner_costs_robustness():
    loop = read_loop("greenhouse")
    tuner = Tuner(loop, TODAY, "auto", 1)
    settings = Throttle.model_validate({"gain": 0.6, "flow_band": 0.03})
    named, cornered = tuner.cornered(settings)
    assert named
    assert named["coil_outlet_b lag"] == 1.0
    sound = tuner.margins(settings, tuner.measured.answers)
    assert max(m.sensitivity for m in cornered) > max(m.sensitivity for m in sound)


def test_a_stand_keeps_its_tank_and_the_board_sets_its_flow():
    loop, derived, constants = stage("greenhouse")
    stand = Stand(loop, derived, constants, Place(6.0, 12_000.0, 31.0))
    record = stand.flow_to(6.6, 300.0)
    assert record.tank_c[-1] == pytest.approx(31.0, abs=0.1)
    assert record.flow_lpm[-1] == pytest.approx(6.6, rel=0.02)
