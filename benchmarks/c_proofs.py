"""Proves what is claimed of the C core, for all inputs, and that each proof catches a mistake.

    python -m benchmarks.c_proofs [--only NAME] [--workers 2]

Prints a row a claim: seconds, verdict, and the verdict on the core with one mistake, which must
be "fails". Exit status 1 if any row is not so; 0 with the word "skipped" where CBMC isn't had.
"""

from __future__ import annotations

import argparse
import sys
import time
from concurrent.futures import ThreadPoolExecutor

from tests.firmware.proofs.cbmc import SKIPPED, found
from tests.firmware.proofs.claims import CLAIMS
from tests.firmware.proofs.proving import prove


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", choices=[claim.name for claim in CLAIMS])
    parser.add_argument("--workers", type=int, default=2)
    asked = parser.parse_args()
    cbmc = found()
    if cbmc is None:
        print(SKIPPED)
        return 0
    start_s = time.monotonic()
    bad = 0
    with ThreadPoolExecutor(asked.workers) as pool:
        runs = [
            (
                claim, pool.submit(prove, cbmc, claim), pool.submit(prove, cbmc, claim, True),
            )
            for claim in CLAIMS if asked.only in (None, claim.name)
        ]
        print(f"{'claim':18} {'s':>6}  {'verdict':8} {'s':>6}  with a mistake")
        for claim, right, wrong in runs:
            proved = right.result()
            caught = wrong.result()
            print(
                f"{claim.name:18} {proved.seconds:6.1f}  {proved.verdict:8} "
                f"{caught.seconds:6.1f}  {caught.verdict:8} {claim.says}", flush=True,
            )
            bad += proved.verdict != "holds" or caught.verdict != "fails"
    print(f"{len(runs)} claims, {bad} not proved, {time.monotonic() - start_s:.0f} s")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
