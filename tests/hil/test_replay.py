"""A logged night decided again: the same, or other, and from which tick on."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from hypothesis import given, settings

from coilward.controller.state import after_reboot
from coilward.hil.journal.keeping import Keeper
from coilward.hil.journal.layout import FACTS, MEMORY, block, layout_of, packed, unpacked
from coilward.hil.journal.reader import Reader
from coilward.hil.redeciding.block import put_floats, put_wholes, readings_at, requests_at
from coilward.hil.replay.changes import begun, phases
from coilward.hil.replay.redecider import OUTCOME, Redecider
from coilward.hil.replay.replaying import NoSuchTicks, replay
from coilward.hil.tick import FLOATS, asked
from tests.controller.rig import changed
from tests.hil.made import constants, night, session
from tests.hil.test_journal_numbers import TICKS

LAST = len(MEMORY) + len(FACTS)


def journal(path, ticks, origins, chunk=240):
    """Ticks in chunks, the last ones in rows."""
    keeper = Keeper(path, session(), origins.pop(0))
    whole = len(ticks) // chunk * chunk
    for number, tick in enumerate(ticks):
        keeper.take(tick, (), origins.get(tick.number))
        if number < whole and number % chunk == chunk - 1:
            keeper.write_chunk()
    keeper.close()
    return path


def again(path, engine="interpreted", other=None, **asked):
    with Reader(path) as reader:
        [found] = reader.sessions()
        return replay(reader, found, other or constants(), engine=engine, **asked)


@settings(max_examples=50, deadline=None)
@given(TICKS)
def test_columns_of_a_block_are_those_of_a_tick(tick):
    """Each number at the place that the journal's layout gives it."""
    layout = layout_of()
    words = block([packed(tick, layout), packed(tick, layout)])
    floats, wholes = [math.nan] * 2 * (len(FLOATS) + 2), [0] * 2 * (OUTCOME - len(FLOATS) - 2)
    came = words[4 : len(layout.inputs)].view(np.float64).reshape(-1).tolist()
    assert repr(readings_at(came, 2, 1)) == repr(tick.readings)
    assert requests_at(asked(tick.requests)) == tick.requests
    for at in (0, 1):
        put_floats(floats, 2, at, tick.state, tick.commands)
        put_wholes(wholes, 2, at, tick.state, tick.commands)
    outcome = np.concatenate((np.array(floats).view(np.uint64),
                              np.array(wholes, np.int64).view(np.uint64)))  # fmt: skip
    assert outcome.tobytes() == words[len(layout.inputs) :].tobytes()


@pytest.mark.parametrize("engine", ["interpreted", "compiled"])
def test_the_same_logic_decides_the_same(tmp_path, engine):
    made = night()
    path = journal(tmp_path / "j", made.ticks, dict(made.origins))
    found = again(path, engine)
    assert (found.ticks, found.first, found.last) == (1440, 0, 1439)
    assert found.differs is None
    assert found.acts is None
    assert found.taken == []
    assert found.logged == found.now
    names = [row.name for row in begun(found.now)]
    assert names[:2] == ["C02", "C01"]
    assert phases(found.now)[:2] == [(0.0, "run"), (180.25, "no-flow fault")]
    assert begun(found.now)[0].first_out


def test_a_restart_of_the_board_is_replayed_as_it_was(tmp_path):
    made = night()
    ticks, state = [], made.first
    decider = Redecider(constants(), "interpreted")
    words = block([packed(tick, layout_of()) for tick in made.ticks[:600]])
    inputs = words[: len(layout_of().inputs)]
    outcome = np.zeros((OUTCOME, 600), np.uint64)
    state = decider.decide(inputs, outcome, 0, 300, state)
    origins = {0: made.first, 300: after_reboot(state)}
    decider.decide(inputs, outcome, 300, 600, origins[300])
    ticks = [
        unpacked(np.concatenate((inputs[:, at], outcome[:, at])).tobytes(), layout_of())
        for at in range(600)
    ]
    path = journal(tmp_path / "j", ticks, dict(origins))
    found = again(path)
    assert found.differs is None
    assert found.taken == []
    untold = journal(tmp_path / "k", ticks, {0: made.first})
    assert again(untold).differs.number == 300


@pytest.mark.parametrize("number", [0, 100, 239, 240, 1439])
def test_the_first_tick_that_differs_is_named(tmp_path, number):
    made = night()
    ticks = list(made.ticks)
    warm = ticks[number].readings._replace(coil_outlet_a_c=50.0)
    ticks[number] = ticks[number]._replace(readings=warm)
    found = again(journal(tmp_path / "j", ticks, dict(made.origins)))
    assert found.differs.number == number
    assert found.differs.time_s == ticks[number].readings.time_s
    assert found.differs.names


def test_one_bit_of_the_memory_differs(tmp_path):
    made = night()
    ticks = list(made.ticks)
    state = ticks[700].state
    ages = state.ages._replace(heat_s=math.nextafter(state.ages.heat_s, math.inf))
    ticks[700] = ticks[700]._replace(state=state._replace(ages=ages))
    found = again(journal(tmp_path / "j", ticks, dict(made.origins)))
    assert found.differs.number == 700
    assert found.differs.names == ("ages_heat_s",)
    assert found.differs.logged == math.nextafter(found.differs.now, math.inf)
    assert found.acts is None


def test_other_constants_trip_at_another_time(tmp_path):
    made = night()
    path = journal(tmp_path / "j", made.ticks, dict(made.origins))
    limits = constants().limits
    outlet_c = made.ticks[400].readings.coil_outlet_a_c
    lower = changed(constants(), limits=limits._replace(outlet_dump_c=outlet_c - 2.0))
    found = again(path, other=lower)
    early = next(row for row in begun(found.now) if row.name == "C03")
    assert early.time_s < 180.0
    assert "C03" not in [row.name for row in begun(found.logged) if row.time_s < 180.0]
    assert found.acts.number == early.number
    assert found.logged == again(path).logged


def test_a_range_begins_with_what_was_remembered(tmp_path):
    made = night()
    path = journal(tmp_path / "j", made.ticks, dict(made.origins))
    found = again(path, first=300, last=1400)
    assert (found.first, found.last, found.ticks) == (300, 1400, 1101)
    assert found.differs is None
    assert found.taken == []
    with pytest.raises(NoSuchTicks):
        again(path, first=5000)


def test_after_a_gap_one_tick_is_believed(tmp_path):
    made = night()
    ticks = [tick for tick in made.ticks if not 500 <= tick.number < 520]
    found = again(journal(tmp_path / "j", ticks, dict(made.origins)))
    assert found.taken == [520]
    assert found.differs is None
    assert found.ticks == len(ticks)


def test_speed_holds_it_back(tmp_path):
    made = night()
    path = journal(tmp_path / "j", made.ticks[:480], dict(made.origins))
    began_s = time.perf_counter()
    found = again(path, "compiled", speed=100.0)
    assert time.perf_counter() - began_s >= 1.1
    assert found.x_real_time <= 101.0
    assert found.differs is None


def test_no_ticks_of_another_version(tmp_path):
    made = night()
    path = journal(tmp_path / "j", made.ticks[:10], dict(made.origins))
    with Reader(path) as reader:
        [found] = reader.sessions()
        other = found._replace(layout=found.layout._replace(memory=MEMORY[1:]))
        with pytest.raises(ValueError, match="another version"):
            replay(reader, other, constants())
