"""Recorded nights on the pins of an emulated board, and how it drives them when left alone."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from coilward.controller.types import Requests
from coilward.hil.emulated.machine import OUTPUTS
from coilward.hil.emulated.watched import CHECKS, Snapshot, Watched
from coilward.hil.recording_night import recorded
from coilward.proving.scenes import moment
from coilward.simulator.bench import Bench
from coilward.simulator.night import Night, Wood
from coilward.simulator.rehearsal import Rehearsal
from tests.firmware.boards import image
from tests.hil.pairs import CONVERT, LOOP, TODAY

STEP_MS = 50
TICK_STEPS = 5
COUNTS_BYTES = 4 * len(CHECKS) + 4
"""At the end of what is kept: the counts, and what fills the place up to eight bytes."""

NIGHTS = {
    "pump dies": ("running", [moment(200.0, "fault", fault="pump-dies")]),
    "outlet opens": ("running", [moment(150.0, "fault", fault="outlet-a-open", for_s=120.0)]),
    "fans fail after the check": ("cold", [
        moment(2.0, "prepare"),
        moment(10.0, "light", mass=Wood(1.0, "charge"), moisture=0.2, lively=1.0),
        moment(150.0, "fault", fault="fans-fail"),
    ]),
}  # fmt: skip


class Twin(NamedTuple):
    """A night as the board without a corruption drives it."""

    pins: list[dict[str, float]]
    """What the pins see, tick by tick."""
    outputs: list[tuple[float, ...]]
    """Step by step."""
    snapshots: dict[int, Snapshot]
    """Before some of the steps."""
    kept: set[bytes]
    """Every memory that it has kept, without the counts."""

    @property
    def steps(self) -> int:
        """How many there are."""
        return len(self.outputs)


@cache
def pins_of(night: str, lasts_s: float) -> list[dict[str, float]]:
    """A recorded night, as pins see it."""
    ticks = []
    begins, moments = NIGHTS[night]
    bench = Bench(
        LOOP, TODAY, "interpreted", recorded(lambda tick, _: ticks.append(tick), began_s=0.0)
    )
    played = Night.model_construct(
        coilward=1, name=night, duration_s=lasts_s, start=begins, outdoor_c=None, moment=moments
    )
    Rehearsal(bench, played, bench.start(played), 1).play(None)
    nobody = dict.fromkeys(Requests._fields, 0.0)
    return [
        CONVERT.raw(tick.readings) | nobody | {"outage": 0.0}
        | {name: 1.0 for name, held in tick.requests._asdict().items() if held}
        for tick in ticks
    ]  # fmt: skip


def twin_of(pins: list[dict[str, float]], wanted: set[int]) -> Twin:
    """The night of a board that nothing happens to, with snapshots before the steps wanted."""
    board = Watched(image())
    twin = Twin(pins, [], {}, set())
    board.pins |= pins[0]
    board.run()
    for step in range(TICK_STEPS * len(pins)):
        if step in wanted:
            twin.snapshots[step] = board.snapshot()
        do_step(board, pins, step)
        twin.outputs.append(outputs(board))
        twin.kept.add(memory_of(board))
    if board.bites or any(board.found().values()):
        raise RuntimeError(f"the twin is not left alone: {board.bites}, {board.found()}")
    return twin


def do_step(board: Watched, pins: list[dict[str, float]], step: int) -> None:
    """Time passes; the pins move with the tick."""
    board.pins |= pins[step // TICK_STEPS]
    board.pass_time(STEP_MS)


def memory_of(board: Watched) -> bytes:
    """What is kept, without the counts of the checks."""
    return board.kept[:-COUNTS_BYTES]


def outputs(board: Watched) -> tuple[float, ...]:
    """What the outputs are told."""
    return tuple(board.pins[name] for name in OUTPUTS)
