"""One tick: readings and requests in, commands and the next state out.

    sense -> estimate -> causes -> debounce, latch -> facts -> next phase -> commands

`decide` is total: any floats, NaN and infinity included, any requests, any state. It is
pure: no clock, no memory but the state it is given. It never raises.
"""

from __future__ import annotations

from typing import NamedTuple

from coilward.controller import interlocks as row
from coilward.controller import phases as ph
from coilward.controller.acting import NO_RETRY, guarded, overruled, retry, wanted
from coilward.controller.by_hand import by_hand, hold_s
from coilward.controller.causing import causes
from coilward.controller.constants import Constants
from coilward.controller.debounce import count, reached
from coilward.controller.doubting import doubted
from coilward.controller.estimating import away_s, estimate
from coilward.controller.facts import DUMP_LEAST_S, facts_of
from coilward.controller.latching import first_of, latches
from coilward.controller.phases import next_phase
from coilward.controller.prelight import ALL, passed_checks
from coilward.controller.reckoned import SECOND_S
from coilward.controller.remembering import answered, remember
from coilward.controller.sensing import sense
from coilward.controller.state import (
    COLD,
    MAYBE_DRY,
    NO,
    Ages,
    Control,
    Mode,
    State,
    sound_state,
)
from coilward.controller.types import Commands, Readings, Requests
from coilward.controller.valve import REST, output_stroke, throttle

SILENCE_S = 300.0
RETURNS_S = 600.0
OPEN_TROUBLE = (ph.BOOT, ph.NO_FLOW, ph.DRY)
"""Phases in which a quiet moment between two rows is not the end of the trouble."""


class Decision(NamedTuple):
    """What a tick decides."""

    state: State
    commands: Commands


def decide(readings: Readings, requests: Requests, state: State, constants: Constants) -> Decision:
    """One tick of the logic, from any state."""
    return decided(readings, requests, sound_state(state, constants), constants)


