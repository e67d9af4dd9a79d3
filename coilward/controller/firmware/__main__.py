"""Makes the C of the controller, or the constants of one loop in C.

python -m coilward.controller.firmware [--check]
python -m coilward.controller.firmware --loop greenhouse --day 2026-11-25 --to FOLDER
"""

from __future__ import annotations

import argparse
import sys
from datetime import date
from pathlib import Path

from coilward.controller.firmware.loop_constants import constants_files
from coilward.controller.firmware.making import stale, write_core
from coilward.loop.document import read_loop
from coilward.loop.errors import InputRefused


def main(arguments: list[str] | None = None) -> int:
    """0: done; 1: with --check, files are stale; 2: something is not accepted."""
    parser = argparse.ArgumentParser(
        prog="python -m coilward.controller.firmware", description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )  # fmt: skip
    parser.add_argument("--check", action="store_true", help="only tell which files are stale")
    parser.add_argument("--loop", help="a loop file, or the name of a shipped loop")
    parser.add_argument("--day", type=date.fromisoformat, default=None,
                        help="day for which limits are derived, such as 2026-11-25")
    parser.add_argument("--to", type=Path, default=Path(), help="folder for the constants")
    asked = parser.parse_args(arguments)
    try:
        if asked.loop is None:
            changed = stale() if asked.check else write_core()
            for name in changed:
                sys.stdout.write(f"{'stale' if asked.check else 'made'}: {name}\n")
            return 1 if asked.check and changed else 0
        if asked.day is None:
            parser.error("--loop needs --day")
        for name, text in constants_files(asked.loop, read_loop(asked.loop), asked.day).items():
            (asked.to / name).write_text(text, "utf-8")
    except InputRefused as error:
        sys.stderr.write(f"{error}\n")
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
