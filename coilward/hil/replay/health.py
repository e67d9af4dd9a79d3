"""What of the plant was broken, lost or set from outside in a logged night, second by second.

Only what the log shows is taken over: a pump that gave neither pulses nor drew a current is dead
in the simulated rest too, a thermometer that was not read is not read there.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from coilward.hil.replay.logged import Flags, Logged, Numbers, Wholes
from coilward.loop.model import Loop
from coilward.simulator import slots as at
from coilward.simulator.actuators import DEAD_HEAD_SHARE
from coilward.simulator.hydraulics import pumped_lpm, valve_square
from coilward.simulator.power import SOURCE_OHM
from coilward.simulator.sensors import OPEN

CHANNEL_READINGS: Final = (
    "coil_outlet_a_c", "coil_outlet_b_c", "tank_c", "radiator_inlet_c", "radiator_outlet_c",
    "coil_metal_c", "flue_c", "room_c", "line_min_c",
)  # fmt: skip
"""Readings in the order of `coilward.simulator.slots.CHANNELS`."""
SPINS_UP_S: Final = 4
"""After it is told to run, a sound pump or fan is given so long to show it."""
MOST_STILL_S: Final = 20.0
"""No logic waits longer for a pulse before it finds the meter, or the pump, at fault."""
RESTS_S: Final = 10
"""Between two tries a pump is told to stand no longer than this."""
DEAD_SHARE: Final = 0.15
"""Of the rated current: less is none."""
FRESH_S, LATE_S = 1.0, 2.0
"""Since the last pulse: water moves; water is taken to stand."""
STEP_S, BAND_S = 60, 300
"""How often valve and flow are held against each other, and over how long."""
WEAK, STRONG = 0.1, 3.0
"""Outside of these shares of the plant's own flow, the flow is not the pump's strength."""
STROKES: Final = 41
MOVED, FOLLOWS = 0.08, 0.15
"""A valve is stuck where the flow should have moved by more than the first, of that with the valve
open, and moved by less than the second share of it."""
BACKLASH: Final = 0.1
"""A smaller change of the flow at one stroke is the valve's play."""
SHORT_OF_FANS: Final = 0.9

PUMP_DEAD: Final = "the pump is dead: it was told to run, and neither pulses nor a current came"
PUMP_HELD: Final = "the pump is held fast: a high current and no pulses"
PUMP_DRY: Final = "the pump turns and moves no water"
VALVE_STUCK: Final = "the valve does not follow"


class Health(NamedTuple):
    """Parameters of the plant by slot, one value a second, and what they stand for in words."""

    slots: tuple[int, ...]
    values: Numbers
    """One row a second, one column a slot."""
    words: tuple[tuple[int, str], ...]
    """Second, counted from the first row, and what was seen to be broken from then on."""


def health_of(seconds: Logged, loop: Loop, p: list[float]) -> Health:
    """From the log, one row a second, and the plant's sound parameters."""
    columns: dict[int, Numbers] = {}
    words: list[tuple[int, str]] = []
    came = seconds.readings
    rows = len(seconds.number)
    for channel, name in enumerate(CHANNEL_READINGS):
        columns[at.MODE_ + channel] = np.where(
            np.isnan(came[name]), OPEN, p[at.MODE_ + channel]
        )
    load_a = p[at.BOARD_A] + np.nan_to_num(came["pump_a"]) + np.nan_to_num(came["fan_a"])
    columns[at.SUPPLY_OPEN_V] = np.where(
        np.isfinite(came["supply_v"]), came["supply_v"] + SOURCE_OHM * load_a, p[at.SUPPLY_OPEN_V]
    )
    columns[at.LEVEL] = np.where(
        came["level_low_low"] > 0.0, p[at.LEVEL_LOW_LOW] - 0.01,
        np.where(came["level_low"] > 0.0, p[at.LEVEL_LOW] - 0.01, p[at.LEVEL]),
    )  # fmt: skip
    for slot, name in ((at.CO_PPM, "co_ppm"), (at.SMOKE, "smoke"), (at.VENT_WET, "vent_wet")):
        columns[slot] = np.nan_to_num(came[name])
    columns[at.CONSTANTS_BAD] = (came["constants_ok"] < 1.0).astype(float)
    columns |= _pump(seconds, p, words)
    columns[at.FAN_SHARE] = _fans(seconds, p, words)
    columns[at.DAMPER_STUCK] = _damper(seconds, words)
    columns[at.JAMMED], share = _hydraulics(seconds, loop, p, words)
    columns[at.PUMP_SHARE] = columns[at.PUMP_SHARE] * share
    columns[at.CURRENT_ADDS_A] = _current(seconds, p, columns[at.PUMP_SHARE])
    values = np.array([np.broadcast_to(each, rows) for each in columns.values()], float).T
    return Health(tuple(columns), values, tuple(sorted(words)))


