"""Thermometers by points."""

from __future__ import annotations

import math

import numpy as np
import pytest

from coilward.loop.water import boiling_c
from coilward.measuring.thermometer import (
    TYPICAL,
    Bath,
    beta_k,
    calibrate,
    columns,
    digital_fit,
    ntc_c,
    ntc_fit,
    ntc_ohm,
    shape_error_k,
)
from tests.measuring.tables import DIGITAL, NTC, faults, read

TRIPS = {"tank trip": 60.0}


def test_steinhart_hart_through_three_published_points():
    """A published table of a 10 kohm thermistor, -40, 0 and 25 degC; three others come out."""
    fit = ntc_fit([Bath(-40, 0, 336103.2), Bath(0, 0, 32650.9), Bath(25, 0, 10000.0)])
    for ohm, true_c in ((97006.9, -20), (55303.9, -10), (31030.8, 1)):
        assert fit.formula(ohm) == pytest.approx(true_c, abs=0.005)


# R/R25 at degC, a maker's table of a 10 kohm thermistor with B 3977
TABLE = {-40: 33.36, 0: 3.264, 50: 0.3601, 85: 0.1070, 100: 0.06781, 130: 0.02993}


def test_three_points_follow_a_published_table_and_one_b_does_not():
    three = ntc_fit([Bath(t, 0, 1e4 * TABLE[t]) for t in (0, 50, 100)])
    assert three.formula(1e4 * TABLE[85]) == pytest.approx(85, abs=0.05)
    assert three.formula(1e4 * TABLE[130]) == pytest.approx(130, abs=0.3)
    # a single B of 3977 errs +0.35 K at 100 and +1.43 K at 130 degC
    one = (1 / 298.15 - math.log(1e4) / 3977, 1 / 3977, 0.0)
    assert ntc_c(one, 1e4 * TABLE[100]) == pytest.approx(100.35, abs=0.02)
    assert ntc_c(one, 1e4 * TABLE[130]) == pytest.approx(131.43, abs=0.05)


def test_b_from_two_points():
    """Worked example 1: ice and boiling water at 500 m."""
    fit = ntc_fit([Bath(0, 0, 32650), Bath(98.3, 0, 720)])
    assert beta_k(fit) == pytest.approx(3937.0, abs=0.05)
    assert ntc_ohm(fit.constants, 25) == pytest.approx(9750, abs=0.5)
    assert fit.formula(2500) == pytest.approx(59.26, abs=0.005)


def test_gain_and_zero_of_a_digital_one():
    """Worked example 2: 0.44 in ice, 97.19 in boiling water of 98.3 degC."""
    fit = digital_fit([Bath(0, 0, 0.44), Bath(98.3, 0, 97.19)])
    assert fit.constants == pytest.approx((1.01602, -0.447), abs=5e-4)
    assert fit.formula(72.0) == pytest.approx(72.71, abs=0.005)


def test_codes_of_the_one_wire_thermometer_are_sixteenths():
    """Its data sheet: 0x0191 is 25.0625, 0xFF5E -10.125, 0xFC90 -55 degC: a gain of 1/16."""
    codes = {0x0191: 25.0625, 0xFF5E: -10.125, 0xFC90: -55.0, 0x07D0: 125.0}
    points = [Bath(true, 0, code - 65536 * (code > 0x7FFF)) for code, true in codes.items()]
    assert digital_fit(points).constants == pytest.approx((1 / 16, 0.0), abs=1e-12)


def test_a_platinum_resistor_as_a_thermometer_that_is_nearly_straight():
    """IEC 60751: 100, 138.51 and 175.86 ohm at 0, 100 and 200 degC; off a line by half a kelvin."""
    fit = digital_fit([Bath(0, 0, 100.0), Bath(100, 0, 138.51)])
    bent = 1 / 3.9083e-3 / 100  # kelvin per ohm at 0 degC, from the standard's A
    assert fit.constants[0] == pytest.approx(bent, rel=0.02)
    middle = 100 * (1 + 3.9083e-3 * 50 - 5.775e-7 * 50**2)
    assert fit.formula(middle) - 50 == pytest.approx(0.375, abs=0.02)


@pytest.mark.parametrize(
    ("points", "where"),
    [
        ((0, 98.3), {50: -0.81, 70: -0.66, 90: -0.24}),  # reads low: the unsafe side
        ((0, 50), {90: 1.44}),
    ],
)
def test_the_shape_between_two_points(points, where):
    """Figures of the trade notes, reckoned there against a usual three-constant curve."""
    for true_c, off_k in where.items():
        assert shape_error_k(points, true_c) == pytest.approx(off_k, abs=0.015)


def test_points_around_the_trips_do_best():
    off = [shape_error_k((40, 80), true_c) for true_c in range(25, 91)]
    assert max(map(abs, off)) <= 0.25 + 0.005
    assert max(abs(shape_error_k((0, 40, 80), true_c)) for true_c in range(91)) < 1e-6


def test_the_resistance_is_the_inverse_of_the_temperature():
    for true_c in (-40.0, 0.0, 25.0, 60.0, 130.0):
        assert ntc_c(TYPICAL, ntc_ohm(TYPICAL, true_c)) == pytest.approx(true_c, abs=1e-9)
    assert ntc_ohm(TYPICAL, 25) == pytest.approx(10000, rel=1e-3)


