"""Outputs held by hand: a layer while a fire may be in, and the whole of the maintenance phase.

While a fire may be in, a hand can only move an output to its safer side: valve and dump open,
fans full, damper shut; the pump runs anyway. In maintenance, with the key turned, no fire and
the coil known to be cold, each output leaves its rest while its button is held; from the tick
that sees a fire on, the first rule holds there too. A hold ends after a minute, so that a stuck
button gives the output back; it counts again once all are let go.
"""

from __future__ import annotations

from coilward.controller.constants import Constants
from coilward.controller.estimating import Estimate
from coilward.controller.phases import BOOT, DRY, MAINTENANCE
from coilward.controller.sensing import Seen
from coilward.controller.state import AT_RISK, NO, Control, Mode
from coilward.controller.types import Commands, Readings, Requests

HELD_S = 60.0
"""Longest hold (common practice, no source)."""
COLD_COIL_C = 50.0


def held(requests: Requests) -> bool:
    """Whether any output is held by hand."""
    return (
        requests.hand_pump
        or requests.hand_valve
        or requests.hand_fans
        or requests.hand_dump
        or requests.hand_damper
    )


def cold_coil(seen: Seen, constants: Constants) -> bool:
    """Whether the coil is known to be cold enough for hands: by its metal, else by its outlet."""
    coil_c = seen.metal_c if constants.fitted.metal else seen.outlet_c
    return coil_c < COLD_COIL_C


def pump_stopped(readings: Readings, seen: Seen, constants: Constants) -> bool:
    """Level and current guard the pump in maintenance too."""
    empty = constants.fitted.level and not (readings.level_low_low < 0.5)
    return empty or seen.current_bad


def hold_s(
    requests: Requests, readings: Readings, seen: Seen, phase: int, fire: int, control: Control,
    constants: Constants,
) -> float:
    """How long outputs have been held; at its longest at once when the pump had to stop."""
    if not held(requests):
        return 0.0
    tended = phase == MAINTENANCE and fire == NO
    if tended and requests.hand_pump and pump_stopped(readings, seen, constants):
        return HELD_S
    lasted_s = control.hand_s + constants.tick_s
    return lasted_s if lasted_s < HELD_S else HELD_S


def refused(requests: Requests, now: Estimate, mode: Mode, hand_s: float) -> bool:
    """Whether a hand asks for what it may not have, or a button is stuck."""
    if not held(requests):
        return False
    if hand_s >= HELD_S:
        return True
    if now.fire == NO:
        return mode.phase != MAINTENANCE
    wet = now.coil < AT_RISK and not now.dry
    moves = requests.hand_valve or requests.hand_dump
    return (requests.hand_pump and not wet) or (moves and mode.phase == DRY)


def by_hand(
    base: Commands, phase: int, fire: int, hand_s: float, requests: Requests, constants: Constants
) -> Commands:
    """What the phase wants, with what is held by hand."""
    if hand_s >= HELD_S or phase in (DRY, BOOT):
        return base
    if phase == MAINTENANCE and fire == NO:
        stroke = constants.valve.stop if requests.hand_valve else 1.0
        fans = 1.0 if requests.hand_fans else 0.0
        return Commands(
            requests.hand_pump, stroke, fans, requests.hand_damper, requests.hand_dump, 0, False
        )
    if fire == NO:
        return base
    valve = 1.0 if requests.hand_valve else base.valve
    fans = 1.0 if requests.hand_fans else base.fans
    damper_open = base.damper_open and not requests.hand_damper
    dump_open = base.dump_open or requests.hand_dump
    return Commands(base.pump, valve, fans, damper_open, dump_open, base.horn, base.may_light)
