"""Whole nights in closed loop: moments, engines, the audit."""

from __future__ import annotations

import math
from datetime import date

import numpy as np
import pytest

from coilward.loop.document import read_loop
from coilward.simulator import engine, step
from coilward.simulator.night import Night, night_names, read_night
from coilward.simulator.rehearsal import rehearse
from tests.simulator.plants import LOOPS, TODAY


def night(*moments, duration="10 min", start="running"):
    """A night from a few moments."""
    return Night.model_validate({
        "coilward": 1, "name": "made", "duration": duration, "start": start,
        "moment": list(moments),
    })  # fmt: skip


def fault(name, at="2 min", **more):
    return {"at": at, "do": "fault", "fault": name, **more}


FASTEST = "compiled" if engine.can_compile() else "interpreted"


def run(loop="boathouse", night_=None, engine=FASTEST, **more):
    night_ = read_night(night_) if isinstance(night_, str) else night_
    return rehearse(read_loop(loop), night_, today=TODAY, engine=engine, **more)


def same_bits(first, second):
    for name, column in first.trace.items():
        assert column.tobytes() == second.trace[name].tobytes(), name
    for name in ("phases", "causes", "acts", "peaks", "margins", "first_boil_s", "final",
                 "energy_closure", "faults_fired", "valve_limit_s", "pump_off_with_fire_s"):
        assert getattr(first, name) == getattr(second, name), name


FAULTED = [
    ("boathouse", night({"at": "1 min", "do": "reload", "mass": "1 charge", "lively": 2.5},
                        fault("pump-stalls", at="4 min", **{"for": "3 s"}), duration="15 min")),
    ("greenhouse", night(fault("pump-dies"), duration="8 min")),
    ("hot-tub", night(fault("valve-jams", size=0.55),
                      {"at": "3 min", "do": "hold", "heat": "largest"}, duration="12 min")),
    ("greenhouse", night(fault("supply-lost", **{"for": "90 s"}), duration="8 min")),
    ("boathouse", night({"at": "10 s", "do": "prepare"}, {"at": "5 min", "do": "light",
                        "mass": "1 charge"}, duration="14 min", start="cold")),
]


def makes_a_list(count):
    return len([0.0] * count)


@pytest.mark.skipif(not engine.can_compile(), reason="numba is not installed")
def test_what_makes_an_array_is_not_compiled_because_nobody_counts_who_holds_it():
    import numba

    assert numba.njit(makes_a_list)(3) == 3
    with pytest.raises(numba.core.errors.NumbaError):
        engine.compiled(makes_a_list)(3)


@pytest.mark.skipif(not engine.can_compile(), reason="numba is not installed")
@pytest.mark.parametrize(("loop", "night_"), FAULTED)
def test_both_engines_give_the_same_bits(loop, night_):
    same_bits(run(loop, night_, engine="compiled"), run(loop, night_, engine="interpreted"))


def test_the_same_seed_gives_the_same_bits_and_another_seed_does_not():
    made = night(duration="5 min")
    first, second = run(night_=made, seed=7), run(night_=made, seed=7)
    same_bits(first, second)
    other = run(night_=made, seed=8)
    assert not np.array_equal(first.trace["coil_outlet_seen_c"], other.trace["coil_outlet_seen_c"])


def test_progress_is_told_and_changes_nothing():
    shares = []
    made = night(fault("pump-stalls", **{"for": "5 s"}), duration="20 min")
    told = run(night_=made, progress=shares.append)
    assert 25 <= len(shares) <= 60
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    same_bits(told, run(night_=made))


@pytest.mark.parametrize("loop", LOOPS)
@pytest.mark.parametrize("name", night_names())
def test_every_shipped_night_closes_its_energy_and_its_faults_fire(loop, name):
    made = run(loop, name)
    assert made.energy_closure <= 1e-3
    unfitted = loop == "hot-tub" and name == "fans-fail"
    assert all(made.faults_fired.values()) != unfitted
    assert made.trace["time_s"][-1] == made.duration_s
    assert all(not np.isnan(column).any() for name, column in made.trace.items()
               if name in ("coil_outlet_true_c", "flow_true_lpm", "heat_fire_w", "phase"))


@pytest.mark.parametrize("loop", LOOPS)
def test_a_running_night_starts_settled_in_run(loop):
    made = run(loop, night(duration="5 min"))
    assert made.phases == [(0.0, "run")]
    assert made.causes == []
    rise_k = np.ptp(made.trace["coil_outlet_true_c"])
    assert rise_k < 2.0
    heat = made.trace["heat_fire_w"]
    assert heat == pytest.approx(np.full(len(heat), 1e3 * made.loop.fire.nominal_kw))


