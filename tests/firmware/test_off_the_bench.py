"""Off the bench the firmware reads its own pins, drives its own outputs, and keeps its memory."""

from __future__ import annotations

import math
import random

from coilward.controller.decide import decide
from coilward.controller.phases import BOOT
from coilward.controller.state import UNKNOWN, State, after_reboot, first_state
from coilward.controller.types import Commands, Requests
from coilward.hil.emulated.machine import Machine
from coilward.hil.frames import encode
from coilward.hil.logic_side import greeting
from coilward.hil.tick import digest
from tests.firmware.boards import image
from tests.firmware.structures import as_tuple, structure
from tests.firmware.talk import wild
from tests.hil.benches import settled
from tests.hil.pairs import BEING, CONSTANTS, CONVERT


def pinned(machine, readings, requests=()):
    """Sets what the board's pins see."""
    machine.pins |= dict.fromkeys(machine.pins, math.nan)
    machine.pins |= CONVERT.raw(readings) | {"outage": 0.0}
    machine.pins |= {name: float(name in requests) for name in Requests._fields}


def told(machine):
    """What the board's outputs are told."""
    values = [machine.pins[f"output_{name}"] for name in Commands._fields]
    return Commands(*values)


def test_off_the_bench_it_drives_its_own_pins_as_the_reference_decides():
    """Water that stops, and then readings of every kind, each pin on its own: to the last bit."""
    machine, chance = Machine(image(), bench=False), random.Random("pins")
    steady = settled().burning.readings
    state = first_state(CONSTANTS)
    state = state._replace(mode=state.mode._replace(phase=-1))
    pinned(machine, steady)
    machine.run()
    for number in range(1, 400):
        readings = steady
        if number >= 120:
            readings = readings._replace(flow_lpm=0.0, pulse_age_s=3.0, flow_switch=0.0)
        if number >= 150:
            readings = wild(chance, steady)
        asked = {name for name in Requests._fields if chance.random() < 0.02}
        pinned(machine, readings, asked)
        machine.now_ms += 250
        machine.run()
        here = readings._replace(time_s=0.25 * number, outage_s=0.0)
        requests = Requests(**dict.fromkeys(asked, True))
        seen = CONVERT.readings(CONVERT.raw(here))
        state, commands = decide(seen, requests, state, CONSTANTS)
        assert told(machine) == commands, number
        assert digest(state_of(machine), commands) == digest(state, commands), number
    assert state.mode.phase != BOOT
    assert machine.kicks > 390


def test_off_the_bench_no_plant_is_listened_to():
    machine = Machine(image(), bench=False)
    pinned(machine, settled().burning.readings)
    machine.come += encode(0, "hello", 0, 0, greeting("plant", 5, BEING))
    machine.run()
    assert b"reason=no-bench" in machine.gone
    machine.gone.clear()
    machine.come += encode(5, "moment", 1, 1, {})
    machine.run()
    assert not machine.gone


def running_board(kept, readings, ticks):
    """A board that has been switched on with this memory, some ticks later."""
    machine = Machine(image(), bench=False)
    machine.kept = kept
    pinned(machine, readings)
    machine.run()
    for _ in range(ticks):
        machine.now_ms += 250
        machine.run()
    return machine


def test_a_memory_outlives_a_loss_of_power_and_a_damaged_one_means_a_fire():
    """Cold, and known to be: no permission is lost, no horn. With one byte wrong: fire unknown."""
    quiet = settled().burning.readings._replace(
        coil_outlet_a_c=15.0, coil_outlet_b_c=15.0, tank_c=15.0, coil_metal_c=15.0, flue_c=15.0,
        radiator_inlet_c=15.0, radiator_outlet_c=15.0, flow_lpm=0.0, pulse_age_s=1e6,
        flow_switch=0.0, pump_contact=0.0, pump_a=0.0,
    )  # fmt: skip
    first = running_board(b"", quiet, 40)
    assert first.kept
    second = running_board(first.kept, quiet, 1)
    damaged = bytearray(first.kept)
    damaged[100] ^= 1
    third = running_board(bytes(damaged), quiet, 1)
    seen = CONVERT.readings(CONVERT.raw(quiet._replace(time_s=0.25, outage_s=0.0)))
    before = after_reboot(state_of(first))
    expected = decide(seen, Requests(), before, CONSTANTS)
    assert digest(state_of(second), expected.commands) == digest(*expected)
    assert told(second) == expected.commands
    assert state_of(second).ages.reboot_2_s == state_of(first).ages.reboot_1_s + 0.25
    assert state_of(third).mode.fire == UNKNOWN
    assert state_of(third).ages.reboot_2_s > 1e8


def state_of(machine):
    """The state that a board has kept, as Python has it."""
    return as_tuple(State, structure(State).from_buffer_copy(machine.kept))
