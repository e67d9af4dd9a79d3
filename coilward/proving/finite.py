"""The finite part of the logic: what is left of it when every number is taken away.

An `Inside` is what the phase table can tell apart: phase, where it came from, fire, the dry
latch, a passed check, and which masks the latched rows hit. One tick of `decide` moves it to
another. Readings, requests, clocks and debounces are gone; in their place stand the facts that
the phase reads. Facts that follow from the state are tied to it; every other fact is free, in
every combination. So the model can do whatever the logic can, and more; what never happens
here never happens there. Tests run `decide` itself and hold each of its ticks against
`Model.steps`.

Tied: the facts of rows to the rows that count (`row_facts`); fire_out, coil_may_be_dry,
person_latched, dry_reset, check_passed_and_lit and was_* to the state; with the fire out only
rows marked for any time count. The coil's state needs no place of its own: it may be dry with
the dry latch, cold with the fire out, and whether it is wet or at risk no rule reads.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from functools import cache
from itertools import product
from typing import NamedTuple

from coilward.controller import phases as ph
from coilward.controller.facts import came_from
from coilward.controller.interlocks import ANY_TIME, LATCH_DRY, LATCHING, ROWS, names
from coilward.controller.phases import FACTS, PHASES, TABLE, Step, fact
from coilward.controller.state import FIRE_STATES, NO, UNKNOWN, YES, State
from coilward.proving.grouping import EVERY_ROW, RowFact, row_facts, signature, unions

FOUND_AT_BOOT = (ph.WARM_UP, ph.RUN, ph.DUMP, ph.DEGRADED, ph.SHUTDOWN)
"""Phases that a boot remembers by a fact."""
WAS = ph.WAS_WARM_UP | ph.WAS_RUN | ph.WAS_DUMP | ph.WAS_SHUTDOWN | ph.WAS_DEGRADED
STATE_FACTS = (
    ph.FIRE_OUT | ph.COIL_MAY_BE_DRY | ph.PERSON_LATCHED | ph.DRY_RESET | ph.CHECK_PASSED_AND_LIT
    | WAS
)
"""Facts tied to the state, beside those tied to rows."""


class Inside(NamedTuple):
    """One state of the finite part."""

    phase: int
    came_from: int
    fire: int
    dry: bool
    permitted: bool
    latched: int
    """Which masks the latched rows hit, as a signature over `Model.latch_masks`."""


NEW_BOARD = Inside(ph.STANDBY, ph.STANDBY, NO, False, False, 0)


class Tick(NamedTuple):
    """One way from an inside to the next: what was free in that tick, and what came of it."""

    fire: int
    raised: int
    """Signature of the rows that count, over `Model.raised_masks` and then `latch_masks`."""
    reset: str
    """``""``, ``"one latch"`` or ``"dry"``: what the button cleared."""
    facts: int
    after: Inside


class Model:
    """The finite part of one phase table. A wrong table may be given, to see it caught."""

    def __init__(
        self, table: tuple[Step, ...] = TABLE, told: tuple[RowFact, ...] | None = None
    ) -> None:
        """The logic's own table and facts, unless others are given."""
        self.table = table
        self.told = row_facts() if told is None else told
        counting = [t for t in self.told if t.word != "kept.latched"]
        standing = [t for t in self.told if t.word != "raised"]
        self.raised_masks = tuple(t.mask for t in counting)
        self.latch_masks = (EVERY_ROW, *(t.mask for t in standing), LATCH_DRY)
        self.dry_bit = 1 << len(self.latch_masks) - 1
        self._counting, self._standing = counting, standing
        signs = [self.sign(1 << index) for index in range(len(ROWS))]
        calm = [s if ANY_TIME >> index & 1 else 0 for index, s in enumerate(signs)]
        self.any_rows = unions(signs)
        """Rows that may count while a fire may be in: signature, and one set that has it."""
        self.calm_rows = unions(calm)
        """The same with the fire out."""
        self.walks = [
            [(_mask(s.needs), _mask(s.forbids), s.target) for s in table if phase in s.sources]
            for phase in range(len(PHASES))
        ]
        self.reads = [_all(n | f for n, f, _ in walk) for walk in self.walks]
        tied = _all(t.fact | t.otherwise for t in self.told) | STATE_FACTS
        self.free = [reads & ~tied for reads in self.reads]
        latching = [1 << i for i in range(len(ROWS)) if LATCHING >> i & 1]
        keep = [signature(row, self.latch_masks) for row in latching if not row & LATCH_DRY]
        lock = [signature(row, self.latch_masks) for row in latching if row & LATCH_DRY]
        self._one_row = frozenset(keep)
        self._keep, self._lock = frozenset(unions(keep)), frozenset(unions(lock))
        self.latch_states = frozenset(unions(keep + lock))
        self.next_phases = cache(self._next_phases)
        self.counting_facts = cache(self._counting_facts)
        self.cleared = cache(self._cleared)
        self.unlocked = cache(self._unlocked)

    def sign(self, raised: int) -> int:
        """The signature of a set of rows that count: what they raise, and what they latch."""
        latches = signature(raised & LATCHING, self.latch_masks)
        return signature(raised, self.raised_masks) | latches << len(self.raised_masks)

    def latched_by(self, raised: int) -> int:
        """The part of a signature of counting rows that is latched."""
        return raised >> len(self.raised_masks)

    def inside(self, state: State) -> Inside:
        """What of a state of the logic the finite part sees."""
        mode = state.mode
        latched = signature(mode.latched, self.latch_masks)
        return Inside(mode.phase, mode.came_from, mode.fire, mode.dry, mode.permitted, latched)

    def walk(self, phase: int, facts: int) -> int:
        """The first row of the table that matches wins."""
        for needs, forbids, target in self.walks[phase]:
            if facts & needs == needs and facts & forbids == 0:
                return target
        return phase

    def _next_phases(self, phase: int, fixed: int) -> dict[int, int]:
        """Every phase that the free facts can lead to from the fixed ones, with such facts."""
        found: dict[int, int] = {}
        for free in combinations(self.free[phase]):
            found.setdefault(self.walk(phase, fixed | free), fixed | free)
        return found

    def _counting_facts(self, raised: int, standing: int) -> int:
        """The facts of rows that count: raised now, or latched before."""
        facts = 0
        for k, told in enumerate(self._counting):
            hit = raised >> k & 1
            if told.word == "active":
                hit |= standing >> 1 + self._standing.index(told) & 1
            facts |= told.fact if hit else told.otherwise
        return facts

    def _cleared(self, latched: int, kept: int) -> tuple[int, ...]:
        """What one row less can leave of a set of latched rows, `kept` being raised now."""
        return tuple(
            left
            for left in self.latch_states
            if left & kept == kept and any(left | one == latched for one in self._one_row)
        )

    def _unlocked(self, latched: int) -> tuple[int, ...]:
        """What is left of a set of latched rows without those of the dry lock-out."""
        return tuple(k for k in self._keep if any(k | dry == latched for dry in self._lock))

    def fires(self, inside: Inside) -> tuple[int, ...]:
        """What the fire can be held for one tick later."""
        if inside.fire != NO:
            return (inside.fire, NO) if inside.fire == YES else (inside.fire, YES, NO)
        return (NO, YES, UNKNOWN) if inside.phase == ph.BOOT else (NO, YES)

    def _resets(self, inside: Inside, fire: int, dry: bool, raised: int) -> Iterator[
        tuple[str, int, bool]
    ]:
        """(what the button cleared, latches after it, dry latch after it)."""
        kept = self.latched_by(raised)
        latched = inside.latched | kept
        yield "", latched, dry
        if inside.phase == ph.DRY and fire == NO:
            for left in self.unlocked(latched):
                yield "dry", left, False
        elif inside.phase not in (ph.DRY, ph.BOOT):
            for left in self.cleared(latched, kept):
                yield "one latch", left, dry

    def fixed_facts(
        self, inside: Inside, fire: int, raised: int, reset: str, latched: int, dry: bool
    ) -> tuple[int, ...]:
        """The tied facts of one tick; two sets where a boot may or may not find the fire out."""
        facts = self.counting_facts(raised, latched if fire != NO else 0)
        for k, told in enumerate(self._standing):
            if told.word == "kept.latched":
                facts |= told.fact if latched >> 1 + k & 1 else told.otherwise
        if dry:
            facts |= ph.COIL_MAY_BE_DRY
        if reset == "dry":
            facts |= ph.DRY_RESET
        if inside.phase == ph.COLD_START and inside.permitted and fire != NO:
            facts |= ph.CHECK_PASSED_AND_LIT
        boot = inside.phase == ph.BOOT
        if inside.phase == ph.NO_FLOW or (boot and inside.came_from in FOUND_AT_BOOT):
            facts |= came_from(inside.came_from)
        if fire != NO or (boot and inside.fire != NO):
            return (facts,)
        return (facts, facts | ph.FIRE_OUT) if boot else (facts | ph.FIRE_OUT,)

    def steps(self, inside: Inside, raised: int | None = None) -> Iterator[Tick]:
        """Every tick from an inside: all fires, rows, resets and free facts.

        One set of free facts stands for all that lead to the same phase. With `raised` only
        the ticks in which exactly those rows count.
        """
        for fire in self.fires(inside):
            sets = self.any_rows if fire != NO else self.calm_rows
            stays = inside.dry or inside.phase == ph.DRY or bool(inside.latched & self.dry_bit)
            found_dry = (True,) if stays else (False, True) if fire != NO else (False,)
            chosen = sets if raised is None else [raised] if raised in sets else []
            for rows, dry in product(chosen, found_dry):
                for reset, latched, still_dry in self._resets(inside, fire, dry, rows):
                    for fixed in self.fixed_facts(inside, fire, rows, reset, latched, still_dry):
                        for target, facts in self.next_phases(inside.phase, fixed).items():
                            for after in _after(inside, target, fire, still_dry, latched):
                                yield Tick(fire, rows, reset, facts, after)

    def tell(self, inside: Inside) -> str:
        """A state in words."""
        latched = next((k for k in self.any_rows if self.latched_by(k) == inside.latched), 0)
        rows = names(self.any_rows[latched] & LATCHING)
        return (
            f"{PHASES[inside.phase]} (from {PHASES[inside.came_from]}), "
            f"fire {FIRE_STATES[inside.fire]}{', dry' if inside.dry else ''}"
            f"{', check passed' if inside.permitted else ''}"
            f"{', latched e.g. ' + '+'.join(rows) if rows else ''}"
        )

    def tell_tick(self, tick: Tick) -> str:
        """A tick in words."""
        rows = names(self.any_rows[tick.raised])
        true = [name for name in FACTS if tick.facts & fact(name)]
        return (
            f"rows {'+'.join(rows) or 'none'}, facts {'+'.join(true) or 'none'}"
            f"{', reset of ' + tick.reset if tick.reset else ''} -> {self.tell(tick.after)}"
        )


