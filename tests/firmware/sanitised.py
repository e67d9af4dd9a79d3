"""Runs wild ticks through a library that ends its process at the first undefined behaviour.

    python -m tests.firmware.sanitised LIBRARY TICKS
"""

from __future__ import annotations

import sys
from pathlib import Path

from coilward.hil.host_core import HostCore
from tests.controller.rig import everything_fitted
from tests.firmware.wild import ticks_of


def main() -> None:
    core, count = HostCore.of(Path(sys.argv[1])), int(sys.argv[2])
    for seed in range(0, count, 10_000):
        core.block(*ticks_of(seed, 10_000, everything_fitted()), each=True)
    sys.stdout.write(f"{count} ticks\n")


if __name__ == "__main__":
    main()
