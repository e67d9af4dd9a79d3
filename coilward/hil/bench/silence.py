"""The bench goes silent: the board's own dead-man has to move its outputs, and to say so."""

from __future__ import annotations

from random import Random

from coilward.hil.bench.player import Player
from coilward.hil.bench.reactions import over
from coilward.hil.bench.report import Report, Silent
from coilward.hil.bench.scene import Scene
from coilward.hil.bench.timing import Times
from coilward.hil.dead_man import SILENT_S, safe
from coilward.hil.frames import Values
from coilward.hil.logic_side import told_commands

PART = "dead-man"
GRACE_S = 0.5
"""On top of the two seconds, for a board that looks at its clock once a tick, and for the wire."""


def go_silent(player: Player, burning: Scene, report: Report, repeats: int) -> None:
    """Several silences, each in a session of its own. Raises Refused, LinkLost."""
    times, limit_s = Times(), SILENT_S + GRACE_S
    for repeat in range(repeats):
        scene = burning.copy()
        scene.run(0.25 * Random(f"{report.seed} silence {repeat}").randrange(40))  # noqa: S311
        held = player.begin(scene.state)
        over(held, scene)
        scene.run(1.0)
        side = player.side
        passed_s = player.silence(limit_s)
        said = side.silent
        if said is None:
            report.find(PART, f"nothing was sent for {limit_s:g} s, and the board says nothing of "
                        "it: its dead-man does not act")  # fmt: skip
            continue
        times.add(passed_s)
        if passed_s < SILENT_S - GRACE_S:
            report.find(PART, f"the dead-man acts after {passed_s:.2f} s already")
        alone: Values = told_commands(safe(scene.commands))
        if {name: said[name] for name in alone} != alone:
            report.find(PART, "in the silence the outputs do not go to their safe side")
        scene.tick()
        if side.told_silent != 1:
            report.find(PART, "the board does not tell of the silence when it is over")
        if held.differing:
            report.find(PART, f"after the silence: {held.differences[0].words}")
    report.silent = Silent(times.spread(), limit_s)