def _mask(facts: tuple[str, ...]) -> int:
    return sum(fact(name) for name in facts)


def _all(masks: Iterator[int]) -> int:
    result = 0
    for mask in masks:
        result |= mask
    return result


def combinations(mask: int) -> Iterator[int]:
    """Every subset of a mask."""
    subset = mask
    while True:
        yield subset
        if subset == 0:
            return
        subset = (subset - 1) & mask


def _after(
    inside: Inside, phase: int, fire: int, dry: bool, latched: int
) -> Iterator[Inside]:
    """What `decide` makes of the new phase: the dry latch, where it came from, permission."""
    came = phase
    if phase in (ph.NO_FLOW, ph.BOOT):
        entered = phase != inside.phase and inside.phase != ph.BOOT
        came = inside.phase if entered else inside.came_from
    locked = dry or (phase == ph.DRY and fire != NO)
    yield Inside(phase, came, fire, locked, False, latched)
    if phase == ph.COLD_START == inside.phase:
        yield Inside(phase, came, fire, locked, True, latched)


def rebooted(inside: Inside) -> Inside:
    """What `after_reboot` leaves."""
    came = inside.came_from if inside.phase == ph.BOOT else inside.phase
    return inside._replace(phase=ph.BOOT, came_from=came, permitted=False)


