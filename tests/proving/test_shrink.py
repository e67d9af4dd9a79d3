"""The shortest story: what does not matter goes, what matters stays, and nothing is random."""

from __future__ import annotations

from coilward.proving.case import DIMENSIONS, DRAWN, Case, draw, place
from coilward.proving.shrink import shrink
from coilward.simulator.faults import FAULTS
from tests.proving.needles import outcome, weighed, well


def messy(*faults):
    return place(Case(faults, 3, 1), [0.137 + 0.023 * n for n in range(DIMENSIONS)])


def test_everything_that_does_not_matter_becomes_plain():
    """Only the size matters: it becomes the usual one, and all else the plainest."""
    size, fault = DRAWN.index("size"), FAULTS["pump-weak"]
    share = (fault.default_size - fault.lowest) / (fault.highest - fault.lowest)
    assert share > 0.15
    play = weighed(lambda case: outcome(case, 0.15 - draw(case)[size]))
    story = shrink(play(messy("pump-weak")), play)
    assert story.case.key == f"pump-weak/3@1=0:0,1:{round(1000 * share)},4:0"
    assert story.outcome.escaped


def test_what_matters_stays_and_gets_round():
    """Violated between 0.16 and 0.22 alone: 0.2 is the roundest number there."""
    onset = DRAWN.index("onset")
    play = weighed(
        lambda case: outcome(case, -0.1 if 0.13 < draw(case)[onset] < 0.22 else 0.1)
    )
    story = shrink(play(messy("pump-weak")), play)
    assert dict(story.case.placed)[onset] == 200


def test_a_second_fault_that_does_not_matter_goes():
    play = weighed(
        lambda case: outcome(case, -0.1 if "meter-dead" in case.faults else 0.1)
    )
    assert shrink(play(messy("pump-weak", "meter-dead")), play).case.faults == ("meter-dead",)
    both = weighed(lambda case: outcome(case, -0.1 if len(case.faults) == 2 else 0.1))
    assert len(shrink(both(messy("pump-weak", "meter-dead")), both).case.faults) == 2


def test_another_violation_is_not_the_same_story():
    """Away from where it was found something else is violated; that is another finding."""

    def play(case):
        late = draw(case)[DRAWN.index("onset")] > 0.1
        return outcome(case, -0.1) if late else outcome(case, 0.5, more=("another",))

    tried = weighed(play)
    story = shrink(tried(messy("pump-weak")), tried)
    assert story.what == "kept"
    assert draw(story.case)[DRAWN.index("onset")] > 0.1


def test_without_a_violation_the_margin_grows_by_no_more_than_a_hundredth():
    play = weighed(well(depth=-0.2, width=1.0, where=0.14, numbers=(0, 1)))
    found = play(messy("pump-weak"))
    story = shrink(found, play)
    assert story.least <= found.least + 0.01
    assert len(story.case.placed) <= 3


def test_the_story_is_the_same_each_time():
    play = weighed(well(depth=0.5, width=1.0, where=0.2))
    found = play(messy("pump-weak"))
    assert shrink(found, play) == shrink(found, play)
