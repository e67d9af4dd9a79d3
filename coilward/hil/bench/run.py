"""All of a bench, part by part, into one report."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Final, NamedTuple

from coilward.hil.bench.catalogue import play_faults
from coilward.hil.bench.identity import identify
from coilward.hil.bench.nights import Theatre, play_nights
from coilward.hil.bench.player import Opens, Player
from coilward.hil.bench.reactions import measure
from coilward.hil.bench.report import Progress, Report
from coilward.hil.bench.settled import grounds
from coilward.hil.bench.silence import go_silent
from coilward.hil.bench.wires import try_wires
from coilward.hil.converting import converter
from coilward.hil.link import LinkLost
from coilward.hil.plant_side import Refused
from coilward.loop.errors import InputRefused
from coilward.loop.model import Loop
from coilward.simulator.bench import Bench
from coilward.simulator.night import Night

LATE_SHARE: Final = 0.01
"""So many answers may take longer than a tick: the other end of a wire may be busy once."""
SILENCES: Final = 3
PARTS: Final = ("identity", "dead-man", "wire", "interlocks", "faults of the catalogue", "nights")
"""In the order in which they are played."""


class Plan(NamedTuple):
    """What a bench shall do."""

    nights: list[Night]
    repeats: int
    seed: int
    paced: bool
    today: date


def bench_board(
    loop: Loop, plan: Plan, opens: Opens, progress: Progress,
    tuned: Callable[[Player], None] = lambda _: None,
) -> Report:  # fmt: skip
    """Everything, in order; Ctrl-C ends it and keeps what was measured.

    ``tuned`` may change how long the player waits. Raises InputRefused where the port can't be
    opened.
    """
    reference = Bench(loop, plan.today, "interpreted")
    player = Player(opens, reference.constants, converter(loop), paced=plan.paced)
    tuned(player)
    report = Report(
        plan.repeats, plan.seed, plan.paced, loop.tick_s, reference.constants.checksum
    )
    try:
        _parts(loop, plan, reference, player, report, progress)
    except KeyboardInterrupt:
        report.stopped = True
    finally:
        player.close()
    report.answers, report.ticks = player.times.spread(), player.ticks
    late = player.times.over(loop.tick_s)
    if late > LATE_SHARE * report.answers.times:
        report.find("answers", f"{late} of {report.answers.times} answers took longer than a tick")
    return report


def _parts(
    loop: Loop, plan: Plan, reference: Bench, player: Player, report: Report, progress: Progress
) -> None:
    progress("the loop settles", 0, 1)
    ground = grounds(reference)
    theatre = Theatre(player, loop, plan.today, ground)
    parts: tuple[Callable[[], None], ...] = (
        lambda: identify(player, report),
        lambda: go_silent(player, ground.burning, report, SILENCES),
        lambda: try_wires(player, ground.burning, report, progress),
        lambda: measure(player, ground, reference.derived, report, progress),
        lambda: play_faults(theatre, loop, report, progress),
        lambda: play_nights(theatre, plan.nights, report, progress),
    )
    for name, part in zip(PARTS, parts, strict=True):
        progress(name, 0, 1)
        try:
            part()
        except InputRefused as refused:
            report.find(name, f"the port is gone: {refused.faults[0]}")
            report.gone = True
            return
        except Refused as refused:
            report.find(name, f"the board does not talk to this plant: {refused}")
            report.gone = True
            return
        except LinkLost as lost:
            report.find(name, f"the board does not answer any more: {lost}")
            if not _back(player):
                report.gone = True
                return
            continue
        report.parts_done.append(name)


def _back(player: Player) -> bool:
    """Whether the board talks again after the plug was pulled and put in again."""
    try:
        player.replug()
        player.greet()
    except (LinkLost, Refused, InputRefused):
        return False
    return True
