"""A reference board that carries the logic: `python -m coilward.hil.board LOOP --on pty`.

It prints the address to open, and then talks in lines alone. The plant at the other end may set
its state and restart it, because a board on the bench has no fire.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable
from datetime import date

from coilward import __version__
from coilward.controller.constants import constants_for
from coilward.controller.state import first_state
from coilward.hil.child import end_with_starter
from coilward.hil.converting import converter
from coilward.hil.ends import end_of
from coilward.hil.link import Link, Port
from coilward.hil.logic_side import LogicSide
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.loop.model import Loop

Making = Callable[[Port, Loop, date], LogicSide]


def reference_board(port: Port, loop: Loop, today: date) -> LogicSide:
    """The logic of a loop on a port, as a board would carry it."""
    constants = constants_for(loop, derive(loop, today))
    return LogicSide(
        Link(port), converter(loop), constants, first_state(constants),
        program=f"coilward-reference-{__version__}", bench=True, told=None,
    )  # fmt: skip


def main(arguments: list[str], make: Making = reference_board) -> None:
    """Talk until the process is ended."""
    parser = argparse.ArgumentParser(prog="board", description="A board that carries the logic.")
    parser.add_argument("loop")
    parser.add_argument("--on", default="pty", help="pty, tcp or tcp:PORT")
    parser.add_argument("--today", type=date.fromisoformat, required=True)
    parser.add_argument("--child", action="store_true", help="end as standard input ends")
    asked = parser.parse_args(arguments)
    if asked.child:
        end_with_starter(lambda: os._exit(0))
    end = end_of(asked.on)
    side = make(end, read_loop(asked.loop), asked.today)
    sys.stdout.write(f"{end.url}\n")
    sys.stdout.flush()
    while True:
        side.serve()


if __name__ == "__main__":
    main(sys.argv[1:])
