"""What a person puts into the fire, and how large a fire that can make."""

from __future__ import annotations

from typing import Any

from coilward.loop.model import Loop
from coilward.loop.sums.wood import DRY_WOOD_J_KG, EVAPORATION_J_KG
from coilward.simulator import slots as at
from coilward.simulator.fire import (
    CHAR_J_KG,
    FLAME_J_KG,
    demand_w,
    fire,
)
from coilward.simulator.night import Moment

KINDLING = 0.1
"""Share of the laid wood that burns at once."""
EMBERS, EMBERS_C = 0.01, 200.0
"""Wood catches fire on a bed of this share of the nominal release, or in a box this hot."""


FULL_CHARGES, FULL_LIVELY, FULL_MOISTURE = 2.0, 3.0, 0.15
"""The load with which the largest heat of the loop file is reached."""
LOOK_S, LOOKS = 4.0, 300
MOST_CEILING = 50.0


def charge_dry_kg(p: Any, interval_s: float, moisture: float) -> float:
    """Dry wood of one charge: the nominal heat for the loop's charge interval, kg."""
    net_j_kg = DRY_WOOD_J_KG - EVAPORATION_J_KG * moisture / (1.0 - moisture)
    return float(p[at.RELEASE_W]) * interval_s / net_j_kg


def glowing_bed(y: Any, p: Any) -> None:
    """Wood that burns at just the nominal heat."""
    share = p[at.RELEASE_W] / p[at.CEILING_W]
    asked_w = p[at.RELEASE_W] / (1.0 - share)
    flame_share = FLAME_J_KG / DRY_WOOD_J_KG
    y[at.LIT], y[at.LIVELY] = 1.0, 1.0
    y[at.FLAMING_KG] = flame_share * asked_w / (FLAME_J_KG * p[at.FLAMING_1_S])
    y[at.CHAR_KG] = (1.0 - flame_share) * asked_w / (CHAR_J_KG * p[at.CHAR_1_S])


def _peak_w(p: Any, interval_s: float, gas_c: float, wall_c: float) -> float:
    """Most heat into the coil after a full lively load on a bed at the nominal heat, W."""
    y = [0.0] * at.Y_COUNT
    glowing_bed(y, p)
    dry_kg = FULL_CHARGES * charge_dry_kg(p, interval_s, FULL_MOISTURE)
    y[at.LIVELY] = (y[at.FLAMING_KG] + dry_kg * FULL_LIVELY) / (y[at.FLAMING_KG] + dry_kg)
    y[at.FRESH_KG], y[at.GAS], y[at.HOLD_W] = dry_kg, gas_c, -1.0
    y[at.MOISTURE_KG] = dry_kg * FULL_MOISTURE / (1.0 - FULL_MOISTURE)
    peak_w = 0.0
    for _ in range(LOOKS):
        cell_w, cell_w_k = fire(y, p, LOOK_S, wall_c, 1.0, 1.0, 1.0)
        peak_w = max(peak_w, at.COIL_CELLS * (cell_w - cell_w_k * wall_c))
    return peak_w


def ceiling_w(p: Any, largest_w: float, interval_s: float, wall_c: float) -> float:
    """Limit of the release with which a full lively load just reaches the largest heat, W."""
    gas_c = wall_c + p[at.NOMINAL_W] / p[at.GAS_W_K]
    low, high = 1.02, MOST_CEILING
    while high > 1.005 * low:
        middle = (low * high) ** 0.5
        p[at.CEILING_W] = middle * p[at.RELEASE_W]
        if _peak_w(p, interval_s, gas_c, wall_c) < largest_w:
            low = middle
        else:
            high = middle
    return float(high * p[at.RELEASE_W])


def _dry_kg(p: Any, loop: Loop, moment: Moment) -> float:
    if moment.mass is None:
        return 0.0
    if moment.mass.unit == "charge":
        interval_s = 60.0 * loop.fire.charge_interval_min
        return moment.mass.amount * charge_dry_kg(p, interval_s, moment.moisture)
    return moment.mass.amount * (1.0 - moment.moisture)


def _lay(y: Any, p: Any, loop: Loop, moment: Moment, burning: float) -> None:
    dry_kg = _dry_kg(p, loop, moment)
    there_kg = float(y[at.FRESH_KG] + y[at.FLAMING_KG])
    y[at.LIVELY] = (there_kg * y[at.LIVELY] + dry_kg * moment.lively) / (there_kg + dry_kg)
    y[at.MOISTURE_KG] += (1.0 - burning) * dry_kg * moment.moisture / (1.0 - moment.moisture)
    y[at.FRESH_KG] += (1.0 - burning) * dry_kg
    y[at.FLAMING_KG] += burning * dry_kg
    y[at.HOLD_W] = -1.0


def light(y: Any, p: Any, loop: Loop, moment: Moment) -> None:
    """Set fire to a laid charge, its kindling first."""
    _lay(y, p, loop, moment, KINDLING)
    y[at.LIT] = 1.0


def reload(y: Any, p: Any, loop: Loop, moment: Moment) -> None:
    """Put wood on the fire; on a dead one it only lies there. A held fire is let go."""
    asked_w = demand_w(p, float(y[at.LIVELY]), float(y[at.FLAMING_KG]), float(y[at.CHAR_KG]))
    embers = y[at.LIT] > 0.0 and asked_w > EMBERS * p[at.RELEASE_W]
    y[at.LIT] = 1.0 if embers or y[at.GAS] > EMBERS_C else 0.0
    _lay(y, p, loop, moment, 0.0)
