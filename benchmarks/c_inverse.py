"""How short the inverse is that the firmware's own quotient is made with, for all 2^31 numbers.

    python -m benchmarks.c_inverse

A step of the quotient leaves, in divisors, less than 1 + 2^-10 + e * 2^20 * what was left before,
where the inverse is short by a share e and never too large. What is left stays under two divisors,
so that the digits are short by one at most, while e * 2^21 is less than 1 - 2^-10; and one that is
missing tells only where it carries, which the quotient looks after. So every change of `inverse`
that keeps to that changes no quotient. Told is e * 2^21 of the inverse as it is, and of each such
change. Ends with 1 when it isn't as short as scaling.c says (2^-27), or when another number of
changes keeps to the bound than tests/mutation/explained_doubles.toml explains.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from benchmarks.c_changes import changes_of
from benchmarks.c_doubles import ARITHMETIC, REASONS
from benchmarks.c_mutants import Explained

PROMISED, BOUND = 2.0**-6, 1.0 - 2.0**-10
"""As multiples of 2^-21: what scaling.c says, and what is enough."""
MAIN = """
#include <stdio.h>

int main(void)
{
    uint64_t most = 0U;
    for (uint64_t number = UINT64_C(1) << 31; (number >> 32) == 0U; number++) {
        const uint64_t by = inverse((uint32_t)number);
        const uint64_t lack = (UINT64_C(1) << 63) - (by * number);
        if (((by * (number + 1U)) > (UINT64_C(1) << 63)) || ((lack >> 42) != 0U)) {
            return 1;
        }
        most = (lack > most) ? lack : most;
    }
    (void)printf("%.17g", (double)most / 4398046511104.0);
    return 0;
}
"""


def how_short(text: str) -> float:
    """The largest e * 2^21; infinite where a number has one over 1, or too large an inverse."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "all.c"
        place.write_text(text + MAIN, "utf-8")
        command = ["gcc", "-std=c99", "-O2", "-w", f"-I{ARITHMETIC}", place.name, "-o", "all"]
        subprocess.run(command, cwd=folder, check=True)
        done = subprocess.run(["./all"], cwd=folder, capture_output=True, text=True, check=False)
    return float(done.stdout) if done.returncode == 0 else float("inf")


def main() -> int:
    text = (ARITHMETIC / "scaling.c").read_text("utf-8")
    usual, within = how_short(text), 0
    print(f"{usual:.4f}  as it is", flush=True)
    for change in changes_of("scaling.c", text):
        if change.function == "inverse":
            found = how_short(text[: change.start] + change.text + text[change.end :])
            if found < BOUND:
                within += 1
                print(f"{found:.4f}  {change.now}", flush=True)
    [explained] = [
        each["survive"] for each in Explained(REASONS).rules if each.get("function") == "^inverse$"
    ]
    print(f"{within} changes keep to the bound, {explained} are explained by it")
    return 0 if usual < PROMISED and within == explained else 1


if __name__ == "__main__":
    sys.exit(main())
