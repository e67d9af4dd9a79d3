"""Short nights in the interpreter, without settling, in which one fault is injected."""

from __future__ import annotations

from datetime import date
from functools import cache

from coilward.loop.document import read_loop
from coilward.simulator import slots as at
from coilward.simulator.bench import Bench
from coilward.simulator.faults import FAULTS
from coilward.simulator.night import Moment, Night
from coilward.simulator.rehearsal import Rehearsal
from tests.loop.examples import changed

TODAY = date(2026, 11, 25)
ONSET_S = 10.0
RETURNS_S = 1000.0
"""From a false reading of great heat to the end of the dump that it causes, and a margin."""


@cache
def bench(name="boathouse"):
    """A loop with every instrument fitted."""
    loop = changed(
        read_loop(name), sensors__co=True, sensors__vent_drip=True, sensors__smoke=True
    )
    return Bench(loop, TODAY, "interpreted")


def played(*moments, start="running", lasts_s=60.0, on=None):
    """One night of a few moments."""
    on = on or bench()
    night = Night(
        coilward=1, name="trial", duration_s=lasts_s, start=start,
        moment=sorted(moments, key=lambda moment: moment.at_s),
    )
    rehearsal = Rehearsal(on, night, on.start(night)._replace(settles_s=0.0), 1)
    rehearsal.play(None)
    return rehearsal


PLAYED = ("run", "standby", "shutdown", "overheat dump", "dry lock-out")
LOCKED_S = 90.0
"""Until then any refill window of the loop is over."""


def tried(name, phase, *, lasts_s=60.0, size=None, on=None):
    """A fault that begins in one phase: one of PLAYED."""
    fault = Moment(at_s=ONSET_S, do="fault", fault=name, size=size)
    if phase == "standby":
        return played(fault, start="cold", lasts_s=ONSET_S + lasts_s, on=on)
    before = []
    if phase == "shutdown":
        before = [Moment(at_s=2.0, do="finish")]
    elif phase == "overheat dump":
        before = [Moment(at_s=2.0, do="fault", fault="outlet-a-hot", for_s=20.0)]
        lasts_s += RETURNS_S
    elif phase == "dry lock-out":
        before = [Moment(at_s=2.0, do="fault", fault="line-frozen", for_s=40.0)]
        fault = fault.model_copy(update={"at_s": LOCKED_S})
        lasts_s += LOCKED_S
    return played(fault, *before, lasts_s=ONSET_S + lasts_s, on=on)


def staged(fault):
    """One of the fault's phases in which a short night can begin it."""
    return next(
        phase
        for phase in PLAYED
        if phase in fault.phases
    )


def outlet_a_hot():
    """A fault outside the catalogue: a reading that starts a dump."""
    slot = at.OFFSET_K_ + at.OUTLET_A
    row = FAULTS["outlet-a-low"]
    effect = type(row.effects[0])(slot, lambda scene: 25.0)
    return type(row)(
        number="", name="outlet-a-hot", group="sensors", words="", response="", base="logic",
        effects=(effect,),
    )
