"""Slopes, margins, the tank's way, readings, heat and battery, and the strip of the night."""

from __future__ import annotations

import math

import numpy as np
import pytest

from coilward.controller.interlocks import INDEX, bit
from coilward.controller.phases import DRY, DUMP, NO_FLOW, SHUTDOWN, STANDBY
from coilward.controller.plausibility import OUTLET_A_FROZEN, TANK_FROZEN
from coilward.desk.live import margins, words
from coilward.desk.live.health import battery, heat, link
from coilward.desk.live.readings import CHANNELS, readings
from coilward.desk.live.slopes import Slopes, slope, time_to_s
from coilward.desk.live.strip import SIGNALS, Strip, stays, trips
from coilward.desk.live.trend import settles, trend
from tests.controller.rig import Rig
from tests.controller.scenes import cold_rig, locked
from tests.live.scenes import STEADY, place, running, scene, tick_of
from tests.live.test_questions import reading
from tests.live.test_sentence import changed


def by_key(found):
    return {each.key: each for each in found}


def test_a_slope_is_that_of_the_line_and_needs_a_quarter_of_its_window():
    time_s = np.arange(0.0, 600.0)
    values = 20.0 + 0.01 * time_s
    values[::7] = np.nan
    assert slope(time_s, values, 600.0) == pytest.approx(0.01)
    bent = np.where(time_s < 500, 0.0, time_s - 500)
    assert slope(time_s, bent, 60.0) == pytest.approx(1.0)
    assert math.isnan(slope(time_s[:100], values[:100], 600.0))
    assert math.isnan(slope(time_s[:0], values[:0], 600.0))


def test_time_to_a_limit():
    assert time_to_s(10.0, 0.5) == 20.0
    assert time_to_s(10.0, 0.0) == math.inf
    assert time_to_s(-1.0, 0.5) == 0.0
    assert math.isnan(time_to_s(1.0, math.nan))


def test_margins_of_a_loop_that_runs_well():
    found = by_key(margins.margins(scene(running(), STEADY._replace(outlet_k_s=0.1))))
    limits = place().constants.limits
    assert found["boiling"].value == f"{limits.boil_c - scene(running()).seen.outlet_c:.0f} K"
    # 37.5 K at 0.1 K/s: six minutes.
    assert found["boiling"].to_limit == "boiling in 6 min at this slope"
    assert found["tank"].value == f"{limits.tank_trip_c - 23.0:.0f} K"
    assert found["tank"].to_limit == "steady"
    assert {each.tone for each in found.values()} == {"well"}


def test_a_margin_that_grows_or_is_used_up_says_so():
    rig = running()
    assert margins.boiling(scene(rig, STEADY._replace(outlet_k_s=-0.1))).to_limit == "growing"
    assert margins.boiling(scene(rig, Slopes())).to_limit == "trend not known yet"
    reading(rig, tank_c=place().constants.limits.tank_trip_c + 1.0)
    assert margins.tank(scene(rig)).tone == "act"
    assert margins.tank(scene(rig)).to_limit == "its trip is passed"


def test_standing_water_leaves_no_margin_that_a_thermometer_could_tell():
    rig = locked()
    found = by_key(margins.margins(scene(rig)))
    assert found["boiling"].value == "not known"
    assert found["boiling"].tone == "act"
    assert found["boiling"].share == 0.0
    assert found["flow"].tone == "act"
    trust = by_key(readings(scene(rig), False))
    assert trust["outlet_a"].trust == "doubtful"
    assert trust["metal"].trust == "fresh"


def test_flow_is_held_against_the_least_that_the_logic_reckons_with():
    now = scene(running(), STEADY._replace(flow_lpm_s=-0.01))
    assert margins.flow(now).value == f"{now.seen.flow_lpm / now.now.min_lpm:.1f} x least"
    seconds = (now.seen.flow_lpm - now.now.min_lpm) / 0.01
    assert words.about(seconds) in margins.flow(now).to_limit
    rig = reading(running(), tank_c=place().constants.limits.allow_c - 2.0)
    assert margins.ratio(scene(rig)) == 0.0
    assert margins.flow(scene(cold_rig().run(1.0))).value == "no fire"