def _running(told: Numbers, rows: int = SPINS_UP_S) -> Numbers:
    """1 where it has been told to run for a few seconds."""
    told = (told > 0.0).astype(float)
    held = np.concatenate((np.full(rows, told[0]), told))
    shortest: Numbers = np.min(sliding_window_view(held, rows + 1), axis=1)
    return shortest


def _kept(seen: Numbers, otherwise: float) -> Numbers:
    """A value that stays until another one is seen; NaN where none is."""
    known = np.where(np.isfinite(seen), np.arange(len(seen)), -1)
    last = np.maximum.accumulate(known)
    return np.asarray(np.where(last < 0, otherwise, seen[np.maximum(last, 0)]))


def _pump(seconds: Logged, p: list[float], words: list[tuple[int, str]]) -> dict[int, Numbers]:
    """Dead, held fast, or turning without moving water; and a meter that is dead."""
    came = seconds.readings
    asked = _running(seconds.told["pump"]) > 0.0
    still = came["pulse_age_s"] > LATE_S
    drawn_a = came["pump_a"]
    unknown = np.isnan(drawn_a)
    meter = _since_pulse((seconds.meter_dead > 0) & still, came["pulse_age_s"])
    dead = asked & still & ~meter & (unknown | (drawn_a < DEAD_SHARE * p[at.PUMP_A]))
    stalled = asked & still & ~meter & (drawn_a > p[at.PUMP_HIGH_A])
    dry = asked & still & ~meter & ~dead & ~stalled
    sound = asked & (~still | meter)

    def lasting(bad: Flags, sign: Flags, told: str) -> Numbers:
        seen = np.where(bad, 1.0, np.where(sound | dead | stalled | dry, 0.0, np.nan))
        kept = _early(_kept(seen, 0.0), sign & ~meter, seconds.told["pump"] > 0.0)
        _begins(kept, told, words)
        return kept

    found = {
        at.PUMP_SHARE: 1.0 - lasting(dead, drawn_a < DEAD_SHARE * p[at.PUMP_A], PUMP_DEAD),
        at.PUMP_STALLED: lasting(stalled, drawn_a > p[at.PUMP_HIGH_A], PUMP_HELD),
        at.AIR_LOCK: lasting(dry, _since_pulse(dry, came["pulse_age_s"]), PUMP_DRY),
        at.METER_FACTOR: np.where(meter, 0.0, p[at.METER_FACTOR]),
    }  # fmt: skip
    _begins(meter.astype(float), "the meter is dead, as the logic of that night found", words)
    return found


def _since_pulse(seen: Flags, age_s: Numbers) -> Flags:
    """What is seen for want of pulses, from the last pulse on."""
    found = seen.copy()
    for row in np.flatnonzero(np.diff(seen.astype(np.int8), prepend=0) > 0).tolist():
        found[max(0, row - int(min(age_s[row], MOST_STILL_S))) : row] = True
    return found


def _early(kept: Numbers, sign: Flags, told: Flags) -> Numbers:
    """What is told late began where its sign did, also over a short rest between two tries."""
    found = kept.copy()
    for seen in np.flatnonzero(np.diff(kept, prepend=0.0) > 0.0).tolist():
        first, rested = seen, 0
        for row in range(seen - 1, -1, -1):
            rested = 0 if told[row] else rested + 1
            if rested > RESTS_S or (told[row] and not sign[row]):
                break
            first = row if told[row] else first
        found[first:seen] = 1.0
    return found


def _begins(values: Numbers, told: str, words: list[tuple[int, str]]) -> None:
    words += [(int(row), told) for row in np.flatnonzero(np.diff(values, prepend=0.0) > 0.0)]


def _fans(seconds: Logged, p: list[float], words: list[tuple[int, str]]) -> Numbers:
    """Share of the fans that turn, by their current; as they should where none is read."""
    drawn_a, told = seconds.readings["fan_a"], seconds.told["fans"]
    steady = _running(told, 3 * SPINS_UP_S) > 0.0
    with np.errstate(divide="ignore", invalid="ignore"):
        seen = np.where(steady & (told > 0.3), drawn_a / (p[at.FAN_A] * told), np.nan)
    share = _kept(np.where(seen < SHORT_OF_FANS, np.clip(seen, 0.0, 1.0),
                           np.where(np.isfinite(seen), 1.0, np.nan)), 1.0)  # fmt: skip
    for row in np.flatnonzero(np.diff(share) < 0.0).tolist():
        # The current of a fan that runs down falls after what drives it, and slower.
        down = slice(row, row + 1 + 3 * SPINS_UP_S)
        share[down] = min(share[row + 1], share[min(down.stop, len(share)) - 1])
    _begins((share < SHORT_OF_FANS).astype(float), "fans turn less than they are told", words)
    return share


