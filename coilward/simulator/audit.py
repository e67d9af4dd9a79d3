"""Where the heat went: every term integrated by itself, none taken as the remainder."""

from __future__ import annotations

from typing import NamedTuple

from coilward.simulator import slots as at

Floats = list[float]


class Energy(NamedTuple):
    """Joules over a run; ``stored`` is what metal and water hold more at the end."""

    fire: float
    room: float
    dump: float
    lines: float
    tank: float
    steam: float
    held: float
    """What passive hardware took from the coil."""
    leak: float
    """What left with water, reckoned from 0 degC."""
    stored: float

    @property
    def closure(self) -> float:
        """What does not add up, over all the heat that went in or came out."""
        out = self.room + self.dump + self.lines + self.tank + self.steam + self.held + self.leak
        moved = max(abs(self.fire), abs(self.stored), abs(out), 1.0)
        return float(abs(self.fire - out - self.stored) / moved)


def stored_j(y: Floats, p: Floats) -> float:
    """Heat in coil, lines, radiator and tank above water at 0 degC, J, from the state alone."""
    coil_j = p[at.WALL_J_K] * sum(y[at.WALL_ : at.WALL_ + at.COIL_CELLS])
    coil_j += p[at.WATER_J_K] * sum(y[at.WATER_ : at.WATER_ + at.COIL_CELLS])
    lines_j = p[at.STUB_J_K] * y[at.STUB]
    lines = ((at.COLD_, at.COLD_J_K), (at.HOT_, at.HOT_J_K), (at.BACK_, at.BACK_J_K))
    for first, capacity in lines:
        lines_j += p[capacity] * sum(y[first : first + at.LINE_CELLS])
    core_j = p[at.CORE_J_K] * sum(y[at.CORE_ : at.CORE_ + at.RADIATOR_CELLS])
    tank_j = p[at.LAYER_J_K] * y[at.LEVEL_NOW] * (y[at.TANK_TOP] + y[at.TANK_BOTTOM])
    return float(coil_j + lines_j + core_j + tank_j)


def audit(y: Floats, p: Floats, stored_at_start_j: float) -> Energy:
    """The balance since the start."""
    return Energy(
        y[at.FIRE_J], y[at.ROOM_J], y[at.DUMP_J], y[at.LINES_J], y[at.TANK_J], y[at.STEAM_J],
        y[at.HELD_J], y[at.LEAK_J], stored_j(y, p) - stored_at_start_j,
    )  # fmt: skip
