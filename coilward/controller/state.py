"""What the logic remembers from tick to tick, and what of it survives a reboot."""

from __future__ import annotations

from math import isfinite
from typing import NamedTuple

from coilward.controller import interlocks as row
from coilward.controller.constants import Constants
from coilward.controller.debounce import QUIET, Counters
from coilward.controller.phases import BOOT, PHASES, STANDBY
from coilward.controller.plausibility import EVERY_SUSPICION, Doubt, fresh_doubt

NO, YES, UNKNOWN = 0, 1, 2
"""Fire states. Unknown is treated as yes."""
FIRE_STATES = ("no", "yes", "unknown")

COLD, WET, AT_RISK, MAYBE_DRY = 0, 1, 2, 3
"""Coil states."""
COIL_STATES = ("cold", "wet", "at risk", "may be dry")

LONG_AGO_S = 1e9
"""An age for what has not happened."""


class Mode(NamedTuple):
    """What a person would call the state. All of it is stored, and survives a reboot."""

    phase: int
    came_from: int
    """Phase to return to from a no-flow fault; at boot, the phase before."""
    fire: int
    coil: int
    dry: bool
    """The dry latch: set when the coil may be dry, cleared by a person at the board alone."""
    latched: int
    """Rows that stay until a person resets them."""
    first_out: int
    """Index of the first row of the present trouble, -1 for none."""
    permitted: bool
    """The pre-light check has passed and still holds."""
    meter_dead: bool
    """The meter is known to lie while water moves: its silence no longer counts."""


class Ages(NamedTuple):
    """Seconds since things happened or for which they have lasted. All stored."""

    time_s: float
    """Time of the last tick."""
    phase_s: float
    still_s: float
    """The coil's clock: how long no flow has been seen with a fire possible."""
    window_s: float
    """Refill window as computed when water was last seen moving."""
    proof_s: float
    """How long flow has been seen without a gap."""
    dump_1_s: float
    dump_2_s: float
    dump_3_s: float
    dump_4_s: float
    """Since the last dump, the one before, and so on."""
    flow_return_s: float
    """Since the last return from a no-flow fault."""
    heat_s: float
    """Since the last sign of heat in the coil."""
    cold_s: float
    """How long the burn-out evidence has held."""
    reboot_1_s: float
    reboot_2_s: float
    reboot_3_s: float
    """Since the last start of the board, the one before, and so on."""
    dry_reset_1_s: float
    dry_reset_2_s: float
    """Since a person last ended a dry lock-out, and the time before."""


class Watch(NamedTuple):
    """What the eyes remember: filters and timers. Starts afresh after a reboot."""

    outlet_a_c: float
    outlet_a_odd_s: float
    outlet_b_c: float
    outlet_b_odd_s: float
    slow_a_c: float
    slow_b_c: float
    slow_metal_c: float
    slow_lpm: float
    radiator_was_c: float
    """Radiator outlet when flow was last seen."""
    heat_now_w: float
    heat_before_w: float
    heat_earlier_w: float
    heat_window_s: float
    heating_s: float
    idle_s: float
    open_s: float
    """How long the valve has been told to stand fully open."""
    short_s: float
    """How long more flow has been needed than the loop has."""
    under_s: float
    """How long the flow has been under its minimum with the valve fully open."""
    weak_s: float
    """How long the radiator has given less than half of what it should."""
    pump_on_s: float
    fans_on_s: float
    cooled_s: float
    warm_line_s: float
    clean_s: float
    """How long no cause of a returning row has been present."""
    held: int
    """Returning rows that wait for their clean time."""
    mute_s: float
    reset_s: float
    """How long the reset button has been held; negative until it is let go."""
    silence_s: float
    second_s: float
    """Time since the rules that are judged once a second were judged."""


class Control(NamedTuple):
    """Valve loop, retries, pre-light check, and the last commands."""

    target_lpm: float
    error_k: float
    moved_s: float
    valve: float
    """Stroke that is wanted; on the way shut the output goes past it once, for the backlash."""
    closing: bool
    """The last move was toward shut."""
    stroke_was: float
    """Stroke and flow at which the valve was last seen to answer."""
    flow_was_lpm: float
    pump: bool
    fans: float
    damper_open: bool
    dump_open: bool
    tries: float
    retry_off_s: float
    retry_gap_s: float
    guard_s: float
    """Place in the freeze guard's cycle of running and resting."""
    passed: int
    """Pre-light checks passed, as a mask."""
    dump_open_s: float
    """How long the dump has been told to stand open."""
    hand_s: float
    """How long outputs have been held by hand."""


class State(NamedTuple):
    """All that the logic remembers."""

    mode: Mode
    ages: Ages
    watch: Watch
    doubt: Doubt
    control: Control
    counters: Counters
    raised: int
    """Rows that count in this tick."""
    seen: int
    """Rows whose cause was present in this tick, debounced or not."""


