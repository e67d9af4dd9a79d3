"""The fast integrator against Runge-Kutta at 12.5 ms over random faulted burns of four hours.

    python -m benchmarks.accuracy [burns]

A replay of the same outputs: closed loops would differ by a tick in a trip now and then.
"""

from __future__ import annotations

import sys
import time

from tests.simulator.replay import burn


def main():
    """Prints every burn's worst difference, K, and the worst of all."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    began_s, worst = time.perf_counter(), []
    for seed in range(100, 100 + count):
        off_k, at_s, _, _ = burn(seed, 14400.0)
        worst.append(off_k)
        print(f"burn {seed}: {off_k:.4f} K at {at_s} s")
    print(f"worst of {count}: {max(worst):.4f} K in {time.perf_counter() - began_s:.0f} s")


if __name__ == "__main__":
    main()
