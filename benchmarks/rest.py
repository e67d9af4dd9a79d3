"""How far the simulated rest of a replayed night is from the truth.

    python -m benchmarks.rest [--nights 20] [--seed 1] [--processes 2]

Nights of each example loop are lived through twice with the same plant, noise, fire and faults:
once with the loop's own limits, and once with others from the middle on. The first one's journal is
replayed with the others; the second one is the truth about its simulated rest. The true plant is
off from the loop file by a random place in every tolerance of a proof.
"""

from __future__ import annotations

import argparse
import tempfile
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import NamedTuple

import numpy as np

from coilward.hil.replay.changes import begun
from coilward.simulator.tolerances import TOLERANCES
from tests.hil.parting import constants_of, fault, journal_of, lived, night_of, rest_of

OTHER = {
    "greenhouse": {"set_point_c": 54.0}, "boathouse": {"set_point_c": 54.0},
    "hot-tub": {"tank_finish_c": 26.0},
}  # fmt: skip
PARTS_S = 900.0
MINUTES = (1, 5, 20)
KINDS = ("quiet", "pump-dies", "pump-stalls", "fans-fail", "meter-dead", "valve-jams", "reload",
         "largest", "strainer-clogs", "damper-stuck")  # fmt: skip


class Found(NamedTuple):
    """One night."""

    loop: str
    kind: str
    outlet_k: list[float]
    tank_k: list[float]
    poor: bool
    learned: bool
    same_rows: bool
    boiled_late_s: float
    """NaN where neither boils; infinite where one does alone."""


def moments_of(kind, at_min):
    if kind == "quiet":
        return []
    if kind == "reload":
        return [{"at": f"{at_min - 1:.2f} min", "do": "let-go"},
                {"at": f"{at_min:.2f} min", "do": "reload", "mass": "0.5 charge"}]  # fmt: skip
    if kind == "largest":
        return [{"at": f"{at_min:.2f} min", "do": "hold", "heat": "largest"}]
    return [fault(kind, round(at_min, 2))]


def one(loop, kind, seed):
    random = np.random.default_rng(seed)
    night = night_of(moments_of(kind, random.uniform(15.2, 30.0)), 38.0)
    off = random.uniform(-1.0, 1.0, len(TOLERANCES)).tolist()
    then, now = constants_of(loop), constants_of(loop, **OTHER[loop])
    logged = lived(loop, night, then, seed=seed, off=off)
    truth = lived(loop, night, then, now, PARTS_S, seed=seed, off=off)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "j"
        journal_of(path, loop, logged)
        try:
            found, rest = rest_of(path, now, PARTS_S)
        except AssertionError:
            return None  # Both act alike to the end.
    times_s = truth.reading("time_s")
    outlet_c = np.fmax(truth.reading("coil_outlet_a_c"), truth.reading("coil_outlet_b_c"))
    off_k = {
        name: rest.curves[name] - np.interp(rest.time_s, times_s, true_c)
        for name, true_c in (("coil_outlet_c", outlet_c), ("tank_c", truth.reading("tank_c")))
    }
    errors = {
        name: [float(np.mean(each[60 * m - 5 : 60 * m + 5])) for m in MINUTES]
        for name, each in off_k.items()
    }
    sides = [each for each in found.now if each.number <= found.parts.number] + rest.changes
    names = {row.name for row in begun(sides) if row.time_s >= PARTS_S}
    true_names = {row.name for row in truth.run.causes if row.time_s >= PARTS_S}
    boils, boiled = rest.outcome.boiled_s, truth.run.first_boil_s
    late_s = np.inf if (boils is None) != (boiled is None) else (
        np.nan if boils is None else boils - boiled
    )  # fmt: skip
    return Found(
        loop, kind, errors["coil_outlet_c"], errors["tank_c"], rest.fitted.poor,
        rest.fitted.learned, names == true_names, late_s,
    )  # fmt: skip


def told(found, name):
    rows = np.abs([getattr(each, name) for each in found])
    parts = [f"{m} min: {np.nanmedian(rows[:, k]):.2f} ({np.nanmax(rows[:, k]):.2f})"
             for k, m in enumerate(MINUTES)]  # fmt: skip
    return ", ".join(parts)


def main():
    """Prints a line a night, and the errors of all: median (worst)."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--nights", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=2)
    asked = parser.parse_args()
    cases = [(loop, KINDS[k % len(KINDS)], asked.seed + k)
             for k in range(asked.nights) for loop in OTHER]  # fmt: skip
    found = []
    with ProcessPoolExecutor(asked.processes) as pool:
        for case, each in zip(cases, pool.map(one, *zip(*cases, strict=True)), strict=True):
            if each is None:
                print(*case, "acts alike", flush=True)
                continue
            found.append(each)
            print(f"{each.loop:10} {each.kind:14} outlet", *(f"{k:6.2f}" for k in each.outlet_k),
                  "tank", *(f"{k:6.2f}" for k in each.tank_k), "poor" if each.poor else "",
                  "learned" if each.learned else "", "" if each.same_rows else "other rows",
                  "" if np.isnan(each.boiled_late_s) else f"boils {each.boiled_late_s:+.1f} s",
                  flush=True)  # fmt: skip
    sound = [each for each in found if not each.poor]
    late_s = np.abs([each.boiled_late_s for each in sound])
    print(f"{len(found)} nights with a rest, {len(found) - len(sound)} called poor and left out")
    print("outlet, K, median (worst):", told(sound, "outlet_k"))
    print("tank, K, median (worst):", told(sound, "tank_k"))
    print(f"the same rows on {sum(each.same_rows for each in sound)} of {len(sound)}")
    print(f"boils on one side alone: {np.isinf(late_s).sum()}")
    if np.isfinite(late_s).any():
        known = late_s[np.isfinite(late_s)]
        print(f"boils off by, s, median (worst): {np.median(known):.1f} ({known.max():.1f})")


if __name__ == "__main__":
    main()
