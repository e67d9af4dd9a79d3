"""Blocks of ticks through the logic, in either engine."""

from __future__ import annotations

from functools import cache
from importlib.metadata import version
from typing import Any

import numpy as np

from coilward.controller.constants import Constants
from coilward.controller.state import State
from coilward.controller.types import Readings
from coilward.hil.journal.layout import FACTS, HEAD, MEMORY, Words
from coilward.hil.redeciding.block import redecide
from coilward.hil.tick import FLOATS
from coilward.simulator.engine import Engine, Runner, cache_folder, can_compile, chosen, compiled

READINGS = slice(len(HEAD), len(HEAD) + len(Readings._fields))
"""Rows of a block's inputs that hold the readings."""
OUTCOME = len(MEMORY) + len(FACTS)
_FLOAT_ROWS = len(FLOATS) + 2


@cache
def _compiled() -> Runner:
    return compiled(redecide)


def _is_compiled() -> bool:
    """Whether it lies compiled in the cache: compiling lasts longer than interpreting a night."""
    return any(cache_folder(redecide, version("numba")).rglob("*.nbi"))


class Redecider:
    """The logic with one loop's constants. Both engines give the same bits."""

    def __init__(self, constants: Constants, engine: Engine = "auto") -> None:
        """Raises RuntimeError when the compiled engine is demanded and can't be had."""
        self.constants = constants
        if engine == "auto" and not (can_compile() and _is_compiled()):
            engine = "interpreted"
        self.engine = chosen("compiled" if engine == "auto" else engine)

    def decide(self, inputs: Words, outcome: Words, low: int, high: int, state: State) -> State:
        """Decide the ticks ``low`` to ``high`` of a block, into ``outcome``; the state after.

        ``inputs`` and ``outcome`` have a row a name and a column a tick; ``outcome`` is in the
        order of a digest, and its other ticks stay.
        """
        ticks = inputs.shape[1]
        came: Any = np.ascontiguousarray(inputs[READINGS]).view(np.float64).reshape(-1)
        asked: Any = np.ascontiguousarray(inputs[1]).view(np.int64)
        floats = outcome[:_FLOAT_ROWS].view(np.float64).reshape(-1)
        wholes = outcome[_FLOAT_ROWS:].view(np.int64).reshape(-1)
        run: Any = redecide
        if self.engine == "compiled":
            run = _compiled()
        else:
            # The interpreter's own floats: numpy's would warn where they overflow.
            came, asked = came.tolist(), asked.tolist()
        after: State = run(
            came, asked, floats, wholes, ticks, low, high, state, self.constants
        )
        return after
