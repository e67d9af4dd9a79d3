"""Whole nights of the simulator, played to the board, and beside it in pure simulation."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from coilward.controller.constants import Constants
from coilward.controller.decide import Decision
from coilward.controller.types import Readings, Requests
from coilward.hil.bench.player import Player
from coilward.hil.bench.report import Played, Progress, Report
from coilward.hil.bench.settled import Grounds, begun
from coilward.hil.far_logic import Compared, Hash, near_logic
from coilward.loop.model import Loop
from coilward.simulator.bench import Bench, Start
from coilward.simulator.logic import Logic
from coilward.simulator.night import Night
from coilward.simulator.rehearsal import Rehearsal

PART = "nights"


class Theatre:
    """The simulated plant, in which whoever is on the wire decides."""

    def __init__(self, player: Player, loop: Loop, today: date, grounds: Grounds) -> None:
        """Ready to play any number of nights to the board of ``player``."""
        self.player, self.grounds = player, grounds
        self.bench = Bench(loop, today, "interpreted", Logic(
            name="on the wire", digest="", decide=self._decide, rebooted=self._rebooted,
        ))  # fmt: skip
        self.today = today

    def _held(self) -> Compared:
        held = self.player.held
        if held is None:
            raise RuntimeError("no session was begun")
        return held

    def _decide(
        self, readings: Readings, requests: Requests, state: Any, constants: Constants
    ) -> Decision:
        return self._held().decide(readings, requests, state, constants)

    def _rebooted(self, state: Any) -> Any:
        return self._held().rebooted(state)

    def start(self, night: Night) -> Start:
        """Where the night begins."""
        return begun(self.bench, night, self.grounds.plant)

    def play(
        self, night: Night, seed: int, *, beside: bool, progress: Callable[[float], None] | None
    ) -> Played:
        """One night to the board and, with ``beside``, once more in pure simulation.

        Raises LinkLost and Refused where the board does not talk any more.
        """
        start = self.start(night)
        held = self.player.begin(start.state)
        Rehearsal(self.bench, night, start, seed, signalled=True).play(progress)
        alone = ""
        if beside:
            alone = self._alone(night, seed)
        first = ""
        if held.differences:
            first = f"tick {held.differences[0].tick}: {held.differences[0].words}"
        elif alone and alone != held.far.told():
            first = "the night takes another course than in pure simulation"
        return Played(
            night.name, held.tick, held.far.told(), held.reference.told(), alone,
            held.differing, first,
        )  # fmt: skip

    def _alone(self, night: Night, seed: int) -> str:
        """Hash of the same night in pure simulation, our logic behind the same conversions."""
        kept = Hash()
        near = near_logic(self.player.convert, kept)
        bench = Bench(self.bench.loop, self.today, "interpreted", near)
        Rehearsal(bench, night, self.start(night), seed, signalled=True).play(None)
        return kept.told()


def play_nights(
    theatre: Theatre, nights: list[Night], report: Report, progress: Progress
) -> None:
    """Each night whole. Raises LinkLost and Refused where the board does not talk any more."""
    for night in nights:
        def show(share: float, name: str = night.name) -> None:
            progress(f"night: {name}", round(100 * share), 100)

        played = theatre.play(night, report.seed, beside=True, progress=show)
        report.nights.append(played)
        if not played.passed:
            report.find(PART, f"{played.name}: {played.first}")
