"""Pump, valve, supply, and how each fault acts on them."""

from __future__ import annotations

import pytest

from coilward.simulator import slots as at
from coilward.simulator.actuators import pump_current_a
from coilward.simulator.faults.injecting import Injector
from tests.simulator.plants import Plant


def test_valve_takes_its_travel_time():
    plant = Plant("boathouse")
    plant.p[at.BACKLASH] = 0.0
    plant.y[at.TOLD_VALVE] = 0.5
    plant.run(0.5 * plant.loop.valve.travel_s - 0.25)
    assert plant.y[at.MOTOR] > 0.5
    plant.run(0.25)
    assert plant.y[at.MOTOR] == pytest.approx(0.5, abs=1e-12)
    plant.run(0.25)
    assert plant.y[at.MOTOR] == 0.5


def test_valve_backlash_is_taken_up_once_a_reversal():
    plant = Plant("boathouse")
    play = plant.loop.valve.backlash
    plant.y[at.TOLD_VALVE] = 0.7
    plant.run(5)
    assert plant.y[at.STROKE] == pytest.approx(0.7 + play), "closing, the stroke lags by the play"
    plant.y[at.TOLD_VALVE] = 0.7 + 0.8 * play
    plant.run(5)
    assert plant.y[at.STROKE] == pytest.approx(0.7 + play), "the play is not yet taken up"
    plant.y[at.TOLD_VALVE] = 0.8
    plant.run(5)
    assert plant.y[at.STROKE] == pytest.approx(0.8), "opening, the stroke follows"


def test_valve_does_not_pass_its_mechanical_stop():
    plant = Plant("boathouse")
    plant.y[at.TOLD_VALVE] = 0.0
    plant.run(10)
    assert plant.y[at.STROKE] == plant.loop.valve.stop
    assert plant.y[at.FLOW_LPM] > 1.0


def test_valve_without_a_stop_can_shut_and_its_bypass_still_passes():
    plant = Plant("boathouse")
    plant.p[at.VALVE_STOP] = 0.0
    plant.y[at.TOLD_VALVE] = 0.0
    plant.run(10)
    assert plant.y[at.STROKE] == plant.loop.valve.backlash < plant.loop.valve.crack_open
    assert plant.y[at.FLOW_LPM] == 0.0
    plant.p[at.BYPASS_KV] = 0.2
    plant.y[at.TOLD_VALVE] = 0.04
    plant.run(10)
    assert plant.y[at.FLOW_LPM] > 1.0


def test_pump_speed_follows_the_voltage():
    """Affinity: flow with speed, head with its square (Crane TP-410 7.33)."""
    plant = Plant("greenhouse")
    plant.run(10)
    flow, volts = plant.y[at.FLOW_LPM], plant.y[at.SUPPLY_V]
    plant.p[at.SUPPLY_OPEN_V] = 10.5
    plant.run(10)
    assert plant.y[at.SPEED] == pytest.approx(plant.y[at.SUPPLY_V] / 12.0, rel=1e-3)
    assert plant.y[at.FLOW_LPM] / flow == pytest.approx(plant.y[at.SUPPLY_V] / volts, rel=0.05)


def test_pump_runs_down_in_half_a_second():
    plant = Plant("greenhouse")
    plant.run(5)
    speed = plant.y[at.SPEED]
    plant.pump(on=False)
    plant.run(0.5)
    assert plant.y[at.SPEED] == pytest.approx(speed * 0.36788, rel=1e-4)
    plant.run(10)
    assert plant.y[at.FLOW_LPM] < 1e-3, "no flow by gravity is credited"


def test_pump_cuts_out_on_hot_water_and_comes_back():
    plant = Plant("boathouse")
    plant.p[at.CUT_OUT_C] = 50.0
    plant.y[at.TANK_TOP] = plant.y[at.TANK_BOTTOM] = 60.0
    plant.run(60)
    assert plant.y[at.SPEED] < 0.01
    plant.y[at.COLD_ : at.COLD_ + at.LINE_CELLS] = [30.0] * at.LINE_CELLS
    plant.y[at.TANK_TOP] = plant.y[at.TANK_BOTTOM] = 30.0
    plant.run(10)
    assert plant.y[at.SPEED] > 0.9


@pytest.mark.parametrize(("fault", "low", "high"), [
    (None, 2.0, 3.0), ("pump-dies", 0.0, 0.0), ("pump-stalls", 4.5, 6.0), ("line-frozen", 1.7, 2.2),
])
def test_pump_current_tells_what_it_does(fault, low, high):
    """Running 2.5 A; a stalled rotor draws more than its high limit, a shut line less."""
    plant = Plant("boathouse")
    faults = Injector(plant.y, plant.p, 2)
    if fault:
        faults.begin(fault, None)
    plant.run(10)
    share = plant.y[at.FLOW_LPM] / plant.derived.flow_open_lpm
    assert low <= pump_current_a(plant.y, plant.p, share) <= high


def test_fans_take_three_seconds():
    plant = Plant("boathouse")
    plant.fans(0.0)
    plant.run(3.0)
    assert plant.y[at.FAN_SPEED] == pytest.approx(0.36788, rel=1e-4)


def test_dump_takes_its_effectiveness_of_the_heat():
    """Q = mc (T - T_air) (1 - exp(-UA/mc)) (textbook)."""
    plant = Plant("boathouse")
    plant.y[at.TOLD_DUMP] = 1.0
    plant.run(60)
    from coilward.loop.sums.dump import dump_heat_w

    stream_w_k = plant.y[at.FLOW_LPM] * plant.p[at.W_PER_LPM_K]
    hot_c = plant.y[at.HOT_ + at.LINE_CELLS - 1]
    assert plant.y[at.DUMP_W] == pytest.approx(
        dump_heat_w(60.0, stream_w_k, hot_c, plant.p[at.OUTDOOR_C]), rel=1e-3
    )