def decided(readings: Readings, requests: Requests, state: State, constants: Constants) -> Decision:
    """The same from a sound state; the module's own words give the order of things."""
    mode, ages, watch, control = state.mode, state.ages, state.watch, state.control
    doubt = state.doubt
    tick_s = constants.tick_s
    seen = sense(readings, doubt.suspects, mode, ages, watch, control, constants)
    now = estimate(readings, requests, seen, mode, ages, watch, constants)
    hand_s = hold_s(requests, readings, seen, mode.phase, now.fire, control, constants)

    cause = causes(
        readings, requests, seen, now, mode, ages, watch, doubt.suspects, control, hand_s,
        state.raised, state.seen, constants,
    )
    counters = count(cause, state.counters)
    debounced = reached(cause, counters, constants.thresholds)
    clean_s = 0.0 if cause & row.RETURNING else watch.clean_s + tick_s
    held = (watch.held | debounced) & row.RETURNING
    if clean_s >= RETURNS_S or now.fire == NO:
        held = held & debounced
    raised = debounced | held
    kept = latches(raised, cause, readings, requests, mode, ages, watch, now, seen, constants)
    active = raised
    if now.fire != NO:
        active = raised | kept.latched

    facts = facts_of(
        active, raised, readings, requests, seen, now, kept, mode, ages, watch, constants
    )
    phase = next_phase(mode.phase, facts)
    entering = phase != mode.phase
    phase_s = 0.0 if entering else ages.phase_s + tick_s
    dry = kept.dry or (phase == ph.DRY and now.fire != NO)
    coil = now.coil
    if dry:
        coil = MAYBE_DRY
    elif kept.dry_reset:
        coil = COLD

    passed = 0
    if phase == ph.COLD_START and not entering:
        passed = passed_checks(control.passed, phase_s, readings, seen, now, constants)
    permitted = passed == ALL and kept.latched == 0
    guard_s = 0.0
    if phase == ph.FREEZE and not entering:
        guard_s = control.guard_s + tick_s
        if guard_s >= constants.reckoned.guard_turn_s:
            guard_s = 0.0
    silence_s = watch.silence_s - tick_s if watch.silence_s > 0.0 else 0.0
    if requests.silence:
        silence_s = SILENCE_S
    if raised & ~state.raised & row.HORN_CONTINUOUS:
        silence_s = 0.0

    # One tick never judges the readings and moves the valve: the judging waits for it, but once.
    second_s = watch.second_s + tick_s
    waited = second_s >= constants.reckoned.judged_late_s
    judging = second_s >= SECOND_S
    loop = REST
    if phase == ph.RUN:
        loop = throttle(entering, waited, seen, now, control, constants)
        judging = judging and (waited or loop.moved_s > 0.0)
    stroke = output_stroke(loop, constants)
    again = NO_RETRY
    if phase == ph.NO_FLOW:
        again = retry(entering, seen, now, control, constants)
    base = wanted(phase, phase_s, stroke, guard_s, readings, seen, now, control, constants)
    base = by_hand(base, phase, now.fire, hand_s, requests, constants)
    opened_lately = control.dump_open and control.dump_open_s < DUMP_LEAST_S
    dump_held = now.fire != NO and opened_lately
    commands = guarded(
        overruled(base, active, phase, control),
        phase, now.fire, dry, again.off_s > 0.0, dump_held, permitted, silence_s > 0.0, constants,
    )
    valve = commands.valve
    moved_s = control.moved_s + tick_s if valve == control.valve else 0.0
    if phase == ph.RUN and valve == stroke:
        valve = loop.valve
        moved_s = loop.moved_s
    deaf = cause & row.VALVE_DEAF != 0
    stroke_was, flow_was_lpm = answered(deaf, seen, control, valve, moved_s, constants)

    ran_s = tick_s
    if mode.phase == ph.BOOT and ages.phase_s == 0.0 and readings.outage_s > 0.0:
        ran_s = tick_s + away_s(readings)
    reboot_1_s, reboot_2_s = ages.reboot_1_s + tick_s, ages.reboot_2_s + ran_s
    reboot_3_s = ages.reboot_3_s + ran_s
    dry_reset_1_s, dry_reset_2_s = ages.dry_reset_1_s + ran_s, ages.dry_reset_2_s + ran_s
    if kept.dry_reset:
        dry_reset_1_s, dry_reset_2_s = 0.0, dry_reset_1_s
    dumping = phase == ph.DUMP and mode.phase != ph.DUMP
    dump_1_s, dump_2_s = ages.dump_1_s + tick_s, ages.dump_2_s + tick_s
    dump_3_s, dump_4_s = ages.dump_3_s + tick_s, ages.dump_4_s + tick_s
    if dumping:
        dump_1_s, dump_2_s, dump_3_s, dump_4_s = 0.0, dump_1_s, dump_2_s, dump_3_s
    returned = mode.phase == ph.NO_FLOW and entering and phase != ph.DRY
    proof_s = 0.0 if phase == ph.NO_FLOW and entering else now.proof_s
    flow_return_s = 0.0 if returned else ages.flow_return_s + tick_s
    first_out = mode.first_out
    if raised | kept.latched == 0:
        if phase not in OPEN_TROUBLE:
            first_out = -1
    elif first_out < 0:
        first_out = first_of(raised if raised != 0 else kept.latched)
    came_from = phase
    if phase == ph.NO_FLOW or phase == ph.BOOT:
        came_from = mode.phase if entering and mode.phase != ph.BOOT else mode.came_from
    fire, latched = now.fire, kept.latched
    meter_dead = latched & row.METER_DEAD != 0
    if judging:
        doubt = doubted(readings, seen, now, doubt, control, watch, constants)
        second_s = tick_s if waited else 0.0
    mode = Mode(phase, came_from, fire, coil, dry, latched, first_out, permitted, meter_dead)
    time_s, still_s, window_s = readings.time_s, now.still_s, now.window_s
    heat_s, cold_s = now.heat_s, now.cold_s
    ages = Ages(
        time_s, phase_s, still_s, window_s, proof_s, dump_1_s, dump_2_s, dump_3_s, dump_4_s,
        flow_return_s, heat_s, cold_s, reboot_1_s, reboot_2_s, reboot_3_s, dry_reset_1_s,
        dry_reset_2_s,
    )
    watch = remember(
        readings, seen, now, commands, watch, returned, clean_s, held, kept.reset_s, silence_s,
        second_s, constants,
    )
    target_lpm, error_k, closing = loop.target_lpm, loop.error_k, loop.closing
    pump, fans = commands.pump, commands.fans
    damper_open, dump_open = commands.damper_open, commands.dump_open
    dump_open_s = control.dump_open_s + tick_s if dump_open and control.dump_open else 0.0
    tries, retry_off_s, retry_gap_s = again.tries, again.off_s, again.gap_s
    control = Control(
        target_lpm, error_k, moved_s, valve, closing, stroke_was, flow_was_lpm, pump, fans,
        damper_open, dump_open, tries, retry_off_s, retry_gap_s, guard_s, passed,
        dump_open_s, hand_s,
    )
    return Decision(State(mode, ages, watch, doubt, control, counters, raised, cause), commands)
