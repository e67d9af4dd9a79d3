"""The finite part against `decide` itself: no tick of the logic is missing in the model.

This is what the searches and inductions stand on. Random states, readings and requests go
through the real `decide`; what it computed inside is recorded on the way, and each tie of the
model, and the whole tick, is held against it.
"""

from __future__ import annotations

import random
from contextlib import contextmanager
from unittest import mock

from hypothesis import given, settings
from hypothesis import strategies as st

from coilward.controller import decide as deciding
from coilward.controller import phases as ph
from coilward.controller.facts import facts_of
from coilward.controller.interlocks import ANY_TIME, LATCHING, METER_DEAD, RETURNING, ROWS
from coilward.controller.phases import PHASES, TABLE
from coilward.controller.state import (
    AT_RISK,
    COLD,
    MAYBE_DRY,
    NO,
    UNKNOWN,
    WET,
    YES,
    after_reboot,
    first_state,
    sound_state,
)
from coilward.controller.types import Requests
from coilward.proving.finite import STATE_FACTS, Model, damaged, rebooted
from tests.controller.rig import NAN, constants_of, healthy
from tests.controller.strategies import READINGS, REQUESTS, STATES, WILD_STATES

LOGIC = Model()
CONSTANTS = st.sampled_from([constants_of(name) for name in ("greenhouse", "boathouse", "hot-tub")])


def written(state):
    """A memory that the logic itself can have written: only rows that latch are latched."""
    return state._replace(mode=state.mode._replace(latched=state.mode.latched & LATCHING))


OWN_STATES = STATES.map(written)


LATCHES = [1 << i for i in range(len(ROWS)) if LATCHING >> i & 1]
MANY = 12_000


def likely_state(rng, constants):
    """A state from which rows, resets and returns happen often: few latches, clocks at limits."""
    phase = rng.randrange(len(PHASES))
    fire = rng.choice([NO, YES, YES, UNKNOWN])
    state = first_state(constants, phase, fire)
    mode = state.mode._replace(
        came_from=rng.randrange(len(PHASES)), dry=rng.random() < 0.3,
        latched=rng.choice([0, 0, 0, rng.choice(LATCHES), rng.choice(LATCHES + LATCHES[:3])]),
        permitted=rng.random() < 0.5,
    )
    mode = mode._replace(meter_dead=bool(mode.latched & METER_DEAD))
    ages = state.ages._replace(
        still_s=rng.choice([0.0, 0.0, 0.5, 20.0, 200.0]), proof_s=rng.choice([0.0, 4.9, 5.0, 5.0]),
        window_s=rng.choice([5.0, 30.0]),
        phase_s=rng.choice([0.0, 0.25, 2.9, 3.0, 120.0, 400.0, 2000.0]),
        heat_s=rng.choice([0.0, 1e9]), cold_s=rng.choice([0.0, 1e4]),
        flow_return_s=rng.choice([1.0, 1e9]), dump_4_s=rng.choice([1.0, 1e9]),
    )
    watch = state.watch._replace(
        reset_s=rng.choice([-1.0, 0.0, 1.9, 5.0]), idle_s=rng.choice([0.0, 5000.0]),
        cooled_s=rng.choice([0.0, 400.0]), warm_line_s=rng.choice([0.0, 1000.0]),
        short_s=rng.choice([0.0, 20.0]), weak_s=rng.choice([0.0, 0.0, 200.0]),
        fans_on_s=rng.choice([0.0, 100.0]), pump_on_s=rng.choice([0.0, 100.0]),
        under_s=rng.choice([0.0, 0.0, 9.0]), held=rng.choice([0, 0, RETURNING]),
        clean_s=rng.choice([0.0, 1000.0]),
    )
    ripe = rng.random() < 0.5
    counters = tuple([(1 << len(ROWS)) - 1 if ripe else 0] * len(state.counters))
    return state._replace(mode=mode, ages=ages, watch=watch, counters=counters)


def likely_readings(rng, constants):
    """Healthy readings with up to three channels changed; cold or hot, moving or still."""
    readings = healthy(constants)
    if rng.random() < 0.5:
        readings = readings._replace(
            coil_outlet_a_c=24.0, coil_outlet_b_c=24.0, coil_metal_c=20.0, flue_c=10.0,
        )
    if rng.random() < 0.3:
        readings = readings._replace(flow_lpm=0.0, pulse_age_s=9.0, flow_switch=0.0, pump_a=0.0)
    if rng.random() < 0.1:
        readings = readings._replace(flow_lpm=0.0, pulse_age_s=9.0)
    if rng.random() < 0.1:
        readings = readings._replace(pump_contact=0.0, outage_s=rng.choice([1.0, 100.0, NAN]))
    for name in rng.sample(readings._fields[1:], rng.choice([0, 0, 0, 1, 1, 2, 3])):
        value = rng.choice([NAN, 0.0, 1.0, 85.5, 120.0, 160.0, rng.uniform(-40.0, 160.0)])
        readings = readings._replace(**{name: value})
    return readings


