"""What the filled-in boards make of their pins, on this machine."""

from __future__ import annotations

import ctypes
import math

import pytest

from coilward.controller.firmware import making
from coilward.hil.flashing.boards import SOURCES
from tests.firmware.hosted import SOURCES as WIRE
from tests.firmware.hosted import ZIG, compiled

HALF_AN_HOUR_S = 1800.0


class Inputs(ctypes.Structure):
    _fields_ = [
        ("ohm", ctypes.c_double * 9),
        *((name, ctypes.c_double) for name in (
            "metal_c", "flue_c", "pump_a", "fan_a", "supply_v", "co_ppm", "pulse_period_s",
            "pulse_age_s",
        )),
        ("closed", ctypes.c_uint32), ("buttons", ctypes.c_uint32),
    ]  # fmt: skip


@pytest.fixture
def board(tmp_path):
    """A library of its own for each test: it remembers pulses."""
    out = tmp_path / "inputs.so"
    places = [f"-I{each}" for each in (making.CORE, WIRE, SOURCES)]
    compiled(ZIG, "-shared", "-fPIC", *places, str(SOURCES / "inputs.c"), "-o", str(out))
    lib = ctypes.CDLL(str(out))
    for name in (
        "thermistor_ohm", "amplified_c", "scaled", "share_of", "board_level_low", "board_button",
        "board_flow_switch", "board_smoke", "board_thermometer_c",
    ):  # fmt: skip
        getattr(lib, name).restype = ctypes.c_double
    lib.thermistor_ohm.argtypes = [ctypes.c_int32, ctypes.c_double]
    lib.scaled.argtypes = [ctypes.c_int32, ctypes.c_double]
    lib.share_of.argtypes = [ctypes.c_double]
    lib.amplified_c.argtypes = [ctypes.c_uint32]
    lib.pulse_seen.argtypes = lib.pulses_at.argtypes = [ctypes.c_uint32]
    lib.horn_sounds.argtypes = [ctypes.c_uint32, ctypes.c_uint32]
    lib.horn_sounds.restype = ctypes.c_bool
    lib.inputs = Inputs.in_dll(lib, "inputs")
    return lib


@pytest.mark.parametrize(
    ("bits", "degrees_c"),
    [
        ("01100100000000", 1600.0), ("00111110100000", 1000.0), ("00000110010011", 100.75),
        ("00000001100100", 25.0), ("11111111111111", -0.25), ("11111111111100", -1.0),
        ("11110000011000", -250.0),
    ],
)  # fmt: skip
def test_a_thermocouples_amplifier_as_its_data_sheet_has_it(board, bits, degrees_c):
    """Table of the MAX31855's data sheet, from memory; the lower bits are the chip's own warmth."""
    word = int(bits, 2) << 18 | 0x1900
    assert board.amplified_c(word) == degrees_c
    for fault in (1, 2, 4, 0x10000):
        assert math.isnan(board.amplified_c(word | fault))


def test_an_amplifier_that_is_not_there_reads_nothing(board):
    assert math.isnan(board.amplified_c(0))
    assert math.isnan(board.amplified_c(0xFFFFFFFF))


def test_a_thermistor_divides_and_shows_a_torn_or_shorted_wire(board):
    assert board.thermistor_ohm(2047, 10000.0) == pytest.approx(9995.1, abs=0.1)
    assert board.thermistor_ohm(1365, 10000.0) == pytest.approx(5000.0, rel=1e-12)
    for steps in (-1, 0, 19, 4076, 4095):
        assert math.isnan(board.thermistor_ohm(steps, 10000.0))
    assert math.isnan(board.scaled(-1, 0.1))
    assert board.scaled(10, 0.5) == 5.0


def edge(board, at_us):
    board.pulse_seen(at_us % 2**32)


def looked(board, at_us):
    board.pulses_at(at_us % 2**32)
    return board.inputs.pulse_age_s, board.inputs.pulse_period_s


def test_pulses_have_an_age_and_from_the_second_on_a_period(board):
    assert looked(board, 5) == (HALF_AN_HOUR_S, math.inf)
    edge(board, 1_000_000)
    assert looked(board, 1_250_000) == (0.25, math.inf)
    edge(board, 1_300_000)
    assert looked(board, 1_400_000) == (0.1, 0.3)


def test_a_clock_that_passes_over_its_end_changes_nothing(board):
    edge(board, 2**32 - 100_000)
    edge(board, 2**32 + 200_000)
    assert looked(board, 2**32 + 250_000) == (0.05, 0.3)


def test_after_a_long_stillness_the_first_pulse_has_no_period(board):
    """By the clock alone a pulse after 71.6 min and 20 ms would follow its forerunner by 20 ms."""
    edge(board, 0)
    edge(board, 20_000)
    for minute in range(1, 72):
        age_s, period_s = looked(board, minute * 60_000_000)
        still = minute * 60 > HALF_AN_HOUR_S
        assert age_s == (HALF_AN_HOUR_S if still else pytest.approx(minute * 60 - 0.02))
        assert period_s == (math.inf if still else 0.02)
    edge(board, 2**32 + 40_000)
    assert looked(board, 2**32 + 50_000) == (0.01, math.inf)
    edge(board, 2**32 + 90_000)
    assert looked(board, 2**32 + 90_000) == (0.0, 0.05)


def test_the_horns_pattern(board):
    def share(told):
        return sum(board.horn_sounds(told, at_ms) for at_ms in range(4000)) / 4000

    assert [share(told) for told in range(4)] == [0.0, 0.025, 0.5, 1.0]


def test_a_share_is_between_nothing_and_all_and_open_where_it_is_none(board):
    given = (-1.0, 0.0, 0.4, 1.0, 7.0, math.nan, math.inf)
    assert [board.share_of(value) for value in given] == [0.0, 0.0, 0.4, 1.0, 1.0, 1.0, 1.0]


def test_contacts_open_and_closed(board):
    board.inputs.closed, board.inputs.buttons = 0b0000001, 0b100000
    assert board.board_flow_switch() == 1.0
    assert board.board_level_low() == 1.0
    assert board.board_smoke() == 1.0
    assert [board.board_button(place) for place in (4, 5, 6)] == [0.0, 1.0, 0.0]
    board.inputs.closed = 0b1000010
    assert (board.board_level_low(), board.board_smoke()) == (0.0, 0.0)
    board.inputs.metal_c, board.inputs.flue_c = 120.0, 300.0
    degrees = [board.board_thermometer_c(place) for place in (5, 6, 0)]
    assert degrees[:2] == [120.0, 300.0]
    assert math.isnan(degrees[2])
