"""What a fault does that is no parameter: restarts, hangs, supply cuts, buttons, wood."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coilward.simulator import slots as at
from coilward.simulator.bench import Bench
from coilward.simulator.faults import FAULTS, Act, forget, register
from coilward.simulator.night import Moment
from coilward.simulator.run import columns, phases_of
from tests.loop.examples import changed
from tests.simulator.trials import ONSET_S, TODAY, bench, played, tried


@pytest.fixture
def acting():
    """A fault that only acts, as told."""
    names = []

    def made(*acts, **also):
        name = f"acts-{len(names)}"
        row = replace(FAULTS["board-reboots"], name=name, clears_s=None, acts=acts, **also)
        register(row)
        names.append(name)
        return name

    yield made
    for name in names:
        forget(name)


def boots(night):
    """When the board came back, s."""
    return [time_s for time_s, phase in phases_of(night.start_phase, night.log) if phase == "boot"]


def test_a_restart_lasts_as_long_as_the_night_says():
    fault = Moment(at_s=ONSET_S, do="fault", fault="board-reboots", for_s=7.0)
    assert boots(played(fault)) == [17.0]
    assert boots(tried("board-reboots", "run")) == [12.0]


def test_a_hung_board_leaves_its_outputs_and_then_restarts():
    night = tried("board-hangs", "run", size=2.0)
    assert boots(night) == [14.0]
    trace = columns(night.trace)
    assert list(trace["damper_cmd"][10:16]) == [1.0, 1.0, 0.0, 0.0, 1.0, 1.0]
    assert min(trace["pump_cmd"]) == 1.0
    assert min(trace["flow_true_lpm"]) > 1.0


def test_an_act_repeats_while_its_fault_lasts(acting):
    name = acting(Act("reboot", lasts_s=1.0, every_s=10.0))
    endless = played(Moment(at_s=ONSET_S, do="fault", fault=name))
    assert boots(endless) == [11.0, 21.0, 31.0, 41.0, 51.0]
    ended = played(Moment(at_s=ONSET_S, do="fault", fault=name, for_s=25.0))
    assert boots(ended) == [11.0, 21.0, 31.0]


def test_an_act_repeats_as_often_as_told_after_its_wait(acting):
    name = acting(Act("reboot", lasts_s=1.0, after_s=5.0, every_s=10.0, times=2))
    assert boots(tried(name, "run")) == [16.0, 26.0]


def test_the_size_sets_what_the_act_says(acting):
    name = acting(
        Act("reboot", lasts_s=1.0, sized="every_s"), size_meaning="s", default_size=20.0,
        lowest=10.0, highest=60.0,
    )
    assert boots(tried(name, "run")) == [11.0, 31.0, 51.0]
    assert boots(tried(name, "run", size=30.0)) == [11.0, 41.0]


def test_two_losses_of_supply_end_with_the_later(acting):
    name = acting(Act("lose-supply", lasts_s=10.0), effects=FAULTS["supply-lost"].effects)
    night = played(
        Moment(at_s=10.0, do="fault", fault=name, for_s=10.0),
        Moment(at_s=15.0, do="fault", fault=name, for_s=10.0),
    )
    assert boots(night) == [25.0]


def test_only_a_supply_that_is_lost_with_its_battery_stops_the_pump():
    kept, lost = tried("bus-lost", "run"), tried("supply-lost", "run")
    assert kept.y[at.FLOW_LPM] > 1.0
    assert kept.y[at.BOILED_S] < 0.0
    assert lost.y[at.FLOW_LPM] < 0.01
    assert kept.y[at.SUPPLY_V] == lost.y[at.SUPPLY_V] == 0.0


@pytest.mark.parametrize("device", ["pump_battery", "no_volt_release"])
def test_the_pump_stops_with_the_bus_where_a_device_is_missing(device):
    loop = changed(bench().loop, **{f"passive__{device}": None})
    assert tried("bus-lost", "run", on=Bench(loop, TODAY, "interpreted")).y[at.FLOW_LPM] < 0.01


def test_a_pump_that_dropped_stays_off_when_the_supply_is_back():
    night = tried("supply-returns", "run", size=30.0)
    assert boots(night) == [40.0]
    trace = columns(night.trace)
    assert night.y[at.SUPPLY_V] > 11.0
    assert max(trace["pump_cmd"][11:]) == 0.0
    assert phases_of(night.start_phase, night.log)[-1][1] == "dry lock-out"


def test_a_fire_that_is_lit_without_telling_heats_the_coil():
    assert tried("lit-without-check", "standby", lasts_s=300.0).y[at.FIRE_W] > 500.0


def test_wood_is_put_in_by_the_fault():
    assert tried("wood-overloaded", "run", size=3.0).y[at.FRESH_KG] > 1.0
    assert tried("wood-overloaded", "run", size=3.0).y[at.HOLD_W] < 0.0
