"""Each board that is broken on purpose, as a process on a terminal, against the whole bench.

    python -m benchmarks.board_defects            # in turn, with what `coilward bench` does

Every part is played with one repeat, until something is found; the sound board is played to its
end. What no part finds is named, and the exit code is 1.
"""

from __future__ import annotations

import argparse
import sys
import time
from datetime import date

from coilward.desk.bench import NIGHTS
from coilward.hil.bench.report import Report
from coilward.hil.bench.run import Plan, bench_board
from coilward.hil.link import SerialPort
from coilward.hil.pretended import REFERENCE, Pretended
from coilward.loop.document import read_loop
from coilward.simulator.night import read_night
from tests.hil.defects import DEFECTS

LOOP = "greenhouse"
TODAY = date(2026, 11, 25)
FIND = Report.find


def main() -> None:
    """Play each defect, and tell who found it and when."""
    parser = argparse.ArgumentParser(description="Find the boards that are broken on purpose.")
    parser.add_argument("names", nargs="*", default=["sound", *DEFECTS])
    missed = [name for name in parser.parse_args().names if not told(name)]
    sys.stdout.write(f"not as it should be: {', '.join(missed) or 'none'}\n")
    sys.exit(1 if missed else 0)


def told(name: str) -> bool:
    """Whether the bench said of this board what it should."""
    begun_s = time.monotonic()
    report = played(name)
    sound = name == "sound"
    first = report.findings[0] if report.findings else None
    words = f"{first.part}: {first.words}" if first else "nothing found"
    sys.stdout.write(f"{name:34} {time.monotonic() - begun_s:6.1f} s  {words}\n")
    sys.stdout.flush()
    return not report.findings and not report.gone if sound else bool(report.findings)


def played(name: str) -> Report:
    """The bench of one board."""
    program = REFERENCE if name == "sound" else ("tests.hil.defective", name)
    nights = [read_night(each) for each in NIGHTS]
    Report.find = FIND if name == "sound" else found_and_stop  # type: ignore[method-assign]
    with Pretended(LOOP, TODAY, program=program) as board:
        plan = Plan(nights, 1, 1, False, TODAY)
        return bench_board(
            read_loop(LOOP), plan, lambda: SerialPort(board.url), lambda *_: None
        )


def found_and_stop(report: Report, part: str, words: str) -> None:
    """The first finding ends the bench."""
    FIND(report, part, words)
    if report.findings:
        raise KeyboardInterrupt


if __name__ == "__main__":
    main()