def _damper(seconds: Logged, words: list[tuple[int, str]]) -> Numbers:
    """Where the damper is stuck against what it was told, by its switch; -1 where it is not."""
    shut, opened = seconds.readings["damper_shut"], seconds.told["damper_open"] > 0.0
    told_open = _running(opened.astype(float), 3 * SPINS_UP_S) > 0.0
    told_shut = _running((~opened).astype(float), 3 * SPINS_UP_S) > 0.0
    seen = np.where((told_open | told_shut) & np.isfinite(shut), -1.0, np.nan)
    seen[told_shut & (shut == 0.0)] = 1.0
    seen[told_open & (shut == 1.0)] = 0.0
    stuck = _kept(seen, -1.0)
    _begins((stuck == 1.0).astype(float), "the damper stays open", words)
    _begins((stuck == 0.0).astype(float), "the damper stays shut", words)
    return stuck


def _hydraulics(
    seconds: Logged, loop: Loop, p: list[float], words: list[tuple[int, str]]
) -> tuple[Numbers, Numbers]:
    """Stroke at which the valve is stuck (-1: it is not), and flow over that of the plant."""
    strokes = np.linspace(0.0, 1.0, STROKES)
    flows = np.array([pumped_lpm(p, 1.0, valve_square(p, each)) for each in strokes])
    told = _late(np.maximum(seconds.told["valve"], loop.valve.stop), round(loop.valve.travel_s))
    expected = np.interp(told, strokes, flows)
    seen = seconds.readings["flow_lpm"]
    moves = (_running(seconds.told["pump"], 2 * SPINS_UP_S) > 0.0) & (seconds.meter_dead == 0)
    moves &= (seconds.readings["pulse_age_s"] <= FRESH_S) & (seen > loop.meter.lowest_lpm)
    moves &= (seen > WEAK * expected) & (seen < STRONG * expected)
    rows = len(seen)
    jammed, share = np.full(rows, -1.0), np.ones(rows)
    sound = shown = stuck_lpm = 0.0
    for begin in range(0, rows, STEP_S):
        window = np.flatnonzero(moves[: begin + STEP_S])[-BAND_S:]
        lately = window[window >= begin]
        if len(lately) < STEP_S // 2:
            continue
        here, lately_lpm = (float(np.median(each[lately])) for each in (seen / expected, seen))
        if not sound:
            sound = shown = here
            share[:] = here
        if stuck_lpm and abs(lately_lpm / stuck_lpm - 1.0) < BACKLASH:
            continue
        first = _since_off(seen / (shown * expected), window, begin)
        late = window[window >= first]
        asked = expected[late] - np.mean(expected[late])
        stays = np.ptp(asked) > MOVED * flows[-1] and (
            float(asked @ seen[late]) < FOLLOWS * float(asked @ asked)
        )
        if here > sound * (1.0 + BACKLASH) or (here < sound * (1.0 - BACKLASH) and stays):
            stuck_lpm = lately_lpm
            jammed[first:] = float(np.interp(stuck_lpm / sound, flows, strokes))
            share[first:] = shown = sound
            words.append((first, VALVE_STUCK))
        elif abs(here - shown) > BACKLASH * shown:
            jammed[first:], stuck_lpm = -1.0, 0.0
            share[first:] = shown = here
            words.append((first, f"the flow is {100.0 * here / sound:.0f} % of what it was before "
                          "at the same stroke"))  # fmt: skip
        elif stuck_lpm:
            jammed[first:], stuck_lpm = -1.0, 0.0
    return jammed, share


def _since_off(ratio: Numbers, window: Wholes, otherwise: int) -> int:
    """The row from which on flow and stroke don't belong together, up to the window's end."""
    off = np.abs(ratio[window] - 1.0) > BACKLASH
    agree = np.flatnonzero(~off)
    if not off[-1] or not len(agree):
        return otherwise
    return int(window[agree[-1]]) + 1


def _late(told: Numbers, by_s: int) -> Numbers:
    """Where a valve is that was told so long ago."""
    return np.concatenate((np.full(by_s, told[0]), told))[: len(told)]


def _current(seconds: Logged, p: list[float], share: Numbers) -> Numbers:
    """What the pump's current is read over the plant's own, A, while water moves."""
    drawn_a = seconds.readings["pump_a"]
    steady = (_running(seconds.told["pump"], 2 * SPINS_UP_S) > 0.0) & (
        seconds.readings["pulse_age_s"] <= FRESH_S
    )
    flow_share = np.minimum(seconds.readings["flow_lpm"] / p[at.COIL_OPEN_LPM], 1.0)
    own_a = p[at.PUMP_A] * share * (DEAD_HEAD_SHARE + (1.0 - DEAD_HEAD_SHARE) * flow_share)
    turning = np.where(share > 0.0, drawn_a - own_a, np.nan)
    off = np.where(steady & np.isfinite(turning), turning, np.nan)
    known = off[np.isfinite(off)]
    return np.full(len(drawn_a), float(np.median(known)) if len(known) else 0.0)
