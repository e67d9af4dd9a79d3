"""The throttle valve on weighed runs."""

from __future__ import annotations

import pytest

from coilward.loop.hydraulics import SystemCoefficients, flow_lpm, kv_m3h, system_coefficients
from coilward.measuring.valve import COLUMNS, Step, calibrate, crossing, fitted
from tests.loop.examples import shipped
from tests.measuring.tables import VALVE, faults, read

HEAD, LOOP_KPA, VALVE_KPA, OPEN_LPM, R = 21.0, 20.0, 1.0, 3.0, 30.0
BY_HAND = SystemCoefficients(
    HEAD, 0.0, 0.0, 0.0, LOOP_KPA / OPEN_LPM**2,
    kv_m3h(0.06 * OPEN_LPM, VALVE_KPA / 100, 985.0), 12.0, 0.05, 0.0,
)  # fmt: skip
"""20 kPa of loop and 1 kPa of valve at 3 L/min; the rangeability is not the one to be found."""


def test_the_worked_installed_curve_gives_its_rangeability_back():
    """Trade notes 5.9, example 3: R 30 gives 0.63, 1.17, 1.94 and 2.61 L/min."""
    flows = {0.1: 0.63, 0.3: 1.17, 0.5: 1.94, 0.7: 2.61, 1.0: OPEN_LPM}
    curve = fitted([Step("opening", x, x, lpm) for x, lpm in flows.items()], BY_HAND)
    assert curve.rangeability == pytest.approx(R, rel=0.03)
    assert curve.kvs_m3h == pytest.approx(BY_HAND.kvs_m3h, rel=0.05)
    assert curve.misfit < 0.01
    assert abs(curve.rangeability - R) < 3 * curve.rangeability_u


def test_kv_of_the_standard():
    """IEC 60534-2-1, example 1: 360 m3/h of water of 965.4 kg/m3 at 4.6 bar: Kv 165."""
    assert kv_m3h(360, 4.6, 965.4) == pytest.approx(165, abs=0.5)


def test_the_crack_lies_on_a_straight_line_between_two_runs():
    """By hand: from 0.02 to 0.10 L/min, 0.05 is 3/8 of the way from 4 to 6 %."""
    runs = [Step("opening", x, x, lpm) for x, lpm in ((0, 0), (0.06, 0.10), (0.04, 0.02))]
    assert crossing(runs) == pytest.approx(0.0475)
    assert crossing(runs, 0.2) is None


def test_a_servo_shut_at_149_with_its_first_water_at_142_has_7_units_of_dead_travel():
    """Common practice, no source."""
    system = system_coefficients(shipped("greenhouse"))
    found = calibrate(read(COLUMNS, VALVE), system, 149.0, 60.0)
    assert found.dead_travel == pytest.approx(7.0)
    assert found.crack_open == pytest.approx(7 / 89)
    assert found.opens_down
    # closing: 0.05 between 144.5 (0.06) and 146 (0): a quarter unit past the first
    assert found.crack_shut == pytest.approx((149 - 144.75) / 89)
    assert found.backlash == pytest.approx(7 / 89 - 4.25 / 89)
    assert (found.stop_stroke, found.stop_lpm) == (pytest.approx(44 / 89), 4.6)


def test_flow_by_mass_and_time_and_strokes_in_per_cent():
    text = (
        "way, position %, mass kg, time s\nopening, 0, 0, 60\nopening, 4, 0.01, 60\n"
        "opening, 8, 2.4, 120\n"
    )
    found = calibrate(read(COLUMNS, text), BY_HAND, None, None)
    # 2.4 kg at 15 degC are 2.4048 L in 2 min
    assert found.steps[-1].flow_lpm == pytest.approx(1.2025, abs=3e-4)
    assert 0.04 < found.crack_open < 0.05
    assert found.dead_travel is None
    assert found.backlash is None
    assert found.curve is None
    assert not found.opens_down


def test_the_loops_own_curve_comes_back_from_its_own_flows():
    system = system_coefficients(shipped("greenhouse"))
    other = system._replace(kvs_m3h=2.3, rangeability=45.0, crack_open=0.0)
    runs = [Step("opening", x / 10, x / 10, flow_lpm(other, x / 10, 1.0)) for x in range(1, 11)]
    curve = fitted(runs, system)
    assert (curve.kvs_m3h, curve.rangeability) == (
        pytest.approx(2.3, rel=1e-4), pytest.approx(45, rel=1e-3),
    )  # fmt: skip
    assert curve.misfit < 1e-5


def test_a_valve_that_is_not_equal_percentage_shows_its_misfit():
    runs = [Step("opening", x / 10, x / 10, OPEN_LPM * min(x / 4, 1)) for x in range(1, 11)]
    curve = fitted(runs, BY_HAND)
    assert curve is None or curve.misfit > 0.1


@pytest.mark.parametrize(
    ("text", "ends", "words"),
    [
        ("opening,10 %,1\nopening,20 %,2\n", (None, None), "the crack is not between any"),
        ("opening,0 %,0\nopening,20 %,2\nclosing,30 %,3\n", (None, None), "no closing run under"),
        ("opening,0,0\nopening,149,2\n", (None, None), "off the stroke"),
        ("opening,150,0\nopening,100,2\n", (149.0, 60.0), "off the stroke"),
        ("opening,0 %,\nopening,50 %,2\n", (None, None), "neither a flow nor mass and time"),
    ],
)
def test_what_tells_nothing_is_refused(text, ends, words):
    table = "way, position, flow L/min\n" + text
    assert words in faults(lambda: calibrate(read(COLUMNS, table), BY_HAND, *ends))[0]
