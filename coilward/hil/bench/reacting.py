"""One row provoked once on a board: how long until its outputs have done what the row says."""

from __future__ import annotations

from random import Random
from typing import Final, NamedTuple

from coilward.controller.interlocks import Row, bit
from coilward.hil.bench.provoking import Provocation
from coilward.hil.bench.rows import arrived
from coilward.hil.bench.scene import Scene

PHASES: Final = 40
"""Ticks over which the start of a provocation is spread: ten seconds at four ticks a second."""
LEAD: Final = 4
"""Ticks that a board plays at most before the cause."""
SLACK_S: Final = 5.0
"""The row is waited for as long after the reference shows it."""


class Led(NamedTuple):
    """A scene led up to where the board takes over."""

    scene: Scene
    changed: bool
    """Whether the cause was brought about already, by the reference alone."""
    passed: int
    """Ticks since then."""
    lead: int
    """Ticks before the cause that are left to the board."""


def lead_up(begins: Scene, provocation: Provocation, name: str, rng: Random) -> Led:
    """The way to the cause by the reference alone, each time a little different."""
    scene = begins.copy()
    warmer_k = rng.uniform(-0.5, 0.5)
    scene.readings = scene.readings._replace(
        coil_outlet_a_c=scene.readings.coil_outlet_a_c + warmer_k,
        coil_outlet_b_c=scene.readings.coil_outlet_b_c + warmer_k,
        tank_c=scene.readings.tank_c + rng.uniform(-0.2, 0.2),
    )
    for _ in range(rng.randrange(PHASES)):
        scene.tick()
    provocation.before(scene, rng)
    lead = rng.randrange(1, LEAD + 1)
    if provocation.near_s <= 0.0:
        return Led(scene, False, 0, lead)
    provocation.change(scene, rng)
    ticks = _ticks_to(scene.copy(), provocation, name)
    passed = max(0, ticks - round(provocation.near_s / scene.constants.tick_s))
    for _ in range(passed):
        provocation.each(scene)
        scene.tick()
    return Led(scene, True, passed, 0)


def _ticks_to(scene: Scene, provocation: Provocation, name: str) -> int:
    """Ticks until the reference shows the row; those of the whole time where it never does."""
    most = round(provocation.within_s / scene.constants.tick_s)
    for tick in range(most):
        if scene.raised(name):
            return tick
        provocation.each(scene)
        scene.tick()
    return most


class Reaction(NamedTuple):
    """Seconds from the cause to the outputs, to the end of the tick; None where nothing came."""

    board_s: float | None
    reference_s: float | None
    """When the reference shows the row on the readings that the board had."""


def react(led: Led, provocation: Provocation, row: Row, rng: Random) -> Reaction:
    """Play the cause to whoever decides in the scene.

    A cause may come just after a tick was read: the whole tick counts. Raises LinkLost.
    """
    scene, tick_s = led.scene, led.scene.constants.tick_s
    for _ in range(led.lead):
        scene.tick()
    if not led.changed:
        provocation.change(scene, rng)
    counts = led.passed if provocation.counted == "change" else 0
    reference_s: float | None = None
    left = round(provocation.within_s / tick_s)
    while left > 0:
        provocation.each(scene)
        scene.tick()
        left -= 1
        if provocation.counted == "change" or counts > 0 or scene.state.seen & bit(row.name):
            counts += 1
        if reference_s is None and scene.raised(row.name):
            reference_s = max(counts, 1) * tick_s
            left = min(left, round(SLACK_S / tick_s))
        if reference_s is not None and arrived(row, scene.commands, scene.expects()):
            return Reaction(max(counts, 1) * tick_s, reference_s)
    return Reaction(None, reference_s)
