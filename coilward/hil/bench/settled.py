"""Where the bench begins: the simulated loop, settled at its nominal heat, or cold."""

from __future__ import annotations

import copy
from typing import Literal, NamedTuple

from coilward.controller.types import Commands
from coilward.hil.bench.scene import Scene
from coilward.simulator.bench import Bench, Start
from coilward.simulator.night import Night
from coilward.simulator.rehearsal import Rehearsal
from coilward.simulator.sensors import read

CALM_S = 60.0
Begins = Literal["cold", "running"]


class Grounds(NamedTuple):
    """Starts that the bench copies again and again."""

    plant: Start
    """The plant as it has settled, and the logic's state then: for whole nights."""
    burning: Scene
    cold: Scene


def still(begins: Begins, outdoor_c: float) -> Night:
    """A night in which nothing happens."""
    return Night.model_construct(
        coilward=1, name="still", duration_s=0.0, start=begins, moment=[], outdoor_c=outdoor_c
    )


def grounds(bench: Bench) -> Grounds:
    """Settle the loop, and let each scene run until nothing changes any more."""
    outdoor_c = bench.loop.site.outdoor_c
    night = still("running", outdoor_c)
    made = Rehearsal(bench, night, bench.start(night), 0, signalled=True)
    plant = Start(made.y, made.p, made.state, 0.0)
    burning = _scene(bench, plant)
    night = still("cold", outdoor_c)
    begun = bench.start(night)
    cold = _scene(bench, begun)
    cold.running, cold.fan_a = burning.running, burning.fan_a
    for scene in (burning, cold):
        scene.run(CALM_S)
    return Grounds(plant, burning, cold)


def again(start: Start) -> Start:
    """A start of one's own: a night uses it up."""
    return Start(copy.copy(start.y), copy.copy(start.p), start.state, start.settles_s)


def begun(bench: Bench, night: Night, plant: Start) -> Start:
    """Where a night begins; the settled plant is copied where it is the same one."""
    if night.start == "running" and night.outdoor_c in (None, bench.loop.site.outdoor_c):
        return again(plant)
    return bench.start(night)._replace(settles_s=0.0)


def _scene(bench: Bench, start: Start) -> Scene:
    state = start.state
    readings = read(start.y, start.p, state.ages.time_s)
    control = state.control
    told = Commands(
        control.pump, control.valve, control.fans, control.damper_open, control.dump_open, 0, False
    )
    return Scene(bench.constants, readings, state, told)