def fresh_watch() -> Watch:
    """Eyes that have seen nothing yet."""
    nan = float("nan")
    return Watch(
        outlet_a_c=nan, outlet_a_odd_s=0.0, outlet_b_c=nan, outlet_b_odd_s=0.0,
        slow_a_c=nan, slow_b_c=nan, slow_metal_c=nan, slow_lpm=nan, radiator_was_c=nan,
        heat_now_w=0.0, heat_before_w=0.0, heat_earlier_w=0.0, heat_window_s=0.0,
        heating_s=0.0, idle_s=0.0, open_s=0.0, short_s=0.0, under_s=0.0, weak_s=0.0,
        pump_on_s=0.0, fans_on_s=0.0,
        cooled_s=0.0, warm_line_s=0.0, clean_s=0.0, held=0, mute_s=0.0, reset_s=0.0,
        silence_s=0.0, second_s=0.0,
    )


def fresh_control(pump: bool, dump_open: bool) -> Control:
    """Outputs as they are found, valve open."""
    return Control(
        target_lpm=0.0, error_k=0.0, moved_s=0.0, valve=1.0, closing=False,
        stroke_was=1.0, flow_was_lpm=0.0, pump=pump, fans=0.0, damper_open=False,
        dump_open=dump_open, tries=0.0, retry_off_s=0.0, retry_gap_s=0.0, guard_s=0.0,
        passed=0, dump_open_s=0.0, hand_s=0.0,
    )


def first_ages(constants: Constants, fired: bool) -> Ages:
    """Clocks of a loop to which nothing has happened yet, or in which a fire burns soundly."""
    window_s = constants.water.window_cap_s if constants.water.window_cap_s < 10.0 else 10.0
    proof_s = 10.0 if fired else 0.0
    heat_s = 0.0 if fired else LONG_AGO_S
    return Ages(
        time_s=0.0, phase_s=0.0, still_s=0.0, window_s=window_s, proof_s=proof_s,
        dump_1_s=LONG_AGO_S, dump_2_s=LONG_AGO_S, dump_3_s=LONG_AGO_S, dump_4_s=LONG_AGO_S,
        flow_return_s=LONG_AGO_S, heat_s=heat_s, cold_s=0.0, reboot_1_s=LONG_AGO_S,
        reboot_2_s=LONG_AGO_S, reboot_3_s=LONG_AGO_S, dry_reset_1_s=LONG_AGO_S,
        dry_reset_2_s=LONG_AGO_S,
    )


def ages_after_reboot(ages: Ages) -> Ages:
    """Clocks as a board finds them that restarts."""
    return Ages(
        time_s=ages.time_s, phase_s=0.0, still_s=ages.still_s, window_s=ages.window_s,
        proof_s=0.0, dump_1_s=ages.dump_1_s, dump_2_s=ages.dump_2_s, dump_3_s=ages.dump_3_s,
        dump_4_s=ages.dump_4_s, flow_return_s=ages.flow_return_s, heat_s=ages.heat_s, cold_s=0.0,
        reboot_1_s=0.0, reboot_2_s=ages.reboot_1_s, reboot_3_s=ages.reboot_2_s,
        dry_reset_1_s=ages.dry_reset_1_s, dry_reset_2_s=ages.dry_reset_2_s,
    )


def first_state(constants: Constants, phase: int = STANDBY, fire: int = NO) -> State:
    """The state of a new board, or one set up in a given phase with a given fire."""
    fired = fire != NO
    mode = Mode(
        phase=phase, came_from=phase, fire=fire, coil=WET if fired else COLD, dry=False,
        latched=0, first_out=-1, permitted=False, meter_dead=False,
    )
    return State(
        mode=mode, ages=first_ages(constants, fired), watch=fresh_watch(), doubt=fresh_doubt(),
        control=fresh_control(fired, False), counters=QUIET, raised=0, seen=0,
    )


def after_reboot(state: State) -> State:
    """What a board that restarts finds in its memory: latches, fire, coil and their clocks.

    The boot phase remembers where it was; filters, timers and the valve loop start afresh.
    """
    mode = state.mode
    found = mode.came_from if mode.phase == BOOT else mode.phase
    return State(
        mode=Mode(
            phase=BOOT, came_from=found, fire=mode.fire, coil=mode.coil, dry=mode.dry,
            latched=mode.latched, first_out=mode.first_out, permitted=False,
            meter_dead=mode.meter_dead,
        ),
        ages=ages_after_reboot(state.ages),
        watch=fresh_watch(),
        doubt=fresh_doubt(),
        control=fresh_control(state.control.pump, True),
        counters=QUIET, raised=0, seen=0,
    )


