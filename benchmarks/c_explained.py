"""Asks the prover about what is explained of the firmware's own sums and comparisons.

    python -m benchmarks.c_explained [--workers 1]

Each change to adding.c and comparing.c for which tests/mutation/explained_doubles.toml has a reason
is made, and what is proved of the file has to hold with it as without: of all pairs, not of those
that were tried. Ends with 1 where a proof fails or takes too long; 0 with the word "skipped" where
CBMC isn't had.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from concurrent.futures import ThreadPoolExecutor

from benchmarks.c_changes import changes_of
from benchmarks.c_doubles import ARITHMETIC, REASONS
from benchmarks.c_mutants import Explained
from tests.firmware.proofs.cbmc import SKIPPED, found
from tests.firmware.proofs.claims import CLAIMS, Mistake
from tests.firmware.proofs.proving import prove


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--workers", type=int, default=1)
    asked = parser.parse_args()
    cbmc = found()
    if cbmc is None:
        print(SKIPPED)
        return 0
    explained, verdicts = Explained(REASONS), Counter[str]()
    with ThreadPoolExecutor(asked.workers) as pool:
        runs = []
        for module in ("comparing", "adding"):
            text = (ARITHMETIC / f"{module}.c").read_text("utf-8")
            for change in filter(explained.why, changes_of(f"{module}.c", text)):
                changed = text[: change.start] + change.text + text[change.end :]
                mistake = Mistake(change.file, text, changed)
                runs += [
                    (claim, change, pool.submit(prove, cbmc, claim._replace(mistake=mistake), True))
                    for claim in CLAIMS if claim.modules == module
                ]
        for claim, change, run in runs:
            proved = run.result()
            verdicts[proved.verdict] += 1
            print(f"{claim.name:14} {proved.seconds:6.1f}  {proved.verdict:8} "
                  f"{change.file}:{change.line} {change.now}", flush=True)  # fmt: skip
    print(f"{len(runs)} proofs: " + ", ".join(f"{many} {word}" for word, many in verdicts.items()))
    return 0 if set(verdicts) == {"holds"} else 1


if __name__ == "__main__":
    sys.exit(main())
