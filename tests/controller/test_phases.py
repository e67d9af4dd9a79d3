"""One phase table, two readers: the flat walk and the `transitions` machine must agree."""

import random

from hypothesis import given
from hypothesis import strategies as st

from coilward.controller.phases import (
    DRY,
    FACTS,
    PHASES,
    TABLE,
    Facts,
    fact,
    machine,
    next_phase,
)


def both(phase: int, facts: int) -> tuple[str, str]:
    drawn, model = machine(phase)
    model.load(facts)
    model.tick()
    assert drawn.initial == PHASES[phase]
    return PHASES[next_phase(phase, facts)], model.state


def test_walk_and_machine_agree_on_sparse_facts():
    rng = random.Random(7)
    for phase in range(len(PHASES)):
        for _ in range(60):
            facts = sum(1 << i for i in rng.sample(range(len(FACTS)), rng.randint(0, 5)))
            walked, drawn = both(phase, facts)
            assert walked == drawn, (PHASES[phase], facts)


@given(st.integers(0, len(PHASES) - 1), st.integers(0, (1 << len(FACTS)) - 1))
def test_walk_and_machine_agree_on_any_facts(phase, facts):
    walked, drawn = both(phase, facts)
    assert walked == drawn


def test_every_row_can_be_taken():
    """A row that no facts can reach would be a dead rule."""
    for step in TABLE:
        facts = sum(fact(name) for name in step.needs)
        taken = {next_phase(source, facts) for source in step.sources}
        assert step.target in taken, step


def test_no_facts_means_staying():
    assert [next_phase(p, 0) for p in range(len(PHASES))] == list(range(len(PHASES)))


@given(st.integers(0, (1 << len(FACTS)) - 1))
def test_only_a_person_leaves_the_dry_lock_out(facts):
    left = next_phase(DRY, facts) != DRY
    assert left == bool(facts & fact("dry_reset"))


def test_facts_start_false():
    assert not any(getattr(Facts(), name) for name in FACTS)


def test_the_machine_moves_by_ticks_alone():
    drawn, _ = machine()
    assert list(drawn.events) == ["tick"]
