"""The rehearsal and the check as JSON. The names and types here are kept stable.

A number that is not finite becomes null. `x_real_time` is the only field that differs between
two runs of the same loop, night, seed and version.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from coilward.desk.story import alarms
from coilward.loop.document import loop_id

if TYPE_CHECKING:
    from coilward.desk.findings import Findings
    from coilward.desk.verdict import Verdict
    from coilward.loop.explain import Line
    from coilward.loop.model import Loop
    from coilward.simulator.run import Run


def rehearsal_json(run: Run, verdict: Verdict, answer: str) -> str:
    """One rehearsed night."""
    return _text(
        {
            "verdict": verdict.word,
            "answer": answer,
            "seed": run.seed,
            "loop_id": loop_id(run.loop),
            "logic": run.logic or "coilward",
            "logic_died": run.died._asdict() if run.died else None,
            "duration_s": run.duration_s,
            "phases": [{"time_s": time_s, "phase": phase} for time_s, phase in run.phases],
            "causes": [
                {
                    "time_s": cause.time_s,
                    "name": cause.name,
                    "first_out": cause.first_out,
                    "latched": cause.latched,
                }
                for cause in run.causes
            ],
            "alarms": [
                {"time_s": alarm.time_s, "rank": alarm.rank, "text": alarm.text}
                for alarm in alarms(run)
            ],
            "peaks": {
                "coil_outlet_true_c": run.peaks.coil_outlet_true_c,
                "coil_wall_c": run.peaks.coil_wall_c,
                "tank_c": run.peaks.tank_c,
            },
            "margins": {"boil_k": run.margins.boil_k, "boil_s": run.margins.boil_s},
            "first_boil_s": run.first_boil_s,
            "pump_off_with_fire_s": run.pump_off_with_fire_s,
            "final": {
                "coil_outlet_true_c": run.final.coil_outlet_true_c,
                "tank_c": run.final.tank_c,
                "room_c": run.final.room_c,
            },
            "energy_closure": run.energy_closure,
            "x_real_time": run.x_real_time,
        }
    )


def check_json(loop: Loop, found: Findings, lines: Sequence[Line]) -> str:
    """Findings and derived numbers of one loop."""
    return _text(
        {
            "loop_id": loop_id(loop),
            "findings": [
                {"key": finding.key, "severity": finding.severity, "text": finding.text}
                for finding in found.every
            ],
            "derived": [
                {
                    "name": line.name,
                    "value": line.value,
                    "unit": line.unit,
                    "formula": line.formula,
                    "reason": line.reason,
                }
                for line in lines
            ],
        }
    )


def _text(data: object) -> str:
    return json.dumps(_plain(data), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _plain(value: Any) -> Any:
    """Values that JSON knows: numpy's numbers unpacked, what is not finite as null."""
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(each) for each in value]
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
