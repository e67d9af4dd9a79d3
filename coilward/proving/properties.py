"""What is shown of the finite part: one named property each, with a counterexample where not.

`search` looks at every state that can be reached and at every tick from it. A property of one
tick is a predicate; the first tick that breaks it is told with the whole way that leads there.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from coilward.controller import phases as ph
from coilward.controller.constants import Constants
from coilward.controller.state import NO
from coilward.proving.finite import NEW_BOARD, Inside, Model, Reached, Tick, explore, story
from coilward.proving.outputs import outputs
from coilward.proving.readers import emergency_stops_no_water, readers_agree
from coilward.proving.resetting import resets
from coilward.proving.result import Result

WATERED = (ph.WARM_UP, ph.RUN, ph.DUMP, ph.SHUTDOWN, ph.DEGRADED)
"""Phases in which water is seen to move, so that a fire can be seen to have burnt out."""


JUDGED = ph.ROW_DRY | ph.ROW_NO_FLOW | ph.ROW_SHUTDOWN | ph.ROW_DUMP | ph.HEAT_UNPERMITTED
"""All that the rules below read of a tick's facts: ticks alike in these are judged once."""


class Rule(NamedTuple):
    """A property of one tick."""

    name: str
    holds: Callable[[Model, Inside, Tick], bool]


def _fired(tick: Tick) -> bool:
    return tick.after.fire != NO


def _dry_row_locks(_: Model, __: Inside, tick: Tick) -> bool:
    return not tick.facts & ph.ROW_DRY or (tick.after.phase == ph.DRY and tick.after.dry)


def _no_flow_row_leads(_: Model, inside: Inside, tick: Tick) -> bool:
    leads = tick.facts & ph.ROW_NO_FLOW and inside.phase in WATERED
    return not leads or tick.after.phase in (ph.NO_FLOW, ph.DRY)


def _ending_row_leads(_: Model, inside: Inside, tick: Tick) -> bool:
    leads = tick.facts & ph.ROW_SHUTDOWN and inside.phase in ph.HEATING
    return not leads or tick.after.phase in (ph.SHUTDOWN, ph.NO_FLOW, ph.DRY)


def _hot_row_leads(_: Model, inside: Inside, tick: Tick) -> bool:
    hot = tick.facts & ph.ROW_DUMP and inside.phase in (ph.WARM_UP, ph.RUN, ph.DUMP)
    return not hot or tick.after.phase not in (ph.WARM_UP, ph.RUN, *ph.RESTING)


def _lock_out_is_left_by_hand(_: Model, inside: Inside, tick: Tick) -> bool:
    left = inside.phase == ph.DRY and tick.after.phase != ph.DRY
    return not left or (tick.reset == "dry" and tick.after.fire == NO)


def _dry_latch_clears_by_hand(_: Model, inside: Inside, tick: Tick) -> bool:
    cleared = inside.dry and not tick.after.dry
    return not cleared or (tick.reset == "dry" and inside.phase == ph.DRY)


def _latches_clear_by_hand(_: Model, inside: Inside, tick: Tick) -> bool:
    return not inside.latched & ~tick.after.latched or tick.reset != ""


def _dry_is_locked(_: Model, __: Inside, tick: Tick) -> bool:
    return not tick.after.dry or tick.after.phase == ph.DRY


def _locked_is_dry(_: Model, __: Inside, tick: Tick) -> bool:
    return tick.after.phase != ph.DRY or tick.after.dry


def _dry_rows_are_locked(model: Model, __: Inside, tick: Tick) -> bool:
    return not tick.after.latched & model.dry_bit or tick.after.dry


def _no_run_with_a_latch(_: Model, __: Inside, tick: Tick) -> bool:
    return tick.after.phase not in (ph.WARM_UP, ph.RUN) or not tick.after.latched


def _no_check_with_a_latch(_: Model, inside: Inside, tick: Tick) -> bool:
    entered = tick.after.phase == ph.COLD_START != inside.phase
    return not entered or not tick.after.latched


def _permission_belongs_to_the_check(_: Model, __: Inside, tick: Tick) -> bool:
    return not tick.after.permitted or tick.after.phase == ph.COLD_START


