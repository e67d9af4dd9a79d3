"""Pretended boards: there while they are wanted, and gone with who started them."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from coilward.hil.pretended import REFERENCE, Pretended
from coilward.loop.errors import InputRefused
from tests.hil.pairs import TODAY

ROOT = Path(__file__).parents[2]
STARTER = """
import sys, time
from datetime import date
from coilward.hil.pretended import Pretended
made = Pretended("greenhouse", date(2026, 11, 27), program=sys.argv[1:])
print(made.process.pid, flush=True)
time.sleep(600)
"""
PLAIN = ("coilward.hil.plain_board", "--night", "quiet")


def gone(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    return Path(f"/proc/{pid}/stat").read_text().split(") ")[1][0] == "Z"


@pytest.mark.parametrize("program", [REFERENCE, PLAIN], ids=["with the logic", "plain"])
def test_a_board_ends_with_a_starter_that_was_killed(program):
    with subprocess.Popen(
        [sys.executable, "-c", STARTER, *program], cwd=ROOT, stdout=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as starter:  # fmt: skip
        board = int(starter.stdout.readline())
        assert not gone(board)
        starter.send_signal(signal.SIGKILL)
    end_s = time.monotonic() + 60.0
    while not gone(board):
        assert time.monotonic() < end_s
        time.sleep(0.05)


def test_a_board_is_there_for_as_long_as_it_is_wanted():
    with Pretended("greenhouse", TODAY, on="tcp") as board:
        assert board.url.startswith("socket://127.0.0.1:")
        assert board.process.poll() is None
    assert board.process.poll() is not None


def test_a_board_that_does_not_start_is_refused():
    with pytest.raises(InputRefused, match="does not start"):
        Pretended("greenhouse", TODAY, program=("coilward.hil.no_such_board",))
