"""A whole bench in one process: the board is served whenever the plant waits, on its own clock."""

from __future__ import annotations

from collections import deque
from functools import cache

from coilward.hil.bench import catalogue, run
from coilward.hil.bench.report import Report
from coilward.hil.bench.run import Plan, bench_board
from coilward.hil.bench.settled import grounds
from coilward.hil.board import reference_board
from coilward.hil.wire_faults import Wire
from coilward.proving.scenes import moment
from coilward.simulator.bench import Bench
from coilward.simulator.night import Night
from tests.hil.pairs import LOOP, TODAY, Memory

IDLE_S = 0.02


@cache
def settled():
    """The loop, settled once for all benches of a process."""
    return grounds(Bench(LOOP, TODAY, "interpreted"))


class Waiting(Memory):
    """A port whose wait for a byte takes time on the clock of the test."""

    def __init__(self, comes, goes, wakes, now_s):
        super().__init__(comes, goes, wakes)
        self.now_s = now_s

    def read(self) -> bytes:
        found = super().read()
        if not found:
            self.now_s[0] += IDLE_S
        return found


def short_night() -> Night:
    """The check before a fire: four minutes and a half."""
    return Night.model_construct(
        coilward=1, name="short", duration_s=270.0, start="cold", outdoor_c=None,
        moment=[moment(2.0, "prepare")],
    )  # fmt: skip


def bench(monkeypatch, make=reference_board, *, repeats=1, nights=None, at_first=True, said=None):
    """A bench in its short setting; ends at the first finding, unless told otherwise."""
    now_s, there, back = [0.0], deque(), deque()
    board = make(Memory(there, back), LOOP, TODAY)
    board.clock = lambda: now_s[0]

    def tuned(player):
        player.clock = player.side.link.clock = board.clock
        player.greets_s, player.answers_s = 2.0, 2.0

    monkeypatch.setattr("coilward.hil.plant_side.AGAIN_S", 0.0)
    monkeypatch.setattr("coilward.hil.plant_side.HELLO_EVERY_S", 0.0)
    monkeypatch.setattr(run, "grounds", lambda _: settled())
    monkeypatch.setitem(run.try_wires.__globals__["WIRES"], LATE, Wire(late_s=0.0005))
    monkeypatch.setattr(catalogue, "LEAST_S", 10.0)
    monkeypatch.setattr(catalogue, "MOST_S", 10.0)
    if at_first:
        monkeypatch.setattr(Report, "find", found_and_stop)
    plan = Plan(nights if nights is not None else [short_night()], repeats, 1, False, TODAY)
    return bench_board(
        LOOP, plan, lambda: Waiting(back, there, board.serve, now_s),
        said or (lambda *_: None), tuned,
    )  # fmt: skip


LATE = "delayed: everything comes 10 ms late"
FIND = Report.find


def found_and_stop(report, part, words):
    """The first finding ends the bench."""
    FIND(report, part, words)
    if report.findings:
        raise KeyboardInterrupt
