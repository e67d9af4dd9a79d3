"""What goes into a journal comes out of it, bit for bit, and never stops control."""

from __future__ import annotations

import math
import os
import sqlite3
import struct
import subprocess
import sys
import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilward.controller.state import YES, after_reboot, first_state
from coilward.controller.types import Commands, Readings
from coilward.hil.journal.layout import ours
from coilward.hil.journal.packing import pack, row_of, tick_of, unpack
from coilward.hil.journal.reader import Reader, last_state
from coilward.hil.journal.schema import AFTER_S, BEFORE_S, FLOAT_NAMES, WHOLE_NAMES
from coilward.hil.journal.writer import Writer
from coilward.hil.tick import FIELDS, Tick, digest, requests_of
from coilward.loop.errors import InputRefused
from tests.controller.rig import constants_of
from tests.controller.strategies import STATES
from tests.hil.ticks import WALL_S, session, ticks

FLOATS = st.floats(width=64)


def bits(tick):
    """A tick as text that tells NaN from NaN by nothing else than its place."""
    return repr(tick)


def written(path, made, *, lines=(), start=None, **options):
    writer = Writer(path, start or session(), wait=True, **options)
    for tick in made:
        writer.put(tick, lines)
    writer.close()
    assert (writer.dropped, writer.trouble) == (0, None)
    return made


@pytest.fixture(scope="module")
def night(tmp_path_factory):
    path = tmp_path_factory.mktemp("journal") / "night.db"
    made = list(ticks(1000, raw=3, no_flow_at=700))
    return path, written(path, made, start=session(raw=("a", "b", "c")))


@given(
    STATES, st.lists(FLOATS, min_size=25, max_size=25), st.lists(FLOATS, min_size=4, max_size=4),
    st.integers(0, 2**14 - 1), st.integers(0, 2**62), st.sampled_from([0, 2]),
)  # fmt: skip
def test_every_number_of_a_tick_there_and_back(state, readings, four, mask, number, raw):
    commands = Commands(True, four[0], four[1], False, True, 3, False)
    tick = Tick(number, four[2], four[3], tuple(readings[:raw]), Readings(*readings),
                requests_of(mask), commands, state)  # fmt: skip
    assert bits(tick_of(row_of(tick, 2))) == bits(tick)


@given(st.data())
def test_a_table_of_words_there_and_back(data):
    columns, rows = data.draw(st.integers(0, 6)), data.draw(st.integers(0, 40))
    word = st.integers(0, 2**64 - 1) | st.sampled_from([0, 1, 2**63, 2**64 - 1])
    table = np.array(
        data.draw(st.lists(st.lists(word, min_size=rows, max_size=rows), min_size=columns,
                           max_size=columns)), np.uint64,
    ).reshape(columns, rows)  # fmt: skip
    assert np.array_equal(unpack(pack(table), columns, rows), table)


@pytest.mark.parametrize("special", [math.nan, math.inf, -math.inf, -0.0, 5e-324])
def test_special_floats_in_a_chunk(special):
    table = np.array([[1.5, special, 2.5, special] * 10, [special] * 40]).view(np.uint64)
    assert np.array_equal(unpack(pack(table), 2, 40), table)


@pytest.mark.parametrize("harm", ["cut", "flip", "other", "bomb"])
def test_damaged_words_are_refused(harm):
    table = np.random.default_rng(1).integers(0, 2**63, (5, 50), np.uint64)
    blob = pack(table)
    if harm == "cut":
        blob = blob[:-9]
    elif harm == "flip":
        blob = blob[:30] + bytes([blob[30] ^ 0xFF]) + blob[31:]
    elif harm == "other":
        blob = pack(table[:4])
    else:
        blob = pack(np.zeros((1000, 50), np.uint64))
    with pytest.raises(ValueError, match=r".") as refused:
        assert np.array_equal(unpack(blob, 5, 50), table)
    assert not isinstance(refused.value, AssertionError)


def test_all_names_lie_in_one_blob_each():
    layout = ours(("x", "y"))
    found = [place for places in layout.places.values() for place in places]
    assert sorted(found) == list(range(len(layout.names)))
    assert len(FLOAT_NAMES) + len(WHOLE_NAMES) == len(FIELDS) + 25 + 7 + 2 + 4


def test_every_tick_is_in_the_journal(night):
    path, made = night
    with Reader(path) as reader:
        kept = reader.sessions()[0]
        assert (kept.first, kept.last, kept.ticks) == (0, 999, 1000)
        for tick in made[::7] + made[235:245] + made[-2:]:
            assert bits(reader.tick(1, tick.number)) == bits(tick)
            assert repr(reader.state_at(1, tick.number)) == repr(tick.state)
        assert reader.state_at(1, 1000) is None
        assert bits(reader.last(1)) == bits(made[-1])
        assert repr(reader.before(1)) == repr(first_state(constants_of(), 4, YES))


