"""Another decision function in the place of ours: what a night needs to know of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from coilward.controller.constants import Constants, constants_for
from coilward.controller.decide import Decision
from coilward.controller.state import after_reboot, first_state
from coilward.controller.types import Readings, Requests
from coilward.loop.derived import Derived
from coilward.loop.model import Loop

Decide = Callable[[Readings, Requests, Any, Constants], Decision]


@dataclass(frozen=True)
class Logic:
    """A decision function with what belongs to it; without more than `decide` the rest is ours."""

    name: str
    """As it was asked for."""
    digest: str
    """Changes when the function's source does."""
    decide: Decide
    first: Callable[[Constants, int, int], Any] = first_state
    """State of a board set up with a phase and a fire, as `first_state` makes ours."""
    rebooted: Callable[[Any], Any] = after_reboot
    """What of a state survives a restart of the board."""
    constants: Callable[[Loop, Derived], Constants] = constants_for
    tells_phases: bool = True
    """Whether its state holds our phases and rows; else log and trace say nothing of them."""


class LogicDied(Exception):  # noqa: N818 - a finding of the night, not an error of the program
    """The decision function raised: the board is dead from that tick on."""

    def __init__(self, time_s: float, words: str) -> None:
        super().__init__(words)
        self.time_s, self.words = time_s, words
