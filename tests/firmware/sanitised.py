"""Runs what a library is given that ends its process at the first undefined behaviour.

    python -m tests.firmware.sanitised ticks|pairs LIBRARY COUNT

Wild ticks through the core, or as many pairs of each kind through the firmware's own doubles.
"""

from __future__ import annotations

import ctypes
import sys
from pathlib import Path

import numpy as np

from coilward.hil.host_core import HostCore
from tests.controller.rig import everything_fitted
from tests.firmware import test_doubles as doubles
from tests.firmware.wild import ticks_of


def ticks(library: Path, count: int) -> None:
    core = HostCore.of(library)
    for seed in range(0, count, 10_000):
        core.block(*ticks_of(seed, 10_000, everything_fitted()), each=True)


def pairs(library: Path, count: int) -> None:
    found = ctypes.CDLL(str(library))
    for kind in doubles.KINDS:
        a, b = doubles.some_of(kind, count)
        for table, made in ((doubles.RECKONINGS, np.float64), (doubles.COMPARISONS, np.int32)):
            for name in table:
                doubles.outcome(found, table, name, a, b, made)
    doubles.wholes_differing(found)


def main() -> None:
    what, library, count = sys.argv[1], Path(sys.argv[2]), int(sys.argv[3])
    {"ticks": ticks, "pairs": pairs}[what](library, count)
    sys.stdout.write(f"{count} {what}\n")


if __name__ == "__main__":
    main()