def test_boiling_water_is_as_hot_as_the_altitude_allows():
    found = calibrate(
        read(columns("digital"), DIGITAL), "digital", 1000.0, TRIPS, step=0.0625
    )
    assert found.baths[1].true_c == boiling_c(1000.0) == pytest.approx(96.65, abs=0.01)


@pytest.mark.parametrize(
    ("kind", "text", "words"),
    [
        ("ntc", "bath, reference degC, reading ohm\nice,,32650\nboiling,100,720\n",
         "at 1500 m open water can't be hotter than 94.98 degC; the altitude may have been"),
        ("ntc", "bath, reference degC, reading ohm\nice,,32650\nreference,100,720\n", "altitude"),
        ("ntc", "bath, reference degC, reading ohm\nice,,32650\nboiling,80,720\n", "water boils"),
        ("ntc", "bath, reference degC, reading ohm\nice,5,32650\nboiling,,720\n", "melting ice"),
        ("ntc", "bath, reading ohm\nreference,32650\nboiling,720\n", "temperature is missing"),
        ("ntc", "bath, reading ohm\nice,720\nboiling,32650\n", "falls as it gets warmer"),
        ("ntc", "bath, reading ohm\nice,32650\n", "two points at least 10 K apart"),
        ("digital", "bath, reading degC\nice,32\nboiling,202.9\n", "Fahrenheit may have been"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(kind, text, words):
    [fault] = faults(
        lambda: calibrate(read(columns(kind), text), kind, 1500.0, TRIPS, step=0.1)
    )
    assert words in fault


def test_a_forgotten_altitude_shifts_the_hot_end():
    """Worked example 3: boiling at 1500 m is 94.98, but 100 is typed; it then reads too high."""
    right = ntc_fit([Bath(0, 0, 32650), Bath(98.3, 0, 720)])
    wrong = ntc_fit([Bath(0, 0, 32650), Bath(100, 0, ntc_ohm(right.constants, 94.98))])
    assert wrong.formula(ntc_ohm(right.constants, 80.0)) - 80 > 3
    assert beta_k(wrong) < beta_k(right) - 100


@pytest.mark.parametrize("kind", ["ntc", "digital"])
def test_the_doubt_at_a_trip_agrees_with_monte_carlo(kind):
    """JCGM 101: every point drawn from its own doubt, the constants fitted each time."""
    text = NTC if kind == "ntc" else DIGITAL
    found = calibrate(read(columns(kind), text), kind, 1000.0, TRIPS, step=1e-6)
    fitted = ntc_fit if kind == "ntc" else digital_fit
    c = found.fit.constants
    reading = ntc_ohm(c, 60.0) if kind == "ntc" else (60.0 - c[1]) / c[0]
    dice = np.random.default_rng(2)
    drawn = [
        fitted([b._replace(true_c=b.true_c + b.u_k * dice.normal()) for b in found.baths])
        for _ in range(4000)
    ]
    seen = [fit.formula(reading) for fit in drawn]
    assert found.at[0].u_k == pytest.approx(float(np.std(seen)), rel=0.04)
    assert found.at[0].error_k == pytest.approx(2 * found.at[0].u_k + abs(found.at[0].shape_k))


def test_coarse_steps_and_left_overs_count():
    readings = read(columns("digital"), DIGITAL)
    fine = calibrate(readings, "digital", 1000.0, TRIPS, step=0.01).at[0].u_k
    coarse = calibrate(readings, "digital", 1000.0, TRIPS, step=2.0).at[0].u_k
    assert coarse > math.hypot(fine, 0.9 * 2 / math.sqrt(12))
    three = read(
        columns("digital"),
        "bath, reference degC, reading degC\nice,,0.44\nboiling,,95.56\nreference,50,51.5\n",
    )
    found = calibrate(three, "digital", 1000.0, TRIPS, step=0.01)
    assert not found.fit.exact
    assert max(map(abs, found.left_k)) > 0.8
    assert found.at[0].u_k > 0.8


def test_the_usual_doubts_of_ice_boiling_water_and_a_reference():
    """Weather moves the pressure by some 10 hPa: IF97 gives 0.28 K of boiling point for it."""
    text = "bath, reference degC, reading ohm\nice,,32650\nboiling,,720\nreference,40,5330\n"
    found = calibrate(read(columns("ntc"), text), "ntc", 0.0, TRIPS, step=1.0)
    assert [bath.u_k for bath in found.baths] == [0.1, 0.3, 0.5]
    assert boiling_c(0, 0.5) - boiling_c(0, -0.5) == pytest.approx(0.28, abs=0.01)
    own = read(columns("ntc"), text.replace("ohm\n", "ohm, doubt K\n").replace("720", "720, 0.2"))
    assert calibrate(own, "ntc", 0.0, TRIPS, step=1.0).baths[1].u_k == 0.2


def test_two_points_own_up_to_their_shape():
    text = "bath, reading ohm\nice,32650\nboiling,720\n"
    at = calibrate(read(columns("ntc"), text), "ntc", 500.0, TRIPS, step=1.0).at[0]
    assert at.shape_k == pytest.approx(-0.78, abs=0.03)
    assert at.error_k == pytest.approx(0.78 + 2 * at.u_k, abs=0.03)
