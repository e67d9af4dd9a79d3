"""The one sentence: each rule speaks when it should, and the gravest one first."""

from __future__ import annotations

import pytest

from coilward.controller.interlocks import ROWS, bit
from coilward.controller.phases import (
    BOOT,
    COLD_START,
    DEGRADED,
    DRY,
    DUMP,
    FREEZE,
    MAINTENANCE,
    NO_FLOW,
    RUN,
    SHUTDOWN,
    STANDBY,
    WARM_UP,
)
from coilward.controller.state import NO, UNKNOWN, YES
from coilward.desk.live.sentence import RANK_1, RULES, TONES, horn_words, sentence
from tests.controller.rig import Rig
from tests.controller.scenes import cold_rig, locked
from tests.live.scenes import place, running, scene


def changed(rig, raised=None, **mode):
    rig.state = rig.state._replace(mode=rig.state.mode._replace(**mode))
    if raised is not None:
        rig.state = rig.state._replace(raised=raised)
    return rig


def test_a_loop_that_runs_well_says_so_with_both_figures():
    said = sentence(scene(running()))
    # Outlet 60.2 of a coil that boils at 97.7; 36.1 kJ/K x 37.6 K / (1.5 x 1.25 x 12.8 kW) = 57 s.
    assert said.tone == "well"
    assert said.text.startswith("Running well. 3")
    assert " K to boiling. If the pump stops now you have " in said.text
    assert said.text.endswith(" s.")


def test_the_same_in_the_units_of_another_country():
    assert " F° to boiling." in sentence(scene(running(), where=place("greenhouse", "us"))).text


@pytest.mark.parametrize(("phase", "fire", "tone", "starts"), [
    (BOOT, YES, "care", "The board has just started"),
    (STANDBY, NO, "rest", "At rest. No fire."),
    (COLD_START, NO, "rest", "Checking before the fire: 0 of 12 passed."),
    (WARM_UP, YES, "well", "Warming up."),
    (RUN, UNKNOWN, "well", "Running well."),
    (DUMP, YES, "act", "Too hot: cooling down. Don't add wood."),
    (NO_FLOW, YES, "back", "GET BACK. The water stands. The coil may boil in "),
    (DRY, YES, "back", "GET BACK. Coil may be dry and red hot."),
    (DRY, NO, "back", "GET BACK. Coil may be dry and red hot."),
    (SHUTDOWN, YES, "care", "The fire is ending. Don't add wood."),
    (FREEZE, NO, "rest", "No fire. Water moves"),
    (DEGRADED, YES, "act", "An instrument is lost"),
    (MAINTENANCE, NO, "care", "Maintenance"),
    (STANDBY, YES, "care", "A fire may be in where none belongs."),
])  # fmt: skip
def test_every_phase_has_its_words(phase, fire, tone, starts):
    said = sentence(scene(changed(running(), phase=phase, fire=fire)))
    assert said.text.startswith(starts)
    assert said.tone == tone


def test_what_was_latched_waits_for_a_person():
    rig = changed(cold_rig().run(1.0), latched=bit("C16") | bit("C19"))
    assert sentence(scene(rig)).text == "No fire. 2 things wait for a reset at the board."


def test_a_passed_check_may_be_lit():
    rig = changed(cold_rig().run(1.0), phase=COLD_START, permitted=True)
    assert sentence(scene(rig)).text == "The check has passed. You may light the fire."


def test_the_dry_lock_out_is_about_distance_whatever_else_counts():
    rig = locked()
    raised = rig.state.raised | bit("C01") | bit("C03") | bit("C33")
    said = sentence(scene(changed(rig, raised=raised)))
    assert said.tone == "back"
    assert "10 m away" in said.text
    assert "Never pour or pump water." in said.text


@pytest.mark.parametrize("name", ["C27", "C28"])
def test_people_come_before_the_coil(name):
    rig = locked()
    said = sentence(scene(changed(rig, raised=rig.state.raised | bit(name))))
    row = next(row for row in ROWS if row.name == name)
    assert said.text == f"{row.happened} {row.person}"


@pytest.mark.parametrize("index", [
    index for index, row in enumerate(ROWS) if row.rank == 1 and row.name not in ("C27", "C28")
])  # fmt: skip
def test_every_row_of_the_first_rank_sends_people_away_while_a_fire_is_in(index):
    said = sentence(scene(changed(running(), raised=1 << index, first_out=index)))
    assert said.tone == "back"
    assert said.text.startswith("GET BACK. ")
    assert ROWS[index].happened in said.text


@pytest.mark.parametrize("index", [i for i, row in enumerate(ROWS) if row.rank == 2])
def test_every_row_of_the_second_rank_asks_for_an_act(index):
    rig = changed(running(), phase=SHUTDOWN, raised=1 << index, first_out=index)
    said = sentence(scene(rig))
    assert said.tone == "act"
    assert said.text == f"{ROWS[index].happened} {ROWS[index].person}"


def test_the_first_out_speaks_before_its_consequences():
    rows, first = bit("C05") | bit("C22"), ROWS.index(next(r for r in ROWS if r.name == "C22"))
    rig = changed(running(), phase=SHUTDOWN, raised=rows, first_out=first)
    assert sentence(scene(rig)).text.startswith("No fan turns.")


def test_a_fault_that_only_tells_is_told_while_it_runs():
    rig = changed(running(), raised=bit("C21"), first_out=-1)
    assert sentence(scene(rig)).text.startswith("Running, with a fault. ")


def test_near_its_warning_it_says_what_is_warm():
    rig = running()
    rig.given = rig.given._replace(tank_c=place().constants.limits.tank_warn_c + 0.5)
    said = sentence(scene(rig))
    assert said.tone == "care"
    assert said.text.startswith("The tank is getting too warm. Don't add wood.")
    rig.given = rig.given._replace(tank_c=23.0, coil_outlet_a_c=74.0, coil_outlet_b_c=74.0)
    rig.state = rig.state._replace(watch=rig.state.watch._replace(
        outlet_a_c=74.0, outlet_b_c=74.0))
    assert sentence(scene(rig)).text.startswith("The coil is getting too warm.")


def test_the_time_to_boil_runs_down_while_the_water_stands():
    rig = Rig().settle().stop_water()
    rig.until(lambda r: r.phase == "no-flow fault", 5.0)
    first = sentence(scene(rig)).text
    rig.run(5.0)
    later = sentence(scene(rig)).text
    seconds = [int(text.split(" boil in ")[1].split(" ")[0]) for text in (first, later)]
    assert 4 <= seconds[0] - seconds[1] <= 6


def test_every_rule_has_a_name_of_its_own_and_every_tone_its_words():
    assert len({name for name, _, _ in RULES}) == len(RULES)
    assert len(set(TONES.values())) == len(TONES)
    assert RANK_1.bit_count() == sum(row.rank == 1 for row in ROWS)


def test_the_horn_in_words():
    assert horn_words(3, 0.0) == "The horn sounds."
    assert horn_words(0, 0.0) == "The horn is silent."
    assert horn_words(0, 120.0) == "Silenced for 2 min more."
