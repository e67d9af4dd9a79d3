"""The finite part of the logic searched completely, and the same by induction: counts, seconds.

    python -m benchmarks.finite
"""

from __future__ import annotations

import time
from datetime import date

from coilward.controller.constants import constants_for
from coilward.controller.phases import PHASES
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.proving.finite import Model
from coilward.proving.properties import show_all
from tests.properties.induction import induct
from tests.properties.test_induction import LEMMAS, PROPERTIES


def main():
    """Prints what was looked at for each property, and how long all took."""
    began_s = time.perf_counter()
    loop = read_loop("greenhouse")
    constants = constants_for(loop, derive(loop, date(2026, 11, 25)))
    model = Model()
    shown = show_all(constants, model)
    searched_s = time.perf_counter() - began_s
    print(
        f"{len(PHASES)} phases, {len(model.any_rows)} groups of counting rows, "
        f"{len(model.latch_states)} of latched rows: {len(shown.reached.way)} states, "
        f"{shown.reached.ticks} ticks"
    )
    for result in shown.results:
        print(f"{result.looked_at:>9}  {result.name}: {result.counterexample or 'holds'}")
    print(f"searched in {searched_s:.1f} s")
    for name, holds in PROPERTIES.items():
        verdict = induct(holds, lemmas=() if holds in LEMMAS else LEMMAS)
        print(f"k = {verdict.k}  {name}{': ' + verdict.counterexample if not verdict.k else ''}")
    print(f"all in {time.perf_counter() - began_s:.1f} s")


if __name__ == "__main__":
    main()
