"""Readings, digests and the outputs of a board that is alone: the C makes Python's bits."""

from __future__ import annotations

import ctypes
import itertools
import math
import random
import struct
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

import pytest

from coilward.controller.firmware import CORE
from coilward.controller.state import State
from coilward.controller.types import Commands, Readings, Requests
from coilward.hil.converting import THERMOMETERS, Converter
from coilward.hil.dead_man import safe
from coilward.hil.firmware.wiring import loop_files
from coilward.hil.messages import TICK_PARTS
from coilward.hil.tick import digest
from coilward.measuring.thermometer import TYPICAL, ntc_c
from tests.firmware.hosted import SOURCES, WIRE, ZIG, compiled
from tests.firmware.structures import as_tuple, structure
from tests.hil.pairs import CONSTANTS, LOOP, TODAY

PLACES = tuple(field.name for part in TICK_PARTS for field in part.fields)
READINGS = type("CReadings", (ctypes.Structure,), {
    "_fields_": [(name, ctypes.c_double) for name in Readings._fields],
})  # fmt: skip
REQUESTS = type("CRequests", (ctypes.Structure,), {
    "_fields_": [(name, ctypes.c_bool) for name in Requests._fields],
})  # fmt: skip
COMMANDS, STATE = structure(Commands), structure(State)


def fitted(**changes):
    """The loop with other thermometers."""
    fits = {
        name: getattr(LOOP.sensors, name).model_copy(update=change)
        for name, change in changes.items()
    }
    return LOOP.model_copy(update={"sensors": LOOP.sensors.model_copy(update=fits)})


class Ntc:
    a, b, c = TYPICAL


class Beta:
    a, b, c = 1 / 298.15 - math.log(10_000.0) / 3950.0, 1 / 3950.0, 0.0


class Correction:
    gain, zero_k = 1.01, -0.37


OTHER = fitted(
    coil_outlet_a={"ntc": Ntc}, tank={"ntc": Beta}, coil_outlet_b={"correction": Correction}
)


LOOPS = {"as it is": LOOP, "thermistors and corrections": OTHER}


@cache
def library(name):
    """The conversions of a loop as a library of this machine."""
    loop = LOOPS[name]
    folder = Path(mkdtemp())
    for name, text in loop_files(loop, CONSTANTS, TODAY, "host").items():
        (folder / name).write_text(text, "utf-8")
    own = [SOURCES / f"{name}.c" for name in (*WIRE, "converting", "dead_man", "memory")]
    files = [*own, folder / "loop.c", folder / "loop_constants.c"]
    compiled(
        ZIG, "-shared", "-fPIC", f"-I{SOURCES}", f"-I{CORE}", f"-I{folder}", *map(str, files),
        "-o", str(folder / "loop.so"),
    )  # fmt: skip
    found = ctypes.CDLL(str(folder / "loop.so"))
    found.convert.restype, found.requests_in.restype = READINGS, REQUESTS
    found.safe_commands.restype, found.memory_digest.restype = COMMANDS, ctypes.c_uint32
    return found


def converted(name, raw):
    """What the C makes of what was sent."""
    lib = library(name)
    numbers = (ctypes.c_double * len(PLACES))(*(raw.get(name, math.nan) for name in PLACES))
    made = lib.convert(numbers, ctypes.byref(ctypes.c_char.in_dll(lib, "LOOP_WIRING")))
    asked = lib.requests_in(numbers)
    return (
        Readings(*(getattr(made, name) for name in Readings._fields)),
        Requests(*(getattr(asked, name) for name in Requests._fields)),
    )


def bits(readings):
    return struct.pack("<25d", *(each if each == each else math.nan for each in readings))


def sent(chance):
    """Numbers as they may come: sound ones, ends of the range, none."""
    raw = {}
    for name in PLACES:
        if chance.random() < 0.15:
            continue
        raw[name] = chance.choice((
            chance.uniform(-40.0, 120.0), 10.0 ** chance.uniform(-1.0, 8.0), 0.0, -0.0, 1.0, 1e7,
            math.nextafter(1.0, 0.0), math.nextafter(1e7, 1e8), math.inf, -math.inf, 5e-324, 1e308,
        ))  # fmt: skip
        if name in Requests._fields:
            raw[name] = chance.randrange(2)
    return raw


@pytest.mark.parametrize("name", LOOPS)
def test_readings_have_the_same_bits(name):
    loop = LOOPS[name]
    convert = Converter(
        loop.meter.pulses_per_litre,
        {reading: getattr(loop.sensors, name) for name, reading in THERMOMETERS.items()},
    )
    chance = random.Random("converting")
    for _ in range(5000):
        raw = sent(chance)
        readings, requests = converted(name, raw)
        assert bits(readings) == bits(convert.readings(raw)), raw
        assert requests == Requests(*(raw.get(name, 0) == 1 for name in Requests._fields))


def test_a_thermistor_of_ten_kohm_is_at_25_degrees():
    """By its data sheet's own name; shorted and broken ones are not known."""
    def tank_c(ohm):
        return converted("thermistors and corrections", {"tank_ohm": ohm})[0].tank_c

    chance = random.Random("thermistor")
    for ohm in (math.exp(chance.uniform(0.0, 16.0)) for _ in range(10_000)):
        assert tank_c(ohm) == ntc_c((Beta.a, Beta.b, Beta.c), ohm)
    assert tank_c(10_000.0) == pytest.approx(25.0)
    assert all(math.isnan(tank_c(ohm)) for ohm in (0.0, 0.5, 1.1e7, math.inf))


def test_the_outputs_of_a_board_that_is_alone_are_the_references():
    truths, strokes = (False, True), (0.0, 0.3, 1.0)
    lib, seen = library("as it is"), set()
    for last in itertools.product(truths, strokes, strokes, truths, truths, range(4), truths):
        found = lib.safe_commands(ctypes.byref(COMMANDS(*last)))
        told = Commands(*(getattr(found, name) for name in Commands._fields))
        assert told == safe(Commands(*last))
        seen.add(told)
    assert len(seen) > 4


def test_a_digest_is_the_references_whatever_the_bits():
    """Truths are false or true; of all else any bits, NaNs of every sign and payload among them."""
    lib, chance = library("as it is"), random.Random("digest")
    nans = struct.unpack("<4d", bytes.fromhex(
        "000000000000f87f" "000000000000f8ff" "010000000000f0ff" "efbeadde0000fc7f"
    ))  # fmt: skip
    for _ in range(300):
        commands = COMMANDS(True, chance.random(), chance.random(), False, True, 2, False)
        state = STATE.from_buffer_copy(chance.randbytes(ctypes.sizeof(STATE)))
        state.mode.dry = state.mode.permitted = state.mode.meter_dead = chance.random() < 0.5
        state.control.closing = state.control.pump = chance.random() < 0.5
        state.control.damper_open = state.control.dump_open = chance.random() < 0.5
        state.watch.outlet_a_c, state.ages.cold_s = chance.choice(nans), chance.choice(nans)
        wanted = digest(as_tuple(State, state), as_tuple(Commands, commands))
        assert lib.memory_digest(ctypes.byref(state), ctypes.byref(commands)) == wanted