def damaged(inside: Inside) -> Inside:
    """What `sound_state` makes of a memory that can't be."""
    return Inside(ph.BOOT, ph.BOOT, UNKNOWN, inside.dry, False, inside.latched)


class Reached(NamedTuple):
    """All that can be reached, and how."""

    way: dict[Inside, tuple[Inside, str] | None]
    """For each state one before it and what happened; None for the first."""
    ticks: int
    """Ticks looked at: state, fire, rows, reset, tied facts, next phase."""


def explore(model: Model, look: Callable[[Inside, Tick], None]) -> Reached:
    """Every state that ticks, reboots and a damaged memory can lead to; `look` sees every tick."""
    way: dict[Inside, tuple[Inside, str] | None] = {NEW_BOARD: None}
    todo, ticks = deque([NEW_BOARD]), 0
    while todo:
        inside = todo.popleft()
        for step in model.steps(inside):
            ticks += 1
            look(inside, step)
            if step.after not in way:
                way[step.after] = (inside, model.tell_tick(step))
                todo.append(step.after)
        for made, what in ((rebooted(inside), "a reboot"), (damaged(inside), "memory damaged")):
            if made not in way:
                way[made] = (inside, f"{what} -> {model.tell(made)}")
                todo.append(made)
    return Reached(way, ticks)


def story(model: Model, reached: Reached, inside: Inside) -> str:
    """The way to a state, one line a tick."""
    lines: list[str] = []
    at = inside
    while (before := reached.way[at]) is not None:
        at, what = before
        lines.append(what)
    return "\n".join([model.tell(at), *reversed(lines)])
