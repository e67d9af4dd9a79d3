"""Ticks for the journal's tests: made by the logic from readings that wander."""

from __future__ import annotations

import math
import random

from coilward.controller.decide import decide
from coilward.controller.state import YES, first_state
from coilward.controller.types import Requests
from coilward.hil.journal.schema import Session
from coilward.hil.tick import Tick
from tests.controller.rig import constants_of, healthy

WALL_S = 1_795_000_000.0


def session(**changes):
    constants = constants_of()
    values = {
        "kind": "run", "tick_s": constants.tick_s, "loop_name": "greenhouse", "loop_text": "",
        "loop_id": "0" * 12, "day": "2026-11-25", "constants": constants.checksum, "code": "",
        "wall_s": WALL_S, "before": first_state(constants, 4, YES),
    }  # fmt: skip
    return Session(**{**values, **changes})


def ticks(count, *, seed=1, raw=0, no_flow_at=None, state=None):
    """So many ticks from 0 on; ``no_flow_at`` is the tick from which no pulse comes."""
    constants, chance = constants_of(), random.Random(seed)
    state = state or first_state(constants, 4, YES)
    base, age_s = healthy(constants), 0.01
    for number in range(count):
        dead = no_flow_at is not None and number >= no_flow_at
        age_s = age_s + constants.tick_s if dead else 0.01
        readings = base._replace(
            time_s=number * constants.tick_s,
            coil_outlet_a_c=60.0 + chance.gauss(0, 0.05),
            coil_outlet_b_c=60.0 + chance.gauss(0, 0.05),
            tank_c=23.0 + chance.gauss(0, 0.05), pulse_age_s=age_s, outage_s=math.nan,
            flow_lpm=0.0 if dead else base.flow_lpm, flow_switch=0.0 if dead else 1.0,
        )
        state, commands = decide(readings, Requests(), state, constants)
        values = tuple(chance.random() for _ in range(raw))
        yield Tick(number, WALL_S + readings.time_s, 0.001, values, readings, Requests(), commands,
                   state)