def test_columns_are_the_ticks_numbers(night):
    path, made = night
    names = ["coil_outlet_a_c", "outage_s", "mode_phase", "digest", "ages_phase_s", "b"]
    with Reader(path) as reader:
        for since, until in ((0, 2**62), (0, 0), (239, 240), (100, 777), (999, 5000)):
            found = reader.columns(1, names, since, until)
            want = [tick for tick in made if since <= tick.number <= until]
            assert found["number"].tolist() == [tick.number for tick in want]
            outlet = [tick.readings.coil_outlet_a_c for tick in want]
            assert found["coil_outlet_a_c"].tolist() == outlet
            assert np.isnan(found["outage_s"]).all()
            assert found["mode_phase"].tolist() == [tick.state.mode.phase for tick in want]
            assert found["mode_phase"].dtype == np.int64
            assert found["digest"].tolist() == [digest(each.state, each.commands) for each in want]
            assert found["ages_phase_s"].tolist() == [tick.state.ages.phase_s for tick in want]
            assert found["b"].tolist() == [tick.raw[1] for tick in want]
        assert reader.columns(1, [], 2000)["number"].tolist() == []


def test_a_name_or_a_session_that_is_not_there_is_refused(night):
    with Reader(night[0]) as reader:
        with pytest.raises(InputRefused, match="no number is called nothing"):
            reader.columns(1, ["nothing"])
        with pytest.raises(InputRefused, match="no session 7"):
            reader.columns(7, ["tank_c"])


def test_trips_and_the_lines_around_them(tmp_path):
    made = list(ticks(6000, no_flow_at=3000))
    writer = Writer(tmp_path / "a.db", session(), wait=True)
    for tick in made:
        writer.put(tick, [(tick.readings.time_s, tick.number % 2 == 0, b"%d\n" % tick.number)])
    writer.close()
    with Reader(tmp_path / "a.db") as reader:
        at = [trip.number for trip in reader.trips(1)]
        lines = {frame.number: frame for frame in reader.frames(1)}
    assert any(3000 <= number <= 3010 for number in at)
    tick_s = constants_of().tick_s
    wanted = {
        number for trip in at
        for number in range(max(0, trip - round(BEFORE_S / tick_s)),
                            min(6000, trip + round(AFTER_S / tick_s) + 1))
    }  # fmt: skip
    assert 0 < len(wanted) < 6000
    assert wanted <= set(lines)
    # What was remembered from before is cleared in steps, so a little more may stand there.
    assert len(set(lines) - wanted) <= len(at) * round(BEFORE_S / tick_s)
    assert all(frame.text == b"%d\n" % number for number, frame in lines.items())
    assert lines[at[0]].sent == (at[0] % 2 == 0)


def test_a_reader_follows_a_writer(tmp_path):
    path, made = tmp_path / "a.db", list(ticks(600))
    writer = Writer(path, session())
    while not path.exists() or not path.stat().st_size:
        time.sleep(0.02)
    time.sleep(0.2)
    with Reader(path) as reader:
        seen = 0
        for tick in made:
            writer.put(tick)
            if tick.number % 100 == 50:
                until = time.monotonic() + 10.0
                while (reader.last(1) or made[0]).number < tick.number:
                    assert time.monotonic() < until
                    time.sleep(0.01)
                assert reader.changed()
                assert bits(reader.last(1)) == bits(tick)
                numbers = reader.columns(1, [])["number"].tolist()
                assert numbers == list(range(len(numbers)))
                assert len(numbers) > tick.number
                seen += 1
        assert seen == 6
        writer.close()
        assert reader.changed()
        assert not reader.changed()


def test_restarts_are_sessions_of_one_file(tmp_path):
    path = tmp_path / "a.db"
    first = written(path, list(ticks(300)))
    again = after_reboot(first[-1].state)
    second = written(path, list(ticks(50, state=again)), start=session(before=again, kind="bench"))
    with Reader(path) as reader:
        assert [(kept.kind, kept.ticks) for kept in reader.sessions()] == [
            ("run", 300), ("bench", 50),
        ]  # fmt: skip
        assert bits(reader.last()) == bits(second[-1])
        assert repr(reader.before(2)) == repr(again)
    state, kept = last_state(path)
    assert repr(state) == repr(second[-1].state)
    assert kept.kind == "bench"


def test_a_journal_without_ticks_has_no_last_state(tmp_path):
    written(tmp_path / "a.db", [])
    assert last_state(tmp_path / "a.db") is None


def test_a_clock_that_jumps_changes_no_order(tmp_path):
    jumps = [0.0, -1e9, 3e8, math.nan, math.inf]
    made = [
        tick._replace(wall_s=WALL_S + jumps[tick.number % 5]) for tick in ticks(500)
    ]  # fmt: skip
    written(tmp_path / "a.db", made)
    with Reader(tmp_path / "a.db") as reader:
        assert reader.columns(1, [])["number"].tolist() == list(range(500))
        assert bits(reader.last(1)) == bits(made[-1])