LAST_PHASE = len(PHASES) - 1


def clocks_sound(ages: Ages, watch: Watch, doubt: Doubt, control: Control) -> bool:
    """Whether no clock, timer or output that must be a number has been lost (NaN, infinite)."""
    (
        _, phase_s, still_s, window_s, proof_s, dump_1_s, dump_2_s, dump_3_s, dump_4_s,
        flow_return_s, heat_s, cold_s, reboot_1_s, reboot_2_s, reboot_3_s, dry_reset_1_s,
        dry_reset_2_s,
    ) = ages
    (
        _, outlet_a_odd_s, _, outlet_b_odd_s, _, _, _, _, _, heat_now_w, heat_before_w,
        heat_earlier_w, heat_window_s, heating_s, idle_s, open_s, short_s, under_s, weak_s,
        pump_on_s, fans_on_s, cooled_s, warm_line_s, clean_s, _, mute_s, reset_s, silence_s,
        second_s,
    ) = watch
    (
        _, _, _, _, _, same_a_s, _, _, same_b_s, _, _, same_tank_s, residual_s, _, _, _, _,
        watched_s, foul_s,
    ) = doubt
    (
        target_lpm, error_k, moved_s, valve, _, stroke_was, flow_was_lpm, _, fans, _, _, tries,
        retry_off_s, retry_gap_s, guard_s, _, dump_open_s, hand_s,
    ) = control
    return (
        isfinite(phase_s) and isfinite(still_s) and isfinite(window_s) and isfinite(proof_s)
        and isfinite(dump_1_s) and isfinite(dump_2_s) and isfinite(dump_3_s)
        and isfinite(dump_4_s) and isfinite(flow_return_s) and isfinite(heat_s)
        and isfinite(cold_s) and isfinite(outlet_a_odd_s) and isfinite(outlet_b_odd_s)
        and isfinite(heat_now_w) and isfinite(heat_before_w) and isfinite(heat_earlier_w)
        and isfinite(heat_window_s) and isfinite(heating_s) and isfinite(idle_s)
        and isfinite(open_s) and isfinite(short_s) and isfinite(under_s) and isfinite(weak_s)
        and isfinite(pump_on_s) and isfinite(fans_on_s) and isfinite(cooled_s)
        and isfinite(warm_line_s) and isfinite(clean_s) and isfinite(mute_s)
        and isfinite(reset_s) and isfinite(silence_s) and isfinite(target_lpm)
        and isfinite(error_k) and isfinite(moved_s) and isfinite(valve) and isfinite(stroke_was)
        and isfinite(flow_was_lpm) and isfinite(fans) and isfinite(tries)
        and isfinite(retry_off_s) and isfinite(retry_gap_s) and isfinite(guard_s)
        and isfinite(reboot_1_s) and isfinite(reboot_2_s) and isfinite(reboot_3_s)
        and isfinite(dry_reset_1_s) and isfinite(dry_reset_2_s) and isfinite(dump_open_s)
        and isfinite(hand_s) and isfinite(second_s) and isfinite(same_a_s)
        and isfinite(same_b_s) and isfinite(same_tank_s) and isfinite(residual_s)
        and isfinite(watched_s) and isfinite(foul_s)
    )


def is_sound(state: State) -> bool:
    """Whether a state can be one."""
    mode = state.mode
    return (
        0 <= mode.phase <= LAST_PHASE
        and 0 <= mode.came_from <= LAST_PHASE
        and 0 <= mode.fire <= UNKNOWN
        and 0 <= mode.coil <= MAYBE_DRY
        and -1 <= mode.first_out <= row.LAST_ROW
        and 0 <= mode.latched <= row.EVERY_ROW
        and 0 <= state.doubt.suspects <= EVERY_SUSPICION
        and clocks_sound(state.ages, state.watch, state.doubt, state.control)
    )


def restarted(state: State, constants: Constants) -> State:
    """What is made of a damaged memory: a restart that believes in a fire.

    Latches that can still be read are kept. What the coil holds is found out as after any
    restart: by the pump's contactor, by pulses, and else by the dry lock-out.
    """
    mode = state.mode
    return State(
        mode=Mode(
            phase=BOOT, came_from=BOOT, fire=UNKNOWN, coil=AT_RISK, dry=mode.dry,
            latched=mode.latched & row.EVERY_ROW, first_out=-1, permitted=False,
            meter_dead=mode.meter_dead,
        ),
        ages=ages_after_reboot(first_ages(constants, True)), watch=fresh_watch(),
        doubt=fresh_doubt(), control=fresh_control(True, True), counters=QUIET, raised=0, seen=0,
    )


def sound_state(state: State, constants: Constants) -> State:
    """The state itself, or a restart where its memory is damaged."""
    if is_sound(state):
        return state
    return restarted(state, constants)
