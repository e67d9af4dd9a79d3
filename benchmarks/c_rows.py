"""Ticks in which one row is latched by itself: every row, in every phase and in one that
there isn't, with and without a fire.

Water moves or stands, and the phase is at a few of its times, with nothing or everything asked by
hand: what a row does to one output shows only where nothing else does the same.
"""

from __future__ import annotations

from itertools import product

import numpy as np

from coilward.controller.constants import Constants
from coilward.controller.interlocks import EVERY_ROW, RETURNING
from coilward.controller.phases import PHASES
from coilward.controller.state import NO, YES, State, first_state
from coilward.controller.types import Readings, Requests
from coilward.hil.tick import asked, flat
from tests.controller.rig import healthy
from tests.firmware.wild import Ticks

PHASE_S = (1.0, 50.0, 105.0, 122.0, 126.5)
"""Within the boot, and where the check before a fire has its valve, damper, dump and horn moved."""
STROKE = 0.6
WINDOW_S, STILL_S = 100.0, 150.0
"""Water that stands for longer than it may, but for less than twice as long."""
BY_HAND = Requests(*(name.startswith("hand_") or name == "key" for name in Requests._fields))


def readings_of(constants: Constants) -> tuple[Readings, Readings, Readings]:
    """A cool loop: its water moves; stands, with the contactor unknown; moves without the pump."""
    cool = healthy(constants)._replace(
        time_s=constants.tick_s, coil_outlet_a_c=25.0, coil_outlet_b_c=25.1, radiator_inlet_c=25.0,
        coil_metal_c=25.0, flue_c=30.0,
    )  # fmt: skip
    nan = float("nan")
    stands = cool._replace(
        flow_lpm=0.0, pulse_age_s=60.0, pump_contact=nan, pump_a=0.0, flow_switch=nan
    )
    return cool, stands, cool._replace(pump_contact=0.0, pump_a=0.0)


def state_of(constants: Constants, phase: int, fire: int, phase_s: float, row: int) -> State:
    """One row that waits for a person or for its clean time, the pump off, the valve half way."""
    first = first_state(constants, phase, fire)
    mask = 1 << row
    ages = first.ages._replace(phase_s=phase_s, still_s=STILL_S, window_s=WINDOW_S, proof_s=5.0)
    return first._replace(
        mode=first.mode._replace(latched=mask, dry=False), ages=ages,
        watch=first.watch._replace(held=mask & RETURNING),
        control=first.control._replace(valve=STROKE, pump=False, dump_open=False),
    )  # fmt: skip


def rows_by_themselves(constants: Constants) -> Ticks:
    """All of them."""
    came, masks, floats, wholes = [], [], [], []
    rows = range(EVERY_ROW.bit_length())
    nothing = Requests(*[False] * len(Requests._fields))
    for row, phase, fire, phase_s, readings, requests in product(
        rows, range(len(PHASES) + 1), (NO, YES), PHASE_S, readings_of(constants), (nothing, BY_HAND)
    ):
        some, others = flat(state_of(constants, phase, fire, phase_s, row))
        came.append(readings)
        masks.append(asked(requests))
        floats.append(some)
        wholes.append(others)
    return Ticks(np.array(came).T, np.array(masks, np.uint64), np.array(floats).T,
                 np.array(wholes, np.int64).T)  # fmt: skip
