"""A broken board as a process: `python -m tests.hil.defective NAME LOOP --on pty --today DAY`."""

from __future__ import annotations

import sys

from coilward.hil.board import main
from tests.hil.defects import DEFECTS

if __name__ == "__main__":
    main(sys.argv[2:], DEFECTS[sys.argv[1]])
