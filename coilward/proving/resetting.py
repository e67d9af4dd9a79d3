"""The reset button, on every latch and every pair of latches: the real `latches` is called.

It asks sets of rows for two masks only (rows that latch, rows of the lock-out), and takes one
row at a time; so single rows and pairs, each with and without its cause, are all there is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations, product
from typing import NamedTuple

from coilward.controller import phases as ph
from coilward.controller.constants import Constants
from coilward.controller.estimating import Estimate
from coilward.controller.interlocks import LATCH_DRY, LATCHING, ROWS, names
from coilward.controller.latching import DAY_S, RESET_HELD_S, Latched, latches
from coilward.controller.phases import PHASES
from coilward.controller.sensing import Seen
from coilward.controller.state import FIRE_STATES, NO, UNKNOWN, YES, first_state
from coilward.controller.types import Readings, Requests
from coilward.proving.result import Result

UNKNOWN_YET = float("nan")
UNREAD = Readings._make([UNKNOWN_YET] * len(Readings._fields))
"""What `latches` does not read stays unknown here; it would show as a latch that does not clear."""
WARM_C, COLD_C = 90.0, 20.0
HELD_S = (-1.0, 0.0, RESET_HELD_S - 0.5, RESET_HELD_S)
"""How long the button has been held: not let go since the last reset, just now, nearly, long."""


USUAL = (False, True, False, False)
"""Metal cold, tank full, not reset too often, no key."""


class Press(NamedTuple):
    """One call of `latches`."""

    phase: int
    fire: int
    dry: bool
    latched: int
    cause: int
    held: bool
    held_s: float
    warm: bool
    full: bool
    often: bool
    """Two lock-outs have been reset within a day."""
    key: bool
    left: Latched

    @property
    def cleared(self) -> int:
        """The rows that this tick let go."""
        return self.latched & ~self.left.latched


def _few(of: int, pairs: bool) -> Iterator[int]:
    """No row of a mask, each one, and where asked each pair."""
    bits = [1 << i for i in range(len(ROWS)) if of >> i & 1]
    yield 0
    yield from bits
    if pairs:
        yield from (one | two for one, two in combinations(bits, 2))


def _subsets(mask: int) -> Iterator[int]:
    bits = [1 << i for i in range(len(ROWS)) if mask >> i & 1]
    for keep in product((False, True), repeat=len(bits)):
        yield sum(b for b, kept in zip(bits, keep, strict=True) if kept)


def presses(constants: Constants, clear: Callable[..., Latched]) -> Iterator[Press]:
    """Every phase, fire, latch, cause, button and state of metal and tank."""
    fitted = constants.fitted._replace(metal=True, flue=True, level=True)
    constants = constants._replace(fitted=fitted)
    state = first_state(constants)
    seen = Seen._make([UNKNOWN_YET] * len(Seen._fields))
    now = Estimate._make([UNKNOWN_YET] * len(Estimate._fields))
    buttons = [(False, 0.0), *((True, held_s) for held_s in HELD_S)]
    surroundings = [USUAL, *_all_but_one()]
    for (warm, full, often, key), fire, dry, (held, held_s) in product(
        surroundings, (NO, YES, UNKNOWN), (False, True), buttons
    ):
        metal_c = WARM_C if warm else COLD_C
        readings = UNREAD._replace(flue_c=metal_c, level_low=0.0 if full else 1.0)
        felt, then = seen._replace(metal_c=metal_c), now._replace(fire=fire, dry=dry)
        watch = state.watch._replace(reset_s=held_s)
        ages = state.ages._replace(dry_reset_2_s=DAY_S - 1.0 if often else DAY_S)
        requests = Requests(reset=held, key=key)
        pairs = held and (warm, full, often, key) == USUAL
        for phase, latched in product(range(len(PHASES)), _few(LATCHING, pairs)):
            mode = state.mode._replace(phase=phase, fire=fire, dry=dry, latched=latched)
            for cause in _subsets(latched):
                left = clear(
                    cause, cause, readings, requests, mode, ages, watch, then, felt, constants
                )
                yield Press(
                    phase, fire, dry, latched, cause, held, held_s, warm, full, often, key, left
                )


def _all_but_one() -> Iterator[tuple[bool, bool, bool, bool]]:
    """Metal warm, tank not full, reset too often without and with the key: each by itself."""
    yield True, True, False, False
    yield False, False, False, True
    yield False, True, True, False
    yield False, True, True, True


def _asked_for(press: Press, tick_s: float) -> bool:
    """The button has been held for long enough since it was last let go."""
    return press.held and press.held_s >= 0.0 and press.held_s + tick_s >= RESET_HELD_S


def _by_hand(press: Press, tick_s: float) -> bool:
    changed = press.cleared or (press.dry and not press.left.dry)
    return not changed or (_asked_for(press, tick_s) and press.phase != ph.BOOT)


def _cause_gone(press: Press, _: float) -> bool:
    return press.cleared & press.cause & ~LATCH_DRY == 0


def _one_at_a_time(press: Press, _: float) -> bool:
    others = press.cleared & ~LATCH_DRY
    return others & (others - 1) == 0


def _lock_out_rules(press: Press, _: float) -> bool:
    unlocked = press.cleared & LATCH_DRY or (press.dry and not press.left.dry)
    allowed = press.phase == ph.DRY and press.fire == NO and not press.warm and press.full
    allowed = allowed and (press.key or not press.often)
    return not unlocked or allowed


def _button_works(press: Press, tick_s: float) -> bool:
    """The other side: a latch whose cause is gone does clear, or no reset would ever work."""
    free = press.latched & ~press.cause & ~LATCH_DRY
    able = _asked_for(press, tick_s) and press.phase not in (ph.BOOT, ph.DRY)
    return not (able and free) or press.cleared != 0


PRESSED: tuple[tuple[str, Callable[[Press, float], bool]], ...] = (
    ("nothing clears but by a button held for its two seconds", _by_hand),
    ("no latch clears while its cause is there", _cause_gone),
    ("one press clears one latch", _one_at_a_time),
    ("the lock-out asks for a fire that is out, cold metal, a full tank, the third time a key",
     _lock_out_rules),
    ("a latch whose cause is gone can be cleared", _button_works),
)


def _tell(press: Press) -> str:
    return (
        f"{PHASES[press.phase]}, fire {FIRE_STATES[press.fire]}, dry {press.dry}, latched "
        f"{names(press.latched)}, causes {names(press.cause)}, button {press.held} after "
        f"{press.held_s} s, warm {press.warm}, full {press.full}, often "
        f"{press.often}, key {press.key}: left "
        f"{names(press.left.latched)}, dry {press.left.dry}"
    )


def resets(constants: Constants, clear: Callable[..., Latched] = latches) -> list[Result]:
    """The reset rules on every case; a wrong `clear` may be given, to see it caught."""
    broken: dict[str, str] = {}
    looked_at = 0
    for press in presses(constants, clear):
        looked_at += 1
        for name, holds in PRESSED:
            if name not in broken and not holds(press, constants.tick_s):
                broken[name] = _tell(press)
    return [Result(name, looked_at, broken.get(name, "")) for name, _ in PRESSED]
