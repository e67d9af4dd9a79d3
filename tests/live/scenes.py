"""Ticks and scenes made from the bench of the logic alone."""

from __future__ import annotations

from functools import cache

from coilward.controller.types import Requests
from coilward.desk.live.scene import scene_of
from coilward.desk.live.slopes import Slopes
from coilward.desk.live.source import Place
from coilward.hil.tick import Tick
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from tests.controller.rig import TODAY, Rig

STEADY = Slopes(0.0, 0.0, 0.0, 0.0)


@cache
def place(name="greenhouse", system=None):
    loop = read_loop(name)
    return Place.of(loop, derive(loop, TODAY), system)


def tick_of(rig, number=0, requests=None):
    """The last tick of a rig."""
    return Tick(number, 0.0, 0.0, (), rig.given, requests or Requests(), rig.commands, rig.state)


def scene(rig, slopes=STEADY, where=None):
    return scene_of(tick_of(rig), where or place(), slopes)


def running():
    """A greenhouse that runs well at its usual fire."""
    return Rig().settle()
