"""A run of ticks decided again from its readings: the loop that numba compiles.

Columns are flat: number ``k`` of row ``at`` lies at ``k * rows + at``. Nothing is made inside, and
the interpreter runs the same lines.
"""

from __future__ import annotations

from typing import Any

from coilward.controller.constants import Constants
from coilward.controller.decide import decide
from coilward.controller.state import State
from coilward.controller.types import Readings, Requests
from coilward.hil.replay.storing import store

Floats = Any
Wholes = Any


def readings_at(floats: Floats, at: int, rows: int) -> Readings:
    """The readings of one row."""
    time_s = floats[at]
    coil_outlet_a_c = floats[at + rows]
    coil_outlet_b_c = floats[at + 2 * rows]
    tank_c = floats[at + 3 * rows]
    radiator_inlet_c = floats[at + 4 * rows]
    radiator_outlet_c = floats[at + 5 * rows]
    coil_metal_c = floats[at + 6 * rows]
    flue_c = floats[at + 7 * rows]
    room_c = floats[at + 8 * rows]
    line_min_c = floats[at + 9 * rows]
    flow_lpm = floats[at + 10 * rows]
    pulse_age_s = floats[at + 11 * rows]
    flow_switch = floats[at + 12 * rows]
    pump_a = floats[at + 13 * rows]
    supply_v = floats[at + 14 * rows]
    level_low = floats[at + 15 * rows]
    level_low_low = floats[at + 16 * rows]
    fan_a = floats[at + 17 * rows]
    damper_shut = floats[at + 18 * rows]
    co_ppm = floats[at + 19 * rows]
    pump_contact = floats[at + 20 * rows]
    outage_s = floats[at + 21 * rows]
    vent_wet = floats[at + 22 * rows]
    smoke = floats[at + 23 * rows]
    constants_ok = floats[at + 24 * rows]
    return Readings(
        time_s, coil_outlet_a_c, coil_outlet_b_c, tank_c, radiator_inlet_c,
        radiator_outlet_c, coil_metal_c, flue_c, room_c, line_min_c, flow_lpm, pulse_age_s,
        flow_switch, pump_a, supply_v, level_low, level_low_low, fan_a, damper_shut, co_ppm,
        pump_contact, outage_s, vent_wet, smoke, constants_ok,
    )


def requests_from(mask: int) -> Requests:
    """The requests of a mask."""
    return Requests(
        mask & 1 != 0,
        mask & 2 != 0,
        mask & 4 != 0,
        mask & 8 != 0,
        mask & 16 != 0,
        mask & 32 != 0,
        mask & 64 != 0,
        mask & 128 != 0,
        mask & 256 != 0,
        mask & 512 != 0,
        mask & 1024 != 0,
        mask & 2048 != 0,
        mask & 4096 != 0,
        mask & 8192 != 0,
    )


def redecide(
    readings: Floats, masks: Wholes, valve_fans: Floats, switches: Wholes, floats: Floats,
    wholes: Wholes, rows: int, since: int, until: int, state: State, constants: Constants,
) -> State:  # fmt: skip
    """Decides rows ``since`` to ``until`` anew; the state after the last.

    Out come the commands (valve and fans; pump, damper, dump, horn and permission) and the
    floats and whole numbers of the states.
    """
    for at in range(since, until):
        decision = decide(
            readings_at(readings, at, rows), requests_from(masks[at]), state, constants
        )
        state, commands = decision.state, decision.commands
        valve_fans[at] = commands.valve
        valve_fans[at + rows] = commands.fans
        switches[at] = commands.pump
        switches[at + rows] = commands.damper_open
        switches[at + 2 * rows] = commands.dump_open
        switches[at + 3 * rows] = commands.horn
        switches[at + 4 * rows] = commands.may_light
        store(floats, wholes, at, rows, state)
    return state