def _heat_is_acted_on(_: Model, inside: Inside, tick: Tick) -> bool:
    """A lit fire leaves the check at once; heat without permission as soon as its row counts."""
    lit = inside.phase == ph.COLD_START and inside.permitted and _fired(tick)
    unpermitted = bool(tick.facts & ph.HEAT_UNPERMITTED) and inside.phase in ph.RESTING
    return not (lit or unpermitted) or tick.after.phase not in ph.RESTING


RULES: tuple[Rule, ...] = (
    Rule("a dry row locks the pump off in its tick, from every phase", _dry_row_locks),
    Rule("no flow leads to the no-flow fault in its tick", _no_flow_row_leads),
    Rule("a row that ends the fire ends it in its tick", _ending_row_leads),
    Rule("a hot row ends warm-up and run in its tick, and holds the dump", _hot_row_leads),
    Rule("the lock-out is left by a local reset with the fire out alone",
         _lock_out_is_left_by_hand),
    Rule("the dry latch clears in the lock-out, by hand, alone", _dry_latch_clears_by_hand),
    Rule("no latched row clears without a reset", _latches_clear_by_hand),
    Rule("a coil that may be dry is in the lock-out", _dry_is_locked),
    Rule("the lock-out means a coil that may be dry", _locked_is_dry),
    Rule("no row of the lock-out stays latched outside it", _dry_rows_are_locked),
    Rule("no warm-up and no run with a latch", _no_run_with_a_latch),
    Rule("no check begins with a latch", _no_check_with_a_latch),
    Rule("permission belongs to the check", _permission_belongs_to_the_check),
    Rule("heat without permission, or lit after the check, leaves the cold phases",
         _heat_is_acted_on),
)


def way_out(inside: Inside, tick: Tick) -> bool:
    """Whether a person and time can bring a tick about without lighting a fire.

    A fire ends where water is seen to move, or where a person at the board may say so: in the
    lock-out and in the shutdown. What is added to the model only by its being coarse is left
    out, so that a way out is a real one.
    """
    if tick.after.fire == inside.fire:
        return True
    return tick.after.fire == NO and inside.phase in (*WATERED, ph.DRY)


class Search(NamedTuple):
    """All that was looked at, and what came of it."""

    reached: Reached
    results: tuple[Result, ...]

    @property
    def broken(self) -> tuple[Result, ...]:
        """The properties that do not hold."""
        return tuple(result for result in self.results if result.counterexample)


def search(model: Model) -> Search:
    """Reach everything, hold every rule against every tick, look for a way home from everywhere."""
    broken: dict[str, tuple[Inside, Tick]] = {}
    back: dict[Inside, set[Inside]] = {}
    seen: set[tuple[Inside, int, str, Inside]] = set()

    def look(inside: Inside, tick: Tick) -> None:
        same = (inside, tick.facts & JUDGED, tick.reset, tick.after)
        if same in seen:
            return
        seen.add(same)
        for name, holds in RULES:
            if not holds(model, inside, tick):
                broken.setdefault(name, (inside, tick))
        if way_out(inside, tick):
            back.setdefault(tick.after, set()).add(inside)

    reached = explore(model, look)
    results = [
        Result(rule.name, reached.ticks, _told_of(model, reached, broken.get(rule.name)))
        for rule in RULES
    ]
    results.append(no_dead_end(model, reached, back))
    return Search(reached, tuple(results))


def show_all(constants: Constants, model: Model | None = None) -> Search:
    """Everything that is shown of the finite part, phases, outputs, reset button and readers."""
    model = model or Model()
    found = search(model)
    rest = (
        *outputs(found.reached.way, constants), *resets(constants), readers_agree(model),
        emergency_stops_no_water(model),
    )
    return Search(found.reached, found.results + rest)


def _told_of(model: Model, reached: Reached, found: tuple[Inside, Tick] | None) -> str:
    if found is None:
        return ""
    inside, tick = found
    return story(model, reached, inside) + "\n" + model.tell_tick(tick)


def no_dead_end(model: Model, reached: Reached, back: dict[Inside, set[Inside]]) -> Result:
    """From every state some acts of a person and time lead to standby with nothing latched."""
    home = {NEW_BOARD}
    todo = [NEW_BOARD]
    while todo:
        for before in back.get(todo.pop(), ()):
            if before not in home:
                home.add(before)
                todo.append(before)
    lost = next((inside for inside in reached.way if inside not in home), None)
    told = "" if lost is None else story(model, reached, lost)
    return Result("no dead end: some way leads back to standby", len(reached.way), told)
