"""Many ticks decided at once: the same lines compiled or interpreted, with the same bits."""

from __future__ import annotations

from functools import cache
from importlib.metadata import version
from typing import Any, Final, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.controller.adding import added
from coilward.controller.constants import Constants
from coilward.controller.state import State
from coilward.hil.replay.kernel import redecide
from coilward.hil.tick import FLOATS, WHOLES
from coilward.simulator.engine import Engine, cache_folder, can_compile, compiled

Table = NDArray[Any]

WORTH_TICKS: Final = 1_000_000
"""From so many ticks on, compiling takes less time than it saves."""


class Decided(NamedTuple):
    """What came out of some ticks: a row a number, a column a tick."""

    valve_fans: Table
    switches: Table
    floats: Table
    """Of the state, in the order of `FLOATS`."""
    wholes: Table
    """Of the state, in the order of `WHOLES`."""

    def whole(self, name: str) -> Table:
        """One whole number of the state, tick by tick."""
        row: Table = self.wholes[WHOLES.index(name)]
        return row


class Decider:
    """One logic with its constants, and a memory that goes on from call to call."""

    def __init__(self, constants: Constants, engine: Literal["compiled", "interpreted"]) -> None:
        self.constants, self.engine = constants, engine
        self.state: State | None = None
        self._run: Any = redecide if engine == "interpreted" else _compiled()
        self._out: Decided | None = None

    def decide(self, readings: Table, masks: Table) -> Decided:
        """Decides these ticks: readings a row a field, requests a mask a tick.

        What it gives is overwritten by the next call. Raises ValueError without a state to start
        from.
        """
        if self.state is None:
            raise ValueError("no state to start from")
        rows = len(masks)
        out = self._room(rows)
        if self.engine == "interpreted":
            self._slowly(readings, masks, out)
            return out
        self.state = self._run(
            np.ascontiguousarray(readings).reshape(-1), np.ascontiguousarray(masks),
            out.valve_fans.reshape(-1), out.switches.reshape(-1), out.floats.reshape(-1),
            out.wholes.reshape(-1), rows, 0, rows, self.state, self.constants,
        )  # fmt: skip
        return out

    def _room(self, rows: int) -> Decided:
        """Tables for so many ticks: fresh memory for each minute would cost a tenth of the time."""
        if self._out is None or self._out.switches.shape[1] != rows:
            self._out = Decided(
                np.empty((2, rows)), np.empty((5, rows), np.int64),
                np.empty((len(FLOATS), rows)), np.empty((len(WHOLES), rows), np.int64),
            )  # fmt: skip
        return self._out

    def _slowly(self, readings: Table, masks: Table, out: Decided) -> None:
        """By the interpreter, which is at home with lists of Python's own numbers."""
        rows = len(masks)
        lists: list[Any] = [[0.0] * (2 * rows), [0] * (5 * rows), [0.0] * (len(FLOATS) * rows),
                 [0] * (len(WHOLES) * rows)]  # fmt: skip
        self.state = self._run(
            readings.reshape(-1).tolist(), masks.tolist(), *lists, rows, 0, rows, self.state,
            self.constants,
        )
        for table, values in zip(out, lists, strict=True):
            table[...] = np.array(values, table.dtype).reshape(table.shape)


@cache
def _compiled() -> Any:
    return compiled(redecide)


def chosen(engine: Engine, ticks: int) -> Literal["compiled", "interpreted"]:
    """The engine for so many ticks: compiled where it lies ready, or where it is worth waiting for.

    Raises RuntimeError when compiling is demanded and can't be.
    """
    if engine == "interpreted" or added() or not can_compile():
        if engine == "compiled":
            raise RuntimeError("the compiled engine needs numba, and no interlocks of your own")
        return "interpreted"
    if engine == "compiled" or ticks >= WORTH_TICKS:
        return "compiled"
    ready = any(cache_folder(redecide, version("numba")).rglob("*.nbi"))
    return "compiled" if ready else "interpreted"
