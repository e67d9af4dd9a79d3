"""Tables of our own scenarios, as readings."""

from __future__ import annotations

from coilward.loop.editing import Change
from coilward.loop.errors import InputRefused
from coilward.measuring.readings import from_csv


def read(columns, text, file="t.csv"):
    return list(from_csv(text, columns, file))


def faults(work):
    try:
        work()
    except InputRefused as refused:
        return [str(fault) for fault in refused.faults]
    raise AssertionError("it was accepted")


def values(changes: tuple[Change, ...]):
    return {each.key: each.value for each in changes}


METER = """pulses, mass kg, water degC, time s
3420, 9.98, 12, 270
3402, 10.00, 12, 268
3431, 10.01, 12.5, 275
3512, 10.21, 13, 112
3520, 10.20, 13, 110
3508, 10.22, 13, 111
4190, 12.25, 13, 61
4210, 12.24, 13, 61
4203, 12.27, 13.5, 62
"""
NTC = """bath, reference degC, reading ohm
ice, , 32650
reference, 40, 5330
reference, 80, 1256
"""
DIGITAL = "bath, reading degC\nice, 0.44\nboiling, 95.56\n"
VALVE = """way, position, flow L/min
opening, 149, 0
opening, 144, 0.02
opening, 142, 0.05
opening, 140, 0.55
opening, 125, 1.35
opening, 110, 2.9
opening, 90, 6.4
opening, 60, 11.8
closing, 110, 3.3
closing, 144.5, 0.06
closing, 146, 0
stop, 105, 4.6
"""
PUMP = """state, current A, flow L/min
running, 4.02, 11.9
running, 3.97, 12.1
running, 4.05, 12.0
running, 4.0, 12.0
running, 3.98,
shut off, 3.31,
shut off, 3.28,
shut off, 3.35,
dry, 1.62,
dry, 1.70,
dry, 1.65,
dry, 1.6,
held fast, 9.1,
held fast, 9.3,
held fast, 9.0,
"""