def test_notes(tmp_path):
    writer = Writer(tmp_path / "a.db", session())
    writer.note("3 kg of birch; wind", WALL_S)
    writer.close()
    with Reader(tmp_path / "a.db") as reader:
        assert [(note.session, note.wall_s, note.text) for note in reader.notes()] == [
            (1, WALL_S, "3 kg of birch; wind")
        ]


def test_what_no_row_holds_is_dropped_and_counted(tmp_path):
    good, other = list(ticks(2))
    said = []
    writer = Writer(tmp_path / "a.db", session(), say=said.append)
    huge = other.state._replace(raised=2**80)
    for odd in (other._replace(raw=(1.0,)), other._replace(state=huge), other._replace(state=None)):
        writer.put(odd)
    writer.put(good, ["no line at all", 5])
    writer.put(good)
    writer.close()
    assert writer.dropped == 4
    assert said == []
    with Reader(tmp_path / "a.db") as reader:
        assert bits(reader.last(1)) == bits(good)


def test_a_queue_that_is_full_drops_and_never_waits(tmp_path, monkeypatch):
    monkeypatch.setattr(Writer, "_run", lambda self: self._closing.wait())
    writer = Writer(tmp_path / "a.db", session())
    tick = next(ticks(1))
    began_s = time.perf_counter()
    for _ in range(5000):
        writer.put(tick)
    assert time.perf_counter() - began_s < 1.0
    assert writer.dropped == 5000 - 4096 + 1
    writer.close()


def test_a_locked_journal_loses_ticks_says_so_once_and_goes_on(tmp_path, monkeypatch):
    monkeypatch.setattr("coilward.hil.journal.opening.BUSY_S", 0.05)
    path, made, said = tmp_path / "a.db", list(ticks(80)), []
    written(path, [])
    writer = Writer(path, session(), say=said.append)
    writer.put(made[0])
    time.sleep(0.5)
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    for tick in made[1:40]:
        writer.put(tick)
        time.sleep(0.01)
    time.sleep(0.5)
    assert writer.trouble
    other.execute("COMMIT")
    other.close()
    time.sleep(0.2)
    for tick in made[40:]:
        writer.put(tick)
    writer.close()
    assert writer.dropped == 39
    assert len(said) == 2
    assert "can't be written" in said[0]
    assert "39 ticks are not in it" in said[1]
    with Reader(path) as reader:
        assert reader.columns(2, [])["number"].tolist() == [0, *range(40, 80)]
        assert [note.text for note in reader.notes()] == ["39 ticks could not be written"]


FULL = """
import resource, signal, sys, time
from coilward.hil.journal.writer import Writer
from tests.hil.ticks import session, ticks
resource.setrlimit(resource.RLIMIT_FSIZE, (300_000, 300_000))
said = []
writer = Writer(sys.argv[1], session(), say=said.append)
slowest_s = 0.0
for tick in ticks(1500):
    began_s = time.perf_counter()
    writer.put(tick)
    slowest_s = max(slowest_s, time.perf_counter() - began_s)
    if tick.number % 50 == 0:
        time.sleep(0.02)
writer.close()
print(writer.dropped, len(said), slowest_s)
"""


def test_a_full_disk_neither_blocks_nor_raises(tmp_path):
    path = tmp_path / "a.db"
    done = subprocess.run(
        [sys.executable, "-c", FULL, str(path)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    dropped, said, slowest_s = done.stdout.split()
    assert 0 < int(dropped) < 1500
    assert int(said) >= 1
    assert float(slowest_s) < 0.1
    assert "Traceback" not in done.stderr
    with Reader(path) as reader:
        numbers = reader.columns(1, [])["number"]
        assert len(numbers) == 1500 - int(dropped)
    # With room again, the same file goes on.
    written(path, list(ticks(10)))
    with Reader(path) as reader:
        assert reader.sessions()[-1].ticks == 10


@pytest.mark.parametrize("what", ["text", "sqlite", "directory", "none", "empty", "cut", "fifo"])
def test_what_is_no_journal_is_refused_and_left_alone(tmp_path, night, what):
    path = tmp_path / "x.db"
    if what == "text":
        path.write_text("no journal\n" * 50)
    elif what == "sqlite":
        db = sqlite3.connect(path)
        db.execute("CREATE TABLE session (id)")
        db.commit()
        db.close()
    elif what == "directory":
        path.mkdir()
    elif what == "empty":
        path.touch()
    elif what == "cut":
        path.write_bytes(night[0].read_bytes()[:5000])
    elif what == "fifo":
        os.mkfifo(path)
    before = path.read_bytes() if path.is_file() else None
    with pytest.raises(InputRefused):
        Reader(path)
    if what not in ("none", "empty", "cut"):
        with pytest.raises(InputRefused):
            Writer(path, session())
    assert before is None or path.read_bytes() == before


def test_no_row_is_a_struct_of_another_length():
    with pytest.raises((ValueError, struct.error)):
        tick_of(b"short")