def likely_requests(rng):
    """One or two buttons at most; the reset more often than others."""
    held = {name: rng.random() < 0.1 for name in Requests._fields}
    return Requests(**held | {"reset": rng.random() < 0.3})


@contextmanager
def recorded():
    """Runs `decide` with an ear at `facts_of`."""
    heard = {}

    def listen(active, raised, readings, requests, seen, now, kept, *rest):
        facts = facts_of(active, raised, readings, requests, seen, now, kept, *rest)
        heard.update(raised=raised, now=now, kept=kept, facts=facts)
        return facts

    with mock.patch.object(deciding, "facts_of", listen):
        yield heard


def covered(readings, requests, state, constants):
    """Asserts that the model has this tick; returns what was heard."""
    with recorded() as heard:
        decision = deciding.decide(readings, requests, state, constants)
    before, after = LOGIC.inside(state), LOGIC.inside(decision.state)
    raised, now, kept = LOGIC.sign(heard["raised"]), heard["now"], heard["kept"]
    tied = STATE_FACTS | ph.FIRE_OUT
    for told in LOGIC.told:
        tied |= told.fact | told.otherwise
    read = LOGIC.reads[before.phase]
    reset = "dry" if kept.dry_reset else ""
    latched = after.latched
    possible = LOGIC.fixed_facts(before, kept.fire, raised, reset, latched, kept.dry)
    assert heard["facts"] & tied & read in {facts & tied & read for facts in possible}
    assert kept.fire == now.fire == decision.state.mode.fire
    if kept.fire == NO:
        assert heard["raised"] & ~ANY_TIME == 0
    facts = LOGIC.walk(before.phase, heard["facts"])
    assert facts == after.phase
    ticks = [
        tick for tick in LOGIC.steps(before, raised)
        if tick.after == after and tick.fire == kept.fire
    ]
    assert ticks, (LOGIC.tell(before), heard, LOGIC.tell(after))
    if kept.dry_reset:
        assert any(tick.reset == "dry" for tick in ticks)
    coil, mode = decision.state.mode.coil, decision.state.mode
    if mode.dry:
        assert coil == MAYBE_DRY
    else:
        assert coil == COLD if mode.fire == NO else coil in (WET, AT_RISK)
    heard.update(before=before, after=after)
    return heard


@settings(max_examples=150, deadline=None)
@given(READINGS, REQUESTS, OWN_STATES, CONSTANTS)
def test_every_tick_on_wild_readings_is_in_the_model(readings, requests, state, constants):
    covered(readings, requests, state, constants)


def test_every_tick_on_likely_readings_is_in_the_model():
    """Also shows that the ticks are no idle ones: nearly every way of the table is taken."""
    rng = random.Random(4)
    taken = set()
    for _ in range(MANY):
        constants = constants_of(rng.choice(("greenhouse", "boathouse", "hot-tub")))
        state = likely_state(rng, constants)
        heard = covered(likely_readings(rng, constants), likely_requests(rng), state, constants)
        taken.add((heard["before"].phase, heard["after"].phase))
    ways = {(source, step.target) for step in TABLE for source in step.sources}
    missing = [(PHASES[a], PHASES[b]) for a, b in ways - taken]
    assert not missing


@settings(max_examples=60, deadline=None)
@given(STATES.map(written))
def test_a_reboot_is_in_the_model(state):
    assert LOGIC.inside(after_reboot(state)) == rebooted(LOGIC.inside(state))


@settings(max_examples=60, deadline=None)
@given(WILD_STATES)
def test_a_damaged_memory_is_in_the_model(state):
    constants = constants_of()
    found = sound_state(state, constants)
    if found is not state:
        kept = state._replace(mode=state.mode._replace(latched=found.mode.latched))
        assert LOGIC.inside(found) == damaged(LOGIC.inside(kept))


def test_the_check_can_fail():
    """A model without one row of the table, or one tie too many, is told from the logic."""
    class Wrong(Model):
        def fires(self, inside):
            return (inside.fire,)

    lit = Requests(lit=True)
    constants = constants_of()
    decision = deciding.decide(healthy(constants), lit, first_state(constants), constants)
    before = LOGIC.inside(first_state(constants))
    assert decision.state.mode.fire == YES
    after = LOGIC.inside(decision.state)
    raised = LOGIC.sign(decision.state.raised)
    assert any(tick.after == after for tick in LOGIC.steps(before, raised))
    assert not any(tick.after == after for tick in Wrong().steps(before, raised))
