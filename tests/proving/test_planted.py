"""The hunt on planted defects: the quick ones here, all ten by `python -m benchmarks.planted`."""

from __future__ import annotations

import pytest

from coilward.loop.document import read_loop
from coilward.proving.hunt import hunt
from coilward.proving.stage import Stage
from tests.proving.mistakes import BY_NAME, MISTAKES
from tests.proving.planted import PLANTED, Defect, planted
from tests.simulator.plants import TODAY

GREENHOUSE = read_loop("greenhouse")


@pytest.mark.parametrize("defect", MISTAKES, ids=lambda defect: defect.name)
def test_each_defect_changes_the_logic(defect):
    """A text that is not there exactly once is an error, so each is really planted."""
    logic = planted(defect)
    assert logic.decide.__module__.startswith("planted_")


def test_ten_are_planted_and_none_twice():
    assert len(PLANTED) == 10
    assert MISTAKES[:10] == PLANTED
    assert len(BY_NAME) == len(MISTAKES) >= 60


def test_a_defect_that_comes_to_nothing_is_an_error():
    with pytest.raises(ValueError, match=r"not once in acting\.py"):
        planted(Defect("nothing", (("acting.py", "no such text", ""),)))


@pytest.mark.parametrize(("name", "violated"), [
    ("still water believed after ten times its debounce", "no-flow-answered"),
    ("damper left open while the water stands", "no-flow-answered"),
    ("pump stopped by a dead meter", "pump-kept-on"),
])  # fmt: skip
def test_the_hunt_finds_it_and_the_shipped_logic_does_not_show_it(name, violated):
    faults = ["meter-dead", "pump-dies", "line-frozen"]
    found = hunt(
        Stage(GREENHOUSE, today=TODAY, logic=planted(BY_NAME[name])), runs=40, seed=1,
        faults=faults,
    )
    assert found.escaped
    assert violated in found.worst.outcome.missed
    sound = Stage(GREENHOUSE, engine="interpreted", today=TODAY).play(found.worst.case)
    assert sound.fired
    assert sound.missed == ()


def test_a_board_that_dumps_all_the_time_is_never_in_run():
    defect = BY_NAME["outlet's dump trip compared the wrong way round"]
    found = hunt(Stage(GREENHOUSE, today=TODAY, logic=planted(defect)), runs=40, seed=1)
    assert found.astray == ("run", "overheat dump")
    assert found.runs == 3
