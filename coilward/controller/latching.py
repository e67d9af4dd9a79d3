"""Latches: set by their rows, cleared by a person at the board, one at a time.

A reset asks for the button held for two seconds and for the cause to be gone. The dry latch
asks for more: a fire declared out, cold metal, a full tank. Silence is no reset, and neither
is switching off and on: latches are stored.
"""

from __future__ import annotations

from typing import NamedTuple

from coilward.controller import interlocks as row
from coilward.controller import phases as ph
from coilward.controller.constants import Constants
from coilward.controller.estimating import Estimate, cold_enough
from coilward.controller.sensing import Seen
from coilward.controller.state import NO, Ages, Mode, Watch
from coilward.controller.types import Readings, Requests

RESET_HELD_S = 2.0
DAY_S = 24.0 * 3600.0
"""A third dry lock-out within it needs the key: what recurs has not been mended."""


class Latched(NamedTuple):
    """Latches after causes and the reset button have had their say."""

    latched: int
    dry: bool
    fire: int
    reset_s: float
    dry_reset: bool


def latches(
    raised: int, cause: int, readings: Readings, requests: Requests, mode: Mode, ages: Ages,
    watch: Watch, now: Estimate, seen: Seen, constants: Constants,
) -> Latched:
    """Set by their rows; cleared one at a time, by a button held for 2 s, cause absent."""
    if not requests.reset and raised & row.LATCHING == 0:
        return Latched(mode.latched, now.dry, now.fire, 0.0, False)
    tick_s = constants.tick_s
    latched = mode.latched | (raised & row.LATCHING)
    dry = now.dry
    reset_s = 0.0
    dry_reset = False
    if requests.reset:
        reset_s = watch.reset_s if watch.reset_s < 0.0 else watch.reset_s + tick_s
        if reset_s >= RESET_HELD_S and mode.phase != ph.BOOT:
            reset_s = -1.0
            if mode.phase == ph.DRY:
                under, unfitted = cold_enough(seen.metal_c, readings.flue_c, 60.0, constants)
                filled = not constants.fitted.level or readings.level_low < 0.5
                seldom = ages.dry_reset_2_s >= DAY_S or requests.key
                if now.fire == NO and filled and seldom and (under or unfitted):
                    dry = False
                    dry_reset = True
                    latched = latched & ~row.LATCH_DRY
            else:
                free = latched & ~cause & ~row.LATCH_DRY
                latched = latched & ~(free & -free)
    return Latched(latched, dry, now.fire, reset_s, dry_reset)


def first_of(mask: int) -> int:
    """Index of the lowest row in a mask that has one; each look leaves half of the rest."""
    index, rest = 0, mask
    if rest & 0xFFFFFFFF == 0:
        index, rest = 32, rest >> 32
    if rest & 0xFFFF == 0:
        index, rest = index + 16, rest >> 16
    if rest & 0xFF == 0:
        index, rest = index + 8, rest >> 8
    if rest & 0xF == 0:
        index, rest = index + 4, rest >> 4
    if rest & 0x3 == 0:
        index, rest = index + 2, rest >> 2
    if rest & 0x1 == 0:
        index = index + 1
    return index
