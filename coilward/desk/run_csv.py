"""What the board of a rehearsed night saw, as a log that `coilward learn` takes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from coilward.simulator import slots as at
from coilward.simulator.parameters import parameters
from coilward.simulator.wood import charge_dry_kg

if TYPE_CHECKING:
    from coilward.simulator.run import Run

COLUMNS: Final = (
    ("coil outlet degC", "coil_outlet_seen_c", 3), ("radiator inlet degC", "radiator_inlet_c", 3),
    ("radiator outlet degC", "radiator_outlet_c", 3), ("tank degC", "tank_seen_c", 3),
    ("room degC", "room_c", 3), ("outdoor degC", "outdoor_c", 1),
    ("flow L/min", "flow_seen_lpm", 3), ("fans share", "fans_cmd", 2),
    ("damper share", "damper_cmd", 0), ("dump share", "dump_cmd", 0),
)  # fmt: skip
"""Heading, trace, digits. The room is the true one: the trace has no other."""


def run_csv(run: Run) -> str:
    """One row a second; the wood of the night's loads in the row in which it was put in."""
    loads = _loads(run)
    lines = [",".join(["time s", *(head for head, _, _ in COLUMNS), "wood kg", "moisture share"])]
    times = run.trace["time_s"]
    for row in range(len(times)):
        cells = [f"{times[row]:.0f}"]
        for _, name, digits in COLUMNS:
            value = float(run.trace[name][row])
            cells.append("" if math.isnan(value) else f"{value:.{digits}f}")
        kg, moisture = loads.get(round(float(times[row])), (0.0, math.nan))
        cells += [f"{kg:.3f}", "" if math.isnan(moisture) else f"{moisture:.3f}"]
        lines.append(",".join(cells))
    return "\n".join(lines) + "\n"


def _loads(run: Run) -> dict[int, tuple[float, float]]:
    """Wet wood, kg, and its moisture, by the second."""
    found = {}
    p = parameters(run.loop, run.derived, run.loop.site.outdoor_c)
    interval_s = 60.0 * run.loop.fire.charge_interval_min
    for moment in run.night.moment:
        if moment.mass is None or p[at.RELEASE_W] <= 0.0:
            continue
        kg = moment.mass.amount
        if moment.mass.unit == "charge":
            kg *= charge_dry_kg(p, interval_s, moment.moisture) / (1.0 - moment.moisture)
        found[round(moment.at_s)] = (kg, moment.moisture)
    return found
