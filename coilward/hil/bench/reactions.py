"""Every interlock of the loop, provoked again and again, timed, and held against the reference."""

from __future__ import annotations

from random import Random

from coilward.controller import interlocks
from coilward.controller.interlocks import Row
from coilward.controller.types import Requests
from coilward.hil.bench.player import Player
from coilward.hil.bench.provoking import PROVOCATIONS, Provocation
from coilward.hil.bench.reacting import Led, Reaction, lead_up, react
from coilward.hil.bench.report import Progress, Report, RowTimes
from coilward.hil.bench.rows import absent, limit_s
from coilward.hil.bench.scene import NOBODY, Scene
from coilward.hil.bench.settled import Grounds
from coilward.hil.bench.timing import Times
from coilward.hil.far_logic import Compared
from coilward.loop.derived import Derived

PART = "interlocks"
AFTERWARDS = 2
"""Of so many repeats, what follows is played too: reset, silence, a restart."""
BESIDE_S = 1e-9


def measure(
    player: Player, grounds: Grounds, derived: Derived, report: Report, progress: Progress
) -> None:
    """All rows. Raises LinkLost and Refused where the board does not talk any more."""
    for place, row in enumerate(interlocks.ROWS):
        progress(f"interlock {row.name}", place, len(interlocks.ROWS))
        times = _row(player, grounds, derived, report, row)
        report.rows.append(times)
        if times.missed:
            report.find(PART, f"{row.name}, {row.cause}: too late, or never, in {times.missed} of "
                        f"{times.missed + times.spread.times} cases")  # fmt: skip
        if times.differing:
            report.find(PART, f"{row.name}, {row.cause}: {times.first}")


def _row(
    player: Player, grounds: Grounds, derived: Derived, report: Report, row: Row
) -> RowTimes:
    lacks = absent(row, player.constants.fitted)
    provocation = PROVOCATIONS.get(row.name)
    why_not = f"no {lacks} is measured" if lacks else ""
    if provocation is None:
        why_not = "no way to provoke it is written"
    elif not why_not and not shown(grounds, provocation, row, report.seed):
        why_not = "what provokes it elsewhere does not lead to it in this loop"
    if why_not or provocation is None:
        return RowTimes(row.name, limit_s(row, derived), Times().spread(), 0, 0, "", False, why_not)
    return _measured(player, grounds, derived, report, row, provocation)


def begins(grounds: Grounds, provocation: Provocation) -> Scene:
    """Where a provocation starts."""
    return grounds.burning if provocation.begins == "burning" else grounds.cold


def random_of(seed: int, name: str, repeat: int) -> Random:
    """The choices of one repeat of one row."""
    return Random(f"{seed} {name} {repeat}")  # noqa: S311 - cases, not secrets


def shown(grounds: Grounds, provocation: Provocation, row: Row, seed: int) -> bool:
    """Whether the reference shows the row on what provokes it."""
    rng = random_of(seed, row.name, 0)
    led = lead_up(begins(grounds, provocation), provocation, row.name, rng)
    return react(led, provocation, row, rng).board_s is not None


def allowed_s(row: Row, derived: Derived, led: Led) -> float:
    """The row's limit. A refill window is the one that the fire of the scene leaves, and begins
    when the meter's time-out has told that the water stands."""
    if row.limit_s != "refill_window":
        return limit_s(row, derived)
    constants = led.scene.constants
    return led.scene.state.ages.window_s + constants.water.pulse_timeout_s + constants.tick_s


def _measured(
    player: Player, grounds: Grounds, derived: Derived, report: Report, row: Row,
    provocation: Provocation,
) -> RowTimes:  # fmt: skip
    times, missed, differing, first = Times(), 0, 0, ""
    scene = begins(grounds, provocation)
    longest_s = limit_s(row, derived)
    for repeat in range(report.repeats):
        rng = random_of(report.seed, row.name, repeat)
        led = lead_up(scene, provocation, row.name, rng)
        allowed = allowed_s(row, derived, led)
        longest_s = max(longest_s, allowed)
        held = player.begin(led.scene.state)
        over(held, led.scene)
        reaction = react(led, provocation, row, rng)
        if repeat < AFTERWARDS:
            afterwards(led.scene)
        if in_time(reaction, allowed):
            times.add(reaction.board_s or 0.0)
        else:
            missed += 1
        differing += held.differing
        if held.differing and not first:
            first = f"tick {held.differences[0].tick}: {held.differences[0].words}"
    handed = provocation.near_s > 0.0
    return RowTimes(row.name, longest_s, times.spread(), missed, differing, first, handed)


def in_time(reaction: Reaction, allowed_s: float) -> bool:
    """Whether the outputs came within the limit."""
    return reaction.board_s is not None and reaction.board_s <= allowed_s + BESIDE_S


def over(held: Compared, scene: Scene) -> None:
    """From here on the board decides in the scene, and the reference beside it."""
    scene.decides, scene.reboots = held.decide, held.rebooted
    scene.expects = lambda: held.expected


def afterwards(scene: Scene) -> None:
    """A restart with the cause there, a reset that comes too early, the cause gone, the horn
    silenced, a reset too short and one long enough: all is compared, nothing is timed."""
    scene.requests = NOBODY
    scene.run(1.0)
    scene.reboot()
    scene.run(5.0)
    scene.requests = Requests(reset=True)
    scene.run(3.0)
    scene.heal()
    for requests, seconds in (
        (Requests(silence=True), 0.25), (NOBODY, 1.0), (Requests(reset=True), 1.0), (NOBODY, 1.0),
        (Requests(reset=True), 3.0), (NOBODY, 1.0),
    ):  # fmt: skip
        scene.requests = requests
        scene.run(seconds)
