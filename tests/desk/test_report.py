"""What a rehearsal says on the console."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from coilward.desk.answer import answer
from coilward.desk.findings import findings_on
from coilward.desk.report import ribbon, say_rehearsal
from coilward.desk.story import Stay, near_set_point, stays
from coilward.desk.verdict import evidence, judge
from tests.desk.synthetic import TODAY, cause, dead_pump_run, quiet_run
from tests.desk.test_answer import changed


def said(run, system="si", width=80):
    stream = io.StringIO()
    console = Console(file=stream, width=width, highlight=False, markup=False, emoji=False)
    verdict = judge(evidence(run, findings_on(run.loop, run.derived, TODAY, system)))
    say_rehearsal(console, run, verdict, answer(run, system), "coilward rehearse x", system)
    return stream.getvalue()


def test_everything_in_its_order():
    text = said(dead_pump_run())
    places = [
        text.index(words)
        for words in (
            "At 30 min the pump stops", "\nVerdict", "DO NOT LIGHT", "The coil boiled",
            "\nMargins", "\nPhases", "|run___", "\nAlarms", "The water stopped moving.",
            "Machine:", "You:", "\nPassive hardware", "\nTake care", "\nShow it again",
            "coilward rehearse x",
        )
    ]  # fmt: skip
    assert places == sorted(places)


@pytest.mark.parametrize("width", [80, 120])
def test_plain_output_is_narrow_and_clean(width):
    lines = said(dead_pump_run(), width=width).splitlines()
    assert max(map(len, lines)) <= min(width, 100)
    assert not any(line != line.rstrip() for line in lines)
    assert "\x1b" not in "".join(lines)


def test_alarms_are_told_in_order_of_time_with_first_and_latched():
    run = dead_pump_run()
    text = " ".join(said(changed(run, causes=run.causes[::-1])).split())
    assert text.index("0:30:01 The water stopped moving. (get back, first)") < text.index(
        "0:30:34 The water stood for longer than the coil can bear. (get back, latched)"
    )


def test_a_quiet_night_says_that_there_was_no_alarm_and_how_the_valve_stood():
    text = " ".join(said(quiet_run()).split())
    assert "MAY BE LIT" in text
    assert "Alarms: none" in text
    assert "If the water stopped boils within 41 s at worst" in text
    assert "% of the time within 3.0 K of 60.0 °C" in text
    assert "Valve at least flow 8 min 20 s: less would let a rising fire boil" in text
    assert "no fire without a person in ear-shot of a horn" in text


def test_us_units():
    text = said(quiet_run(), "us")
    assert "43.7 F°" in text
    assert "147.2 °F" in text
    assert "°C" not in text.split("Take care")[0]


def test_a_very_long_list_is_cut_with_a_word_about_it():
    many = [cause(100.0 * i, "C33") for i in range(60)]
    assert "and 20 more, all in the JSON" in said(changed(quiet_run(), causes=many))


def test_still_water_is_compared_with_the_sum():
    """Greenhouse: 30.34 kJ/K from its state when the pump died; by hand from the trace.

    (96.65 - 61.64) K x 30.34 kJ/K / (1.5 x 13.4 kW) is 53 s; the made-up run boils after 74 s.
    """
    run = dead_pump_run()
    text = " ".join(said(run).split())
    at_c = run.trace["coil_outlet_true_c"][1799]
    peaked_s = (96.65 - at_c) * 30336 / (1.5 * run.trace["heat_fire_w"][1799])
    assert 52 < peaked_s < 54
    assert "Rehearsed 74 s after the water stopped" in text
    assert f"By the sum {peaked_s:.0f} s at the hottest turn, {1.5 * peaked_s:.0f} s if" in text
    assert "the wall film adds about 3 %" in text


def test_there_is_no_sum_for_still_water_where_the_water_moved():
    run = dead_pump_run()
    run.trace["flow_true_lpm"][:] = 6.0
    assert "By the sum" not in said(run)


def test_alarms_after_the_first_boil_stand_behind_it():
    run = dead_pump_run()
    text = " ".join(said(changed(run, causes=[*run.causes, cause(1900.0, "C09")])).split())
    boiled = text.index("0:31:14 First boil. Nothing after it is a margin.")
    assert text.index("0:30:34 The water stood") < boiled < text.index("0:31:40 The coil's metal")


def test_an_alarm_that_comes_again_is_told_short():
    causes = [cause(7200.0, "C03"), cause(9000.0, "C03")]
    text = said(changed(quiet_run(), causes=causes))
    assert "Again: The water leaving the coil is too hot." in text
    assert text.count("Machine:") == 1


def test_the_ribbon_is_as_long_as_asked_and_shows_every_phase():
    [bar] = ribbon(stays(quiet_run()), 78)
    assert len(bar) == 78
    blocks = bar.strip("|").split("|")
    assert [block.strip("_")[0] for block in blocks] == ["s", "c", "w", "r", "s", "s"]
    assert "run___" in bar


def test_a_ribbon_of_too_many_phases_is_left_to_the_list():
    assert ribbon([Stay(float(i), "run", 1.0) for i in range(60)], 78) == []


def test_stays_add_up_to_the_night():
    run = quiet_run()
    assert sum(stay.lasted_s for stay in stays(run)) == run.duration_s


def test_nearness_to_the_set_point_counts_only_time_in_run():
    run = quiet_run()
    in_run = run.trace["phase"] == 4
    run.trace["coil_outlet_true_c"][:] = 20.0
    run.trace["coil_outlet_true_c"][in_run] = run.derived.set_point_c + 2.9
    assert near_set_point(run, 3.0) == 1.0
    run.trace["phase"][:] = 1
    assert near_set_point(run, 3.0) is None
