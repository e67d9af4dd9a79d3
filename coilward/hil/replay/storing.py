"""A state written into columns, number by number, in the order of `coilward.hil.tick`.

Written out, because compiled code can't walk over the fields of a tuple of many kinds.
"""

from __future__ import annotations

from typing import Any

from coilward.controller.debounce import PLANES
from coilward.controller.plausibility import Doubt
from coilward.controller.state import Ages, Control, Mode, State, Watch

Floats = Any
Wholes = Any



def _mode(wholes: Wholes, at: int, rows: int, mode: Mode) -> None:
    wholes[at] = mode.phase
    wholes[at + rows] = mode.came_from
    wholes[at + 2 * rows] = mode.fire
    wholes[at + 3 * rows] = mode.coil
    wholes[at + 4 * rows] = mode.dry
    wholes[at + 5 * rows] = mode.latched
    wholes[at + 6 * rows] = mode.first_out
    wholes[at + 7 * rows] = mode.permitted
    wholes[at + 8 * rows] = mode.meter_dead


def _ages(floats: Floats, at: int, rows: int, ages: Ages) -> None:
    floats[at] = ages.time_s
    floats[at + rows] = ages.phase_s
    floats[at + 2 * rows] = ages.still_s
    floats[at + 3 * rows] = ages.window_s
    floats[at + 4 * rows] = ages.proof_s
    floats[at + 5 * rows] = ages.dump_1_s
    floats[at + 6 * rows] = ages.dump_2_s
    floats[at + 7 * rows] = ages.dump_3_s
    floats[at + 8 * rows] = ages.dump_4_s
    floats[at + 9 * rows] = ages.flow_return_s
    floats[at + 10 * rows] = ages.heat_s
    floats[at + 11 * rows] = ages.cold_s
    floats[at + 12 * rows] = ages.reboot_1_s
    floats[at + 13 * rows] = ages.reboot_2_s
    floats[at + 14 * rows] = ages.reboot_3_s
    floats[at + 15 * rows] = ages.dry_reset_1_s
    floats[at + 16 * rows] = ages.dry_reset_2_s


def _watch(floats: Floats, wholes: Wholes, at: int, rows: int, watch: Watch) -> None:
    floats[at + 17 * rows] = watch.outlet_a_c
    floats[at + 18 * rows] = watch.outlet_a_odd_s
    floats[at + 19 * rows] = watch.outlet_b_c
    floats[at + 20 * rows] = watch.outlet_b_odd_s
    floats[at + 21 * rows] = watch.slow_a_c
    floats[at + 22 * rows] = watch.slow_b_c
    floats[at + 23 * rows] = watch.slow_metal_c
    floats[at + 24 * rows] = watch.slow_lpm
    floats[at + 25 * rows] = watch.radiator_was_c
    floats[at + 26 * rows] = watch.heat_now_w
    floats[at + 27 * rows] = watch.heat_before_w
    floats[at + 28 * rows] = watch.heat_earlier_w
    floats[at + 29 * rows] = watch.heat_window_s
    floats[at + 30 * rows] = watch.heating_s
    floats[at + 31 * rows] = watch.idle_s
    floats[at + 32 * rows] = watch.open_s
    floats[at + 33 * rows] = watch.short_s
    floats[at + 34 * rows] = watch.under_s
    floats[at + 35 * rows] = watch.weak_s
    floats[at + 36 * rows] = watch.pump_on_s
    floats[at + 37 * rows] = watch.fans_on_s
    floats[at + 38 * rows] = watch.cooled_s
    floats[at + 39 * rows] = watch.warm_line_s
    floats[at + 40 * rows] = watch.clean_s
    floats[at + 41 * rows] = watch.mute_s
    floats[at + 42 * rows] = watch.reset_s
    floats[at + 43 * rows] = watch.silence_s
    floats[at + 44 * rows] = watch.second_s
    wholes[at + 9 * rows] = watch.held


def _doubt(floats: Floats, wholes: Wholes, at: int, rows: int, doubt: Doubt) -> None:
    floats[at + 45 * rows] = doubt.slow_outlet_c
    floats[at + 46 * rows] = doubt.slow_inlet_c
    floats[at + 47 * rows] = doubt.slow_rise_k
    floats[at + 48 * rows] = doubt.raw_a_c
    floats[at + 49 * rows] = doubt.same_a_s
    floats[at + 50 * rows] = doubt.near_a_c
    floats[at + 51 * rows] = doubt.raw_b_c
    floats[at + 52 * rows] = doubt.same_b_s
    floats[at + 53 * rows] = doubt.near_b_c
    floats[at + 54 * rows] = doubt.raw_tank_c
    floats[at + 55 * rows] = doubt.same_tank_s
    floats[at + 56 * rows] = doubt.residual_s
    floats[at + 57 * rows] = doubt.rise_low_k
    floats[at + 58 * rows] = doubt.rise_high_k
    floats[at + 59 * rows] = doubt.flue_low_c
    floats[at + 60 * rows] = doubt.flue_high_c
    floats[at + 61 * rows] = doubt.watched_s
    floats[at + 62 * rows] = doubt.foul_s
    wholes[at + 10 * rows] = doubt.suspects


def _control(floats: Floats, wholes: Wholes, at: int, rows: int, control: Control) -> None:
    floats[at + 63 * rows] = control.target_lpm
    floats[at + 64 * rows] = control.error_k
    floats[at + 65 * rows] = control.moved_s
    floats[at + 66 * rows] = control.valve
    floats[at + 67 * rows] = control.stroke_was
    floats[at + 68 * rows] = control.flow_was_lpm
    floats[at + 69 * rows] = control.fans
    floats[at + 70 * rows] = control.tries
    floats[at + 71 * rows] = control.retry_off_s
    floats[at + 72 * rows] = control.retry_gap_s
    floats[at + 73 * rows] = control.guard_s
    floats[at + 74 * rows] = control.dump_open_s
    floats[at + 75 * rows] = control.hand_s
    wholes[at + 11 * rows] = control.closing
    wholes[at + 12 * rows] = control.pump
    wholes[at + 13 * rows] = control.damper_open
    wholes[at + 14 * rows] = control.dump_open
    wholes[at + 15 * rows] = control.passed


def store(floats: Floats, wholes: Wholes, at: int, rows: int, state: State) -> None:
    """Writes one state at row ``at`` of flat columns that are ``rows`` long."""
    _mode(wholes, at, rows, state.mode)
    _ages(floats, at, rows, state.ages)
    _watch(floats, wholes, at, rows, state.watch)
    _doubt(floats, wholes, at, rows, state.doubt)
    _control(floats, wholes, at, rows, state.control)
    for plane in range(PLANES):
        wholes[at + (16 + plane) * rows] = state.counters[plane]
    wholes[at + 28 * rows] = state.raised
    wholes[at + 29 * rows] = state.seen