def test_the_tank_settles_where_the_sums_say():
    """At the settled state of the sums themselves the page finds that very state."""
    rig, end = running(), place().derived.settled.throttled
    rig.commands = rig.commands._replace(fans=1.0)
    air_c = place().loop.room.air_c
    reading(rig, tank_c=end.tank_c, coil_outlet_a_c=end.outlet_c, coil_outlet_b_c=end.outlet_c,
            flow_lpm=end.flow_lpm, room_c=air_c)  # fmt: skip
    found = settles(scene(rig))
    assert found.tank_c == pytest.approx(end.tank_c, abs=0.01)
    assert found.outlet_c == pytest.approx(end.outlet_c, abs=0.01)
    assert "It is there." in trend(scene(rig)).end
    reading(rig, tank_c=end.tank_c - 8.0, coil_outlet_a_c=end.outlet_c - 8.0,
            coil_outlet_b_c=end.outlet_c - 8.0)  # fmt: skip
    assert "Within 1 K of it in" in trend(scene(rig)).end


@pytest.mark.parametrize(("slope_k_s", "way", "rate"), [
    (2.0 / 3600, "warming", "2.0 K/h"), (-12.0 / 3600, "cooling", "12 K/h"),
    (0.1 / 3600, "steady", ""), (math.nan, "unknown", ""),
])  # fmt: skip
def test_the_arrow(slope_k_s, way, rate):
    found = trend(scene(running(), STEADY._replace(tank_k_s=slope_k_s)))
    assert (found.way, found.rate) == (way, rate)


@pytest.mark.parametrize(("phase", "words_in"), [
    (DRY, "tells nothing about the coil"), (NO_FLOW, "tells nothing about the coil"),
    (DUMP, "damper is shut"), (SHUTDOWN, "damper is shut"), (STANDBY, "No fire"),
])  # fmt: skip
def test_where_it_goes_without_air_to_the_fire(phase, words_in):
    assert words_in in trend(scene(changed(running(), phase=phase))).end


def test_a_tub_is_finished_and_does_not_settle():
    rig = Rig(place("hot-tub").constants).set(tank_c=30.0)
    rig.tick()
    end = trend(scene(rig, STEADY._replace(tank_k_s=2.0 / 3600), place("hot-tub"))).end
    assert "finished at 38 °C, in 3 h" in end
    assert "finished at" in trend(scene(rig, STEADY, place("hot-tub"))).end


def test_every_reading_has_its_word_of_trust():
    rig = running()
    found = by_key(readings(scene(rig), False))
    assert {each.trust for each in found.values()} == {"fresh"}
    assert found["outlet_a"].value in ("60.0 °C", "60.1 °C")
    assert {each.trust for each in readings(scene(rig), True)} == {"stale"}
    rig.given = rig.given._replace(flue_c=math.nan, coil_metal_c=500.0, tank_c=150.0)
    found = by_key(readings(scene(rig), False))
    assert (found["flue"].trust, found["flue"].value) == ("lost", "no reading")
    assert found["metal"].trust == "fresh"
    assert found["tank"].trust == "lost"


@pytest.mark.parametrize(("suspects", "raised", "key"), [
    (OUTLET_A_FROZEN, 0, "outlet_a"), (TANK_FROZEN, 0, "tank"), (0, bit("C13"), "outlet_b"),
    (0, bit("C02"), "pump"), (0, bit("C46"), "flow"), (0, bit("C18"), "radiator_inlet"),
])  # fmt: skip
def test_what_is_suspected_is_doubtful(suspects, raised, key):
    rig = running()
    rig.state = rig.state._replace(
        doubt=rig.state.doubt._replace(suspects=suspects), raised=raised
    )
    assert by_key(readings(scene(rig), False))[key].trust == "doubtful"


def test_what_is_not_fitted_is_not_lost():
    tub = place("hot-tub")
    rig = Rig(tub.constants)
    rig.tick()
    for channel, found in zip(CHANNELS, readings(scene(rig, where=tub), True), strict=True):
        missing = channel.fitted and not getattr(tub.constants.fitted, channel.fitted)
        assert (found.trust == "not fitted") == bool(missing)


def test_heat_and_wood():
    """12 kW caught at 40 % of wood with 25 % water is 8.1 kg/h (sums of the project's notes)."""
    now = scene(running())
    loop = place().loop
    wet = loop.fire.moisture
    kg_h = 3600 * now.heat_w / (loop.fire.caught * (18.6e6 * (1 - wet) - 2.443e6 * wet))
    assert f"about {kg_h:.1f} kg/h of wood" in heat(now).text
    assert heat(now).text.startswith(f"{now.heat_w / 1000:.1f} ± ")
    assert heat(scene(locked())).text == "none"


