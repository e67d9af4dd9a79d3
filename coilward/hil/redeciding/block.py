"""Many ticks decided again in one call: from columns of numbers, into columns of numbers.

Compiled or interpreted, it is the same function, and gives the same bits.
"""

from __future__ import annotations

from coilward.controller.constants import Constants
from coilward.controller.decide import decide
from coilward.controller.state import State
from coilward.controller.types import Commands, Readings, Requests

Floats = list[float]
Wholes = list[int]


def redecide(
    came: Floats, asked: Wholes, floats: Floats, wholes: Wholes, ticks: int, at: int, until: int,
    state: State, constants: Constants,
) -> State:  # fmt: skip
    """Ticks ``at`` to ``until`` of a block of ``ticks``; the state after them.

    ``came`` holds the readings and ``asked`` the requests' masks; what is decided goes into
    ``floats`` and ``wholes``, in the order of a digest. Each name's numbers lie side by side.
    """
    while at < until:
        readings = readings_at(came, ticks, at)
        decision = decide(readings, requests_at(asked[at]), state, constants)
        state = decision.state
        put_floats(floats, ticks, at, state, decision.commands)
        put_wholes(wholes, ticks, at, state, decision.commands)
        at += 1
    return state


def readings_at(came: Floats, ticks: int, at: int) -> Readings:
    """The readings of a tick."""
    return Readings(
        time_s=came[at],
        coil_outlet_a_c=came[1 * ticks + at],
        coil_outlet_b_c=came[2 * ticks + at],
        tank_c=came[3 * ticks + at],
        radiator_inlet_c=came[4 * ticks + at],
        radiator_outlet_c=came[5 * ticks + at],
        coil_metal_c=came[6 * ticks + at],
        flue_c=came[7 * ticks + at],
        room_c=came[8 * ticks + at],
        line_min_c=came[9 * ticks + at],
        flow_lpm=came[10 * ticks + at],
        pulse_age_s=came[11 * ticks + at],
        flow_switch=came[12 * ticks + at],
        pump_a=came[13 * ticks + at],
        supply_v=came[14 * ticks + at],
        level_low=came[15 * ticks + at],
        level_low_low=came[16 * ticks + at],
        fan_a=came[17 * ticks + at],
        damper_shut=came[18 * ticks + at],
        co_ppm=came[19 * ticks + at],
        pump_contact=came[20 * ticks + at],
        outage_s=came[21 * ticks + at],
        vent_wet=came[22 * ticks + at],
        smoke=came[23 * ticks + at],
        constants_ok=came[24 * ticks + at],
    )


def requests_at(mask: int) -> Requests:
    """The requests of a mask, as `coilward.hil.tick.requests_of` reads it."""
    return Requests(
        prepare=mask & 1 != 0,
        lit=mask & 2 != 0,
        finish=mask & 4 != 0,
        silence=mask & 8 != 0,
        reset=mask & 16 != 0,
        emergency=mask & 32 != 0,
        declare_out=mask & 64 != 0,
        remote_unsafe=mask & 128 != 0,
        key=mask & 256 != 0,
        hand_pump=mask & 512 != 0,
        hand_valve=mask & 1024 != 0,
        hand_fans=mask & 2048 != 0,
        hand_dump=mask & 4096 != 0,
        hand_damper=mask & 8192 != 0,
    )


