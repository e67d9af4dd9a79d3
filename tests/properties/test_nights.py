"""What must hold over random loops, fires and nights, in closed loop."""

from __future__ import annotations

from datetime import date

import numpy as np
from hypothesis import HealthCheck, assume, example, given, settings

from coilward.controller.phases import BOOT, DRY, NO_FLOW
from coilward.controller.state import COLD, NO, WET
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.loop.layout import sound
from coilward.simulator.faults.power import REBOOT_S
from coilward.simulator.rehearsal import rehearse
from tests.properties.loops import any_nights, fault, hot_nights, loops
from tests.properties.loops import night as made_up

TODAY = date(2026, 11, 25)
OVERSHOOT_K = 4.0
"""Stated in the docs: surge and sensor lag after the dump trip, above the allowed temperature."""
SLOW = settings(
    max_examples=60, deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)


@SLOW
@given(loops(), hot_nights())
def test_overheat_leads_to_the_dump_in_time_on_every_sound_loop(loop, night):
    derived = derive(loop, TODAY)
    assume(not sound(loop, derived))
    run = rehearse(loop, night, today=TODAY)
    hottest = derived.allow_c + OVERSHOOT_K
    over = np.flatnonzero(run.trace["coil_outlet_true_c"] >= hottest)
    if over.size:
        cooled = (run.trace["dump_cmd"] > 0.0) & (run.trace["damper_cmd"] == 0.0)
        assert cooled[: over[0] + 1].any(), (over[0], run.causes)


def restarting(night, time_s):
    """Seconds in which the board is away: its memory, and so its phase, are those of before."""
    away = np.zeros(len(time_s), dtype=bool)
    for moment in night.moment:
        if moment.fault == "board-reboots":
            lasts_s = REBOOT_S if moment.for_s is None else moment.for_s
            away |= (time_s >= moment.at_s) & (time_s <= moment.at_s + lasts_s)
    return away


BACK_BEFORE_THE_BOARD = made_up(
    fault(10.0, "pump-dies"), fault(10.0, "supply-lost", 791.0), fault(800.5, "board-reboots"),
    hours=1.0,
)  # fmt: skip
"""The supply returns while the board restarts."""


@SLOW
@given(loops(), any_nights())
@example(read_loop("hot-tub"), BACK_BEFORE_THE_BOARD)
def test_water_moves_or_is_locked_off_and_energy_is_accounted_for(loop, night):
    run = rehearse(loop, night, today=TODAY)
    assert run.energy_closure <= 1e-3
    trace = run.trace
    dry = np.maximum.accumulate(trace["phase"] == DRY)
    assert not trace["pump_cmd"][dry].any()
    at_work = (
        (trace["fire"] != NO)
        & ((trace["coil"] == WET) | (trace["coil"] == COLD))
        & (trace["phase"] != BOOT)
        & (trace["phase"] != NO_FLOW)
        & (trace["supply_v"] > 8.0)
        & ~restarting(night, trace["time_s"])
        & ~dry
    )
    awake = at_work & np.roll(at_work, 1)
    assert trace["pump_cmd"][awake].all()
    assert (trace["valve_cmd"][trace["fire"] != NO] >= loop.valve.stop - 1e-12).all()
