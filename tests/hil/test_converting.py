"""From what a plant sends to what the logic reads."""

from __future__ import annotations

import math

import pytest

from tests.controller.rig import healthy
from tests.hil.pairs import CONSTANTS, CONVERT, LOOP


def test_as_many_pulses_a_minute_as_the_meter_gives_a_litre_are_one_litre_a_minute():
    """By the meaning of pulses per litre alone."""
    a_minute = LOOP.meter.pulses_per_litre
    assert CONVERT.readings({"pulse_period_s": 60.0 / a_minute}).flow_lpm == pytest.approx(1.0)
    assert CONVERT.readings({"pulse_period_s": 6.0 / a_minute}).flow_lpm == pytest.approx(10.0)


@pytest.mark.parametrize(("period_s", "flow_lpm"), [(math.inf, 0.0), (0.0, math.nan)])
def test_no_second_pulse_is_no_flow_and_no_time_is_nothing_known(period_s, flow_lpm):
    found = CONVERT.readings({"pulse_period_s": period_s}).flow_lpm
    assert found == flow_lpm or (math.isnan(found) and math.isnan(flow_lpm))


def test_what_was_not_sent_is_not_known():
    assert all(math.isnan(value) for value in CONVERT.readings({}))


def test_a_plant_sends_what_is_read():
    readings = healthy(CONSTANTS)._replace(flow_lpm=4.8, time_s=12.5)
    again = CONVERT.readings(CONVERT.raw(readings))
    assert again.flow_lpm == pytest.approx(4.8)
    assert repr(again._replace(flow_lpm=4.8)) == repr(readings)