def test_the_battery_lasts_as_long_as_half_of_it_feeds_the_load():
    now = scene(running())
    power, given = place().loop.power, now.tick.readings
    hours = power.battery_ah / 2 / (given.pump_a + given.fan_a + power.board_a)
    assert words.about(3600 * hours) in battery(now).text
    low = changed(running(), raised=bit("C29"))
    assert battery(scene(low)).tone == "act"


def test_the_link():
    now = scene(running())
    assert link(now, 0.1, False).tone == "well"
    assert link(now, 5.0, True).text == "nothing from the board for 5 s"
    late = now._replace(tick=now.tick._replace(late_s=0.4))
    assert link(late, 0.1, False).text == "decides 0.4 s late"


@pytest.mark.parametrize(("seconds", "text"), [
    (41.2, "41 s"), (99.0, "99 s"), (150.0, "2 min"), (3590.0, "1 h"), (3600.0, "1 h"),
    (8400.0, "2 h 20 min"), (math.inf, "never"), (math.nan, "not known"),
])  # fmt: skip
def test_lengths_of_time_are_round(seconds, text):
    assert words.about(seconds) == text


def test_numbers_are_whole_and_never_minus_nothing():
    assert words.whole(-0.2, "k", "si") == "0 K"
    assert words.whole(24.4, "k", "us") == "44 F°"
    assert words.whole(math.nan, "k", "si") == "not known"


def fed(seconds, rows=86400, raise_at=None):
    strip, rig = Strip(place(), rows), running()
    for number in range(round(seconds * 4)):
        raised = bit("C03") if raise_at is not None and number >= raise_at else 0
        tick = tick_of(rig, number)
        strip.add(tick._replace(
            readings=tick.readings._replace(time_s=number / 4, tank_c=20.0 + number / 400),
            state=tick.state._replace(raised=raised),
        ))  # fmt: skip
    return strip


def test_the_strip_keeps_a_row_a_second_and_every_trip_at_its_tick():
    strip = fed(100.0, raise_at=41)
    columns = strip.columns()
    assert len(SIGNALS) == 15
    assert len(columns["time_s"]) == 101
    assert trips(columns) == [(10.25, bit("C03"))]
    assert np.flatnonzero(np.diff(columns["time_s"]) < 1.0).size == 2
    last = strip.columns(10.0)
    assert last["time_s"][0] == pytest.approx(89.0)
    assert last["tank_c"][-1] == pytest.approx(20.0 + 99.0 / 100)


def test_the_strip_never_grows_and_forgets_the_oldest():
    strip = fed(100.0, rows=30)
    columns = strip.columns()
    assert columns["time_s"].tolist() == [float(t) for t in range(70, 100)]


def test_a_clock_that_runs_back_starts_it_afresh():
    strip, rig = fed(10.0), running()
    strip.add(tick_of(rig)._replace(readings=rig.given._replace(time_s=1.0)))
    assert strip.columns()["time_s"].tolist() == [1.0]


def test_what_is_drawn_loses_no_peak_and_shows_a_gap_as_a_gap():
    strip, rig = Strip(place()), running()
    for second in [*range(2000), *range(4000, 6000)]:
        peak_c = 90.0 if second == 4321 else 60.0
        strip.add(tick_of(rig)._replace(
            readings=rig.given._replace(time_s=float(second), room_c=peak_c)
        ))  # fmt: skip
    drawn = strip.drawn(0.0, 6000.0, 300)
    assert {len(values) for values in drawn.values()} == {600}
    assert np.nanmax(drawn["room_c"]) == 90.0
    peak_s = drawn["time_s"][int(np.nanargmax(drawn["room_c"]))]
    assert abs(peak_s - 4321) <= 20
    inside = (drawn["time_s"] > 2040) & (drawn["time_s"] < 3960)
    assert np.isnan(drawn["room_c"][inside]).all()
    assert len(strip.drawn(100.0, 200.0, 300)["time_s"]) == 101


def test_stays_are_cut_where_the_phase_changes():
    columns = {"time_s": np.arange(5.0), "phase": np.array([4.0, 4.0, 6.0, 6.0, 7.0])}
    assert stays(columns) == [(0.0, 2.0, 4), (2.0, 4.0, 6), (4.0, 4.0, 7)]
    assert stays({"time_s": np.zeros(0), "phase": np.zeros(0)}) == []
    assert INDEX["C01"] == 0