def test_a_leak_of_one_per_cent_is_caught(monkeypatch):
    """One plant function is made to lose 1 % of the heat that it passes on."""
    sound = step.tank

    def leaks(y, p, h_s, stream_w_k, in_c, drawn_c, slope_k_s, around_c):
        less_c = in_c - 0.01 * (in_c - drawn_c)
        return sound(y, p, h_s, stream_w_k, less_c, drawn_c, slope_k_s, around_c)

    made = night({"at": "5 s", "do": "hold", "heat": "largest"}, duration="10 min")
    assert run(night_=made, engine="interpreted").energy_closure < 1e-6
    monkeypatch.setattr(step, "tank", leaks)
    assert run(night_=made, engine="interpreted").energy_closure > 1e-3


def test_a_dead_supply_drops_the_contactor_which_stays_off():
    made = run("boathouse", night(fault("supply-lost", **{"for": "2 min"}), duration="6 min"))
    t = made.trace
    dead = (t["time_s"] > 121) & (t["time_s"] < 239)
    assert (t["supply_v"][dead] == 0).all()
    assert (t["pump_cmd"][dead] == 0).all()
    assert (t["damper_cmd"][dead] == 0).all(), "the damper falls by its weight"
    assert (t["dump_cmd"][dead] == 1).all(), "the dump opens without power"
    after = t["time_s"] > 241
    assert (t["pump_cmd"][after] == 0).all(), "no restart into a coil that may be dry"
    assert ("boot" in [phase for _, phase in made.phases])
    assert made.pump_off_with_fire_s > 60


def test_a_board_that_restarts_leaves_the_pump_running():
    made = run("greenhouse", night(fault("board-reboots"), duration="6 min"))
    assert (made.trace["pump_cmd"] == 1).all()
    assert made.trace["flow_true_lpm"].min() > 1.0
    assert (120.0 + 2.0, "boot") in made.phases


def test_margins_follow_their_definition():
    made = run("boathouse", night({"at": "10 s", "do": "hold", "heat": "largest"},
                                  duration="20 min"))
    t, derived = made.trace, made.derived
    margin_k = derived.coil_boil_c - t["coil_water_max_c"][1:]
    assert made.margins.boil_k == pytest.approx(margin_k.min(), abs=0.05)
    left_s = margin_k * derived.coil_heat_j_k / (1.5 * t["heat_fire_w"][1:])
    assert made.margins.boil_s == pytest.approx(left_s.min(), abs=0.3)
    assert made.first_boil_s is None


def test_figures_freeze_at_the_first_boil():
    made = run("boathouse", night(fault("pump-dies"), duration="20 min"))
    assert made.first_boil_s is not None
    assert made.margins.boil_k == 0.0
    assert made.margins.boil_s == 0.0
    assert made.peaks.coil_wall_c < made.derived.coil_boil_c + 15
    assert made.trace["coil_wall_max_c"].max() > made.peaks.coil_wall_c


def test_a_person_s_acts_reach_the_board():
    made = run("boathouse", night({"at": "1 min", "do": "emergency"},
                                  {"at": "2 min", "do": "remote"}, duration="4 min"))
    assert [cause.name for cause in made.causes] == ["C32", "C33"]
    assert made.causes[0].latched
    assert made.causes[0].first_out
    assert made.causes[0].time_s == 60.0
    assert [round(time_s) for time_s, _ in made.acts] == [60, 120]


def test_weather_and_let_go():
    made = run("boathouse", night({"at": "1 min", "do": "weather", "outdoor": "-25 degC"},
                                  {"at": "2 min", "do": "let-go"}, duration="20 min"))
    assert made.trace["outdoor_c"][0] == -10.0
    assert made.trace["outdoor_c"][-1] == -25.0
    assert made.trace["heat_fire_w"][-1] < 0.8 * made.trace["heat_fire_w"][100]


def test_one_bad_frame_is_one_reading():
    made = run("boathouse", night(fault("outlet-b-bad-frame"), duration="4 min"))
    assert made.faults_fired == {"outlet-b-bad-frame": True}
    assert made.causes == []


def test_the_minimum_flow_is_the_derived_one_at_the_nominal_fire():
    """Q x 1.25 / (w (T_allow - T_tank)), never under the least flow (enthalpy balance)."""
    made = run("greenhouse", night(duration="20 min"))
    derived, t = made.derived, made.trace
    wanted = np.maximum(
        1.25 * 12000 / derived.water_w_per_lpm_k / (derived.allow_c - t["tank_seen_c"]),
        derived.flow_least_lpm,
    )
    assert t["flow_min_lpm"][600:] == pytest.approx(wanted[600:], rel=0.04)


def test_a_compiled_engine_without_numba_is_refused(monkeypatch):
    monkeypatch.setattr(engine, "can_compile", lambda: False)
    assert engine.chosen("auto") == "interpreted"
    assert engine.chosen("interpreted") == "interpreted"
    with pytest.raises(RuntimeError, match="numba"):
        engine.chosen("compiled")


def test_ticks_of_a_second_work_too():
    loop = read_loop("boathouse").model_copy(update={"tick_s": 1.0})
    made = rehearse(loop, night(duration="10 min"), today=date(2026, 11, 25))
    assert made.phases == [(0.0, "run")]
    assert made.energy_closure < 1e-6
    assert not math.isnan(made.trace["coil_outlet_true_c"][-1])
