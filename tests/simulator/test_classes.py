"""What a fault takes, on loops with and without the hardware that holds it."""

from __future__ import annotations

from datetime import date

import pytest

from coilward.loop.derived import passive_now
from coilward.loop.document import read_loop
from coilward.loop.model import Device
from coilward.simulator.faults import FAULTS
from coilward.simulator.faults.classes import class_of
from tests.loop.examples import changed

TODAY = date(2026, 11, 25)
ALONE = "logic alone"
PREVENTS = "logic plus hardware that prevents boiling"
STEAM = "logic plus hardware that only lets the steam out"
ONLY = "hardware only"
NOTHING = "nothing helps"

BOAT = read_loop("boathouse")
QUENCH = changed(BOAT, passive__quench_coil=Device(proven=TODAY, carries="8 kW"))
SMALL_QUENCH = changed(BOAT, passive__quench_coil=Device(proven=TODAY, carries="5 kW"))
GRAVITY = changed(BOAT, passive__gravity_dump=Device(proven=TODAY, carries="9 kW"))
EXPIRED = changed(BOAT, passive__quench_coil=Device(proven=date(2024, 1, 1), carries="9 kW"))
NO_VENT = changed(BOAT, passive__open_vent=None)
SMALL_VENT = changed(BOAT, passive__open_vent=Device(proven=TODAY, carries="5 kW"))
NO_STOP = changed(BOAT, passive__valve_stop=None)
BYPASS = changed(NO_STOP, valve__bypass_lpm=2.0)
NO_SECOND = changed(
    BOAT, sensors__flow_switch=False, sensors__radiator_outlet=None, sensors__coil_outlet_b=None
)
NO_DUMP = changed(BOAT, dump=None)
NO_RELEASE = changed(BOAT, passive__no_volt_release=None)
SMALL_BATTERY = changed(BOAT, power__battery_ah=4.0)
TUB = read_loop("hot-tub")


@pytest.mark.parametrize(("fault", "loop", "expected"), [
    ("pump-dies", BOAT, STEAM), ("pump-dies", QUENCH, PREVENTS), ("pump-dies", GRAVITY, PREVENTS),
    ("pump-dies", SMALL_QUENCH, STEAM), ("pump-dies", EXPIRED, STEAM),
    ("pump-dies", NO_VENT, NOTHING), ("pump-dies", SMALL_VENT, NOTHING),
    ("bus-lost", BOAT, ONLY), ("bus-lost", NO_RELEASE, STEAM), ("bus-lost", SMALL_BATTERY, STEAM),
    ("supply-lost", BOAT, STEAM), ("supply-lost", QUENCH, ONLY),
    ("valve-shuts", BOAT, ONLY), ("valve-shuts", NO_STOP, STEAM), ("valve-shuts", BYPASS, ONLY),
    ("valve-jams", BOAT, PREVENTS), ("valve-jams", NO_STOP, STEAM),
    ("meter-dead", BOAT, PREVENTS), ("meter-dead", NO_SECOND, STEAM),
    ("outlet-a-frozen", BOAT, ALONE), ("outlet-a-frozen", NO_SECOND, STEAM),
    ("outlet-a-open", NO_SECOND, ALONE), ("outlet-a-open", NO_VENT, ALONE),
    ("fans-fail", BOAT, ALONE), ("fans-fail", NO_DUMP, STEAM),
    ("damper-stuck-shut", QUENCH, NOTHING), ("coil-shut-at-both-ends", QUENCH, NOTHING),
    ("relief-seized", BOAT, STEAM), ("relief-seized", NO_VENT, NOTHING),
    ("pump-dies", TUB, STEAM), ("valve-shuts", TUB, ONLY),
])
def test_class_follows_from_what_counts(fault, loop, expected):
    assert class_of(FAULTS[fault], loop, passive_now(loop, TODAY)) == expected


@pytest.mark.parametrize("fault", FAULTS.values(), ids=lambda fault: fault.name)
def test_losing_hardware_never_betters_a_class(fault):
    ranks = [ALONE, PREVENTS, ONLY, STEAM, NOTHING]
    counted = passive_now(QUENCH, TODAY)
    rank = ranks.index(class_of(fault, QUENCH, counted))
    for device in counted:
        assert ranks.index(class_of(fault, QUENCH, counted - {device})) >= rank, device
