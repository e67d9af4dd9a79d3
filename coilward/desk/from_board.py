"""Readings of a connected board: what it can count, time or read is not typed."""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from statistics import fmean, pstdev

from coilward.controller.constants import constants_for
from coilward.desk.asking import Ask, Fill
from coilward.hil.converting import THERMOMETERS, converter, ohm_name
from coilward.hil.driving import serial_opener
from coilward.hil.hand_held import HandHeld, Warm, value_of
from coilward.hil.link import LinkLost
from coilward.loop.derived import derive
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.model import Loop
from coilward.measuring import pump as pumps
from coilward.measuring import valve as valves
from coilward.measuring.valve import stroke_of

GREETS_S = 10.0
STEADY_S = 5.0
"""A reading that shall rest is averaged over this time."""
RESTLESS_K = 0.3
RESTLESS_SHARE = 0.03
"""A spread over this, in kelvin or as a share, is said: it has not come to rest."""
Fills = dict[str, Fill]
POSITION = next(column for column in valves.COLUMNS if column.name == "position")
STATE = next(column for column in pumps.COLUMNS if column.name == "state")


@contextmanager
def held(port: str, loop: Loop, today: date, beside: str) -> Iterator[HandHeld]:
    """A board held by hand for as long as the block lasts.

    Raises InputRefused where there is no port, no board, or anything warm at the coil.
    """
    constants = constants_for(loop, derive(loop, today))
    reading = THERMOMETERS.get(beside, "")
    board = HandHeld(serial_opener(port), converter(loop), constants, beside=reading)
    try:
        board.wait(GREETS_S)
        yield board
    except LinkLost as lost:
        wanted = "a board that speaks the lines of docs/bench.md, switched on and connected"
        raise InputRefused([Fault("--port", None, "", port, str(lost), wanted)]) from None
    except Warm as warm:
        raise InputRefused([
            Fault("--port", None, "", port, f"{warm}: this is done cold, without a fire",
                  "everything at the coil under 50 degC")
        ]) from None  # fmt: skip
    finally:
        board.close()


class Stretch:
    """Two presses of Enter, and the ticks at them."""

    def __init__(self, board: HandHeld) -> None:
        """Nothing has been timed yet."""
        self.board, self.lasted_s, self.pulses = board, math.nan, math.nan

    def run(self, ask: Ask, begins: str, ends: str) -> bool:
        """Whether the person went through with it: anything typed at the first ends it."""
        if ask(begins).strip():
            return False
        first = self.board.now()
        ask(ends)
        last = self.board.now()
        self.lasted_s = last.readings.time_s - first.readings.time_s
        self.pulses = value_of(last, "pulses") - value_of(first, "pulses")
        return True


def meter_fills(board: HandHeld) -> Fills:
    """Pulses and time between two presses of Enter; the water's temperature from the tank."""
    board.set(pump=True)
    stretch = Stretch(board)

    def pulses(_: dict[str, str], ask: Ask) -> str:
        begins = "The pump runs. Enter as the water turns into the vessel (end to stop): "
        if not stretch.run(ask, begins, "Enter as it turns away again: "):
            return ""
        return f"{stretch.pulses:.0f}"

    def water(_: dict[str, str], __: Ask) -> str:
        tank_c = board.over(1.0, "tank_c")
        return _degrees(fmean(tank_c)) if tank_c else ""

    return {
        "pulses": pulses,
        "water": water,
        "time": lambda _, __: f"{stretch.lasted_s:.2f} s",
        "flow": _nothing,
    }


def thermometer_fills(board: HandHeld, sensor: str, loop: Loop) -> Fills:
    """The reading at rest: ohm of a thermistor, degrees of any other."""
    fitted = getattr(loop.sensors, sensor)
    reading = THERMOMETERS[sensor]
    name = ohm_name(reading) if fitted.kind == "ntc" else reading

    def read(typed: dict[str, str], ask: Ask) -> str:
        ask(f"Enter when it has hung in the {typed['bath']} bath until it rests: ")
        mean = _rested(board.over(STEADY_S, name), name, absolute=fitted.kind != "ntc")
        return f"{mean:.1f} ohm" if fitted.kind == "ntc" else _degrees(mean)

    return {"reading": read}


def valve_fills(board: HandHeld, shut: float | None, opened: float | None) -> Fills:
    """The board moves the valve to what was typed, and times the water into the vessel."""
    board.set(pump=True)
    stretch = Stretch(board)

    def flow(typed: dict[str, str], ask: Ask) -> str:
        stroke = stroke_of(float(POSITION.parse(typed["position"])), shut, opened)
        if not 0.0 <= stroke <= 1.0:
            raise InputRefused([
                Fault("typed", None, "position", typed["position"], "this is off the stroke",
                      "a share from 0 to 100 %, or with --shut and --open a position between them")
            ])  # fmt: skip
        board.set(pump=True, valve=stroke)
        stretch.run(ask, "The valve moves. Enter as the water turns into the vessel: ",
                    "Enter as it turns away again: ")  # fmt: skip
        return ""

    return {"flow": flow, "time": lambda _, __: f"{stretch.lasted_s:.2f} s"}


def pump_fills(board: HandHeld) -> Fills:
    """The current at rest; with the pump running the flow as well."""

    def current(typed: dict[str, str], ask: Ask) -> str:
        state = str(STATE.parse(typed["state"]))
        board.set(pump=True, valve=0.0 if state == "shut off" else 1.0)
        ask(f"The pump is on. Enter when it is {state}: ")
        mean = _rested(board.over(STEADY_S, "pump_a"), "pump_a", absolute=False)
        if state == "held fast":
            board.set(pump=False)
        return f"{mean:.3f} A"

    def flow(typed: dict[str, str], _: Ask) -> str:
        if STATE.parse(typed["state"]) != "running":
            return ""
        flows_lpm = board.over(1.0, "flow_lpm")
        return f"{fmean(flows_lpm):.2f} L/min" if flows_lpm else ""

    return {"current": current, "flow": flow}


def _rested(values: list[float], name: str, *, absolute: bool) -> float:
    """The mean; says where the values have not come to rest. Raises LinkLost without any."""
    if not values:
        raise LinkLost(f"the board sends no {name}")
    mean, spread = fmean(values), pstdev(values)
    if spread > (RESTLESS_K if absolute else RESTLESS_SHARE * abs(mean)):
        sys.stderr.write(f"   it has not come to rest: {spread:.3g} about {mean:.4g}\n")
    return mean


def _degrees(value_c: float) -> str:
    return f"{value_c:.4g} degC"


def _nothing(typed: dict[str, str], ask: Ask) -> str:
    del typed, ask
    return ""


