"""The sums as JSON: every number in SI, whatever units are shown to people."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from coilward.desk.report_json import plain_json
from coilward.loop.document import loop_id
from coilward.sizing.maps import limit_w, tank_limit_c

if TYPE_CHECKING:
    from coilward.desk.size import Sums, Told
    from coilward.sizing.maps import Point
    from coilward.sizing.row import Row

STEPS = 25


def size_json(told: Told) -> str:
    """One loop, and the other before it. What is not finite becomes null."""
    data: dict[str, Any] = _sums(told.after)
    if told.before:
        data["against"] = _sums(told.before)
        data["compared"] = [
            {
                "key": each.row.key,
                "word": each.word,
                "before": each.before.value if each.before else None,
                "after": each.after.value if each.after else None,
            }
            for each in told.compared
        ]
    return plain_json(data)


def _sums(sums: Sums) -> dict[str, Any]:
    sized = sums.sized
    return {
        "loop_id": loop_id(sized.loop),
        "name": sized.loop.name,
        "stops": sums.found.stops,
        "conclusion": sums.found.conclusion,
        "findings": [finding._asdict() for finding in sums.found.every],
        "margins": sized.margins._asdict(),
        "rows": [_row(row) for row in sized.rows],
        "states": [state._asdict() for state in sized.states],
        "wires": [wire._asdict() for wire in sized.wires],
        "effects": [
            {"key": each.of.key, "by": each.of.by, "unit": each.of.unit or "share",
             "low": each.low._asdict(), "high": each.high._asdict()}
            for each in sized.effects
        ],
        "remedies": [
            each._asdict() | {"after": each.after._asdict()} for each in sized.remedies
        ],
        "maps": _maps(sums),
        "remarks": sized.remarks,
    }  # fmt: skip


def _row(row: Row) -> dict[str, Any]:
    return row._asdict() | {"never": math.isinf(row.value)}


def _maps(sums: Sums) -> dict[str, Any]:
    sized = sums.sized
    loop, derived = sized.loop, sized.derived
    edges = {"allowed": derived.allow_c, "boils": derived.coil_boil_c}
    flows = [sized.maps.most_lpm * number / STEPS for number in range(1, STEPS + 1)]
    heats = [sized.maps.most_w * number / STEPS for number in range(STEPS + 1)]
    return {
        "heat_flow": {
            "flow_lpm": flows,
            **{
                f"{name}_w": [limit_w(loop, derived, flow, edge) for flow in flows]
                for name, edge in edges.items()
            },
            "points": _points(sized.maps.flow_points),
        },
        "heat_tank": {
            "heat_w": heats,
            **{
                f"{name}_tank_c": [tank_limit_c(derived, heat, edge) for heat in heats]
                for name, edge in edges.items()
            },
            "points": _points(sized.maps.tank_points),
        },
    }


def _points(points: tuple[Point, ...]) -> list[dict[str, Any]]:
    return [point._asdict() for point in points]