def put_floats(floats: Floats, ticks: int, at: int, state: State, commands: Commands) -> None:
    """The floats of a tick: `coilward.hil.tick.FLOATS`, then valve and fans."""
    ages, watch, doubt, control = state.ages, state.watch, state.doubt, state.control
    floats[at] = ages.time_s
    floats[ticks + at] = ages.phase_s
    floats[2 * ticks + at] = ages.still_s
    floats[3 * ticks + at] = ages.window_s
    floats[4 * ticks + at] = ages.proof_s
    floats[5 * ticks + at] = ages.dump_1_s
    floats[6 * ticks + at] = ages.dump_2_s
    floats[7 * ticks + at] = ages.dump_3_s
    floats[8 * ticks + at] = ages.dump_4_s
    floats[9 * ticks + at] = ages.flow_return_s
    floats[10 * ticks + at] = ages.heat_s
    floats[11 * ticks + at] = ages.cold_s
    floats[12 * ticks + at] = ages.reboot_1_s
    floats[13 * ticks + at] = ages.reboot_2_s
    floats[14 * ticks + at] = ages.reboot_3_s
    floats[15 * ticks + at] = ages.dry_reset_1_s
    floats[16 * ticks + at] = ages.dry_reset_2_s
    floats[17 * ticks + at] = watch.outlet_a_c
    floats[18 * ticks + at] = watch.outlet_a_odd_s
    floats[19 * ticks + at] = watch.outlet_b_c
    floats[20 * ticks + at] = watch.outlet_b_odd_s
    floats[21 * ticks + at] = watch.slow_a_c
    floats[22 * ticks + at] = watch.slow_b_c
    floats[23 * ticks + at] = watch.slow_metal_c
    floats[24 * ticks + at] = watch.slow_lpm
    floats[25 * ticks + at] = watch.radiator_was_c
    floats[26 * ticks + at] = watch.heat_now_w
    floats[27 * ticks + at] = watch.heat_before_w
    floats[28 * ticks + at] = watch.heat_earlier_w
    floats[29 * ticks + at] = watch.heat_window_s
    floats[30 * ticks + at] = watch.heating_s
    floats[31 * ticks + at] = watch.idle_s
    floats[32 * ticks + at] = watch.open_s
    floats[33 * ticks + at] = watch.short_s
    floats[34 * ticks + at] = watch.under_s
    floats[35 * ticks + at] = watch.weak_s
    floats[36 * ticks + at] = watch.pump_on_s
    floats[37 * ticks + at] = watch.fans_on_s
    floats[38 * ticks + at] = watch.cooled_s
    floats[39 * ticks + at] = watch.warm_line_s
    floats[40 * ticks + at] = watch.clean_s
    floats[41 * ticks + at] = watch.mute_s
    floats[42 * ticks + at] = watch.reset_s
    floats[43 * ticks + at] = watch.silence_s
    floats[44 * ticks + at] = watch.second_s
    floats[45 * ticks + at] = doubt.slow_outlet_c
    floats[46 * ticks + at] = doubt.slow_inlet_c
    floats[47 * ticks + at] = doubt.slow_rise_k
    floats[48 * ticks + at] = doubt.raw_a_c
    floats[49 * ticks + at] = doubt.same_a_s
    floats[50 * ticks + at] = doubt.near_a_c
    floats[51 * ticks + at] = doubt.raw_b_c
    floats[52 * ticks + at] = doubt.same_b_s
    floats[53 * ticks + at] = doubt.near_b_c
    floats[54 * ticks + at] = doubt.raw_tank_c
    floats[55 * ticks + at] = doubt.same_tank_s
    floats[56 * ticks + at] = doubt.residual_s
    floats[57 * ticks + at] = doubt.rise_low_k
    floats[58 * ticks + at] = doubt.rise_high_k
    floats[59 * ticks + at] = doubt.flue_low_c
    floats[60 * ticks + at] = doubt.flue_high_c
    floats[61 * ticks + at] = doubt.watched_s
    floats[62 * ticks + at] = doubt.foul_s
    floats[63 * ticks + at] = control.target_lpm
    floats[64 * ticks + at] = control.error_k
    floats[65 * ticks + at] = control.moved_s
    floats[66 * ticks + at] = control.valve
    floats[67 * ticks + at] = control.stroke_was
    floats[68 * ticks + at] = control.flow_was_lpm
    floats[69 * ticks + at] = control.fans
    floats[70 * ticks + at] = control.tries
    floats[71 * ticks + at] = control.retry_off_s
    floats[72 * ticks + at] = control.retry_gap_s
    floats[73 * ticks + at] = control.guard_s
    floats[74 * ticks + at] = control.dump_open_s
    floats[75 * ticks + at] = control.hand_s
    floats[76 * ticks + at] = commands.valve
    floats[77 * ticks + at] = commands.fans


def put_wholes(wholes: Wholes, ticks: int, at: int, state: State, commands: Commands) -> None:
    """The whole numbers of a tick: `coilward.hil.tick.WHOLES`, then the switches."""
    mode, watch, doubt, control = state.mode, state.watch, state.doubt, state.control
    c0, c1, c2, c3, c4, c5, c6, c7, c8, c9, c10, c11 = state.counters
    wholes[at] = mode.phase
    wholes[ticks + at] = mode.came_from
    wholes[2 * ticks + at] = mode.fire
    wholes[3 * ticks + at] = mode.coil
    wholes[4 * ticks + at] = mode.dry
    wholes[5 * ticks + at] = mode.latched
    wholes[6 * ticks + at] = mode.first_out
    wholes[7 * ticks + at] = mode.permitted
    wholes[8 * ticks + at] = mode.meter_dead
    wholes[9 * ticks + at] = watch.held
    wholes[10 * ticks + at] = doubt.suspects
    wholes[11 * ticks + at] = control.closing
    wholes[12 * ticks + at] = control.pump
    wholes[13 * ticks + at] = control.damper_open
    wholes[14 * ticks + at] = control.dump_open
    wholes[15 * ticks + at] = control.passed
    wholes[16 * ticks + at] = c0
    wholes[17 * ticks + at] = c1
    wholes[18 * ticks + at] = c2
    wholes[19 * ticks + at] = c3
    wholes[20 * ticks + at] = c4
    wholes[21 * ticks + at] = c5
    wholes[22 * ticks + at] = c6
    wholes[23 * ticks + at] = c7
    wholes[24 * ticks + at] = c8
    wholes[25 * ticks + at] = c9
    wholes[26 * ticks + at] = c10
    wholes[27 * ticks + at] = c11
    wholes[28 * ticks + at] = state.raised
    wholes[29 * ticks + at] = state.seen
    wholes[30 * ticks + at] = commands.pump
    wholes[31 * ticks + at] = commands.damper_open
    wholes[32 * ticks + at] = commands.dump_open
    wholes[33 * ticks + at] = commands.horn
    wholes[34 * ticks + at] = commands.may_light
