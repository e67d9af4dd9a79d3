"""Phase tables with one mistake each, by the property that the mistake breaks."""

from __future__ import annotations

from collections.abc import Callable

from coilward.controller import phases as ph
from coilward.controller.phases import TABLE, Step


def without(gone: Callable[[Step], bool]) -> tuple[Step, ...]:
    """The table without some rows; raises where none is like that."""
    left = tuple(step for step in TABLE if not gone(step))
    if left == TABLE:
        raise ValueError("no such row")
    return left


def changed(which: Callable[[Step], bool], **fields: object) -> tuple[Step, ...]:
    """The table with some rows changed; raises where none is like that."""
    after = tuple(step._replace(**fields) if which(step) else step for step in TABLE)
    if after == TABLE:
        raise ValueError("no such row")
    return after


def needs(name: str, source: int | None = None) -> Callable[[Step], bool]:
    """Rows that need a fact, of one phase or of any."""
    return lambda s: name in s.needs and (source is None or source in s.sources)


WRONG: tuple[tuple[str, tuple[Step, ...]], ...] = (
    ("dry-is-locked", without(needs("coil_may_be_dry", ph.RUN))),
    ("dry-row-locks", without(needs("row_dry", ph.STANDBY))),
    ("dry-row-locks", without(needs("row_dry", ph.RUN))),
    ("dry-rows-are-locked", without(needs("row_dry", ph.RUN))),
    ("left-by-hand", changed(needs("dry_reset"), needs=("fire_out",))),
    ("no-flow-leads", without(needs("row_no_flow"))),
    ("ending-leads", without(needs("row_shutdown"))),
    ("hot-leads", without(needs("row_dump"))),
    ("no-run-latched", changed(needs("instruments_clean"), forbids=())),
    ("no-run-latched", without(lambda s: s.needs == ("check_passed_and_lit", "person_latched"))),
    ("no-check-latched", changed(needs("prepare"), forbids=())),
    ("heat-is-acted-on", without(needs("heat_unpermitted", ph.STANDBY))),
)
