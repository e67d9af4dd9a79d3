"""The journal as a file: written, read, checked, thinned, and left behind."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from coilward.controller.interlocks import ROWS
from coilward.controller.phases import DUMP, NO_FLOW, RUN
from coilward.hil.journal import keeping
from coilward.hil.journal.check import check
from coilward.hil.journal.keeping import CHUNK_S, Keeper
from coilward.hil.journal.layout import block, packed, row_of
from coilward.hil.journal.noting import add_note
from coilward.hil.journal.reader import Reader, last_state
from coilward.hil.journal.retention import thin
from coilward.hil.journal.trips import is_trip
from coilward.hil.journal.writer import Writer
from coilward.loop.errors import InputRefused
from tests.hil.made import constants, night, session

ROOT = Path(__file__).parents[2]


def written(path, ticks, first, frames=()):
    """By the thread, as a run does it."""
    writer = Writer(path, session(), first)
    for tick in ticks:
        writer.put(tick, frames)
    writer.close()
    assert writer.dropped == 0
    return writer.session


def test_every_tick_is_there_in_chunks_and_rows(tmp_path):
    made = night()
    written(tmp_path / "j", made.ticks, made.first)
    with Reader(tmp_path / "j") as reader:
        [found] = reader.sessions()
        assert found == session()._replace(number=1)
        assert reader.span(found) == (0, len(made.ticks) - 1)
        assert list(reader.chunks(found))
        assert reader.recent(found)
        for number in (0, 239, 240, 700, len(made.ticks) - 1):
            assert repr(reader.tick_at(found, number)) == repr(made.ticks[number])
        assert reader.state_at(found, len(made.ticks)) is None
        assert repr(reader.origins(found)) == repr({0: made.first})
    assert check(tmp_path / "j") == (len(made.ticks), 0, ())


def test_columns_by_name_and_range(tmp_path):
    made = night()
    written(tmp_path / "j", made.ticks, made.first)
    names = ["number", "tank_c", "pump", "watch_slow_a_c", "mode_phase"]
    with Reader(tmp_path / "j") as reader:
        [found] = reader.sessions()
        table = reader.columns(found, names, 200, 1300)
        part = made.ticks[200:1301]
        assert table["number"].tolist() == list(range(200, 1301))
        assert table["tank_c"].tolist() == [tick.readings.tank_c for tick in part]
        assert table["pump"].tolist() == [tick.commands.pump for tick in part]
        assert table["watch_slow_a_c"].tolist() == [tick.state.watch.slow_a_c for tick in part]
        assert table["mode_phase"].dtype == np.int64
        last = reader.last(found, 3, ["number"])
        assert last["number"].tolist() == [len(made.ticks) - 3 + k for k in range(3)]
        assert reader.columns(found, names, 5000)["tank_c"].shape == (0,)
        with pytest.raises(KeyError):
            reader.columns(found, ["no such name"])


def test_a_reader_sees_what_a_writer_just_wrote(tmp_path):
    made = night()
    writer = Writer(tmp_path / "j", session(), made.first)
    with Reader(tmp_path / "j") as reader:
        assert reader.changed()
        assert not reader.changed()
        assert reader.span(writer.session) is None
        assert last_state(tmp_path / "j") is None
        writer.put(made.ticks[0])
        late_s = time.monotonic() + 1.0
        while reader.span(writer.session) is None and time.monotonic() < late_s:
            time.sleep(0.005)
        assert reader.span(writer.session) == (0, 0)
        assert reader.changed()
    writer.close()


def test_a_run_goes_on_from_its_last_state(tmp_path):
    made = night()
    written(tmp_path / "j", made.ticks[:700], made.first)
    found, tick = last_state(tmp_path / "j")
    assert found.checksum == constants().checksum == found.constants().checksum
    assert repr(tick) == repr(made.ticks[699])
    assert repr(last_state(tmp_path / "j", found.kind)) == repr((found, tick))
    assert last_state(tmp_path / "j", "bench" if found.kind != "bench" else "run") is None
    second = written(tmp_path / "j", made.ticks[700:710], tick.state)
    assert second.number == 2
    with Reader(tmp_path / "j") as reader:
        assert reader.recent(reader.sessions()[0]) == []
    assert check(tmp_path / "j") == (710, 0, ())


def test_frames_are_kept_from_two_minutes_before_a_trip_to_ten_after(tmp_path):
    made = night()
    keeper = Keeper(tmp_path / "j", session(), made.first)
    for tick in made.ticks:
        keeper.take(tick, (b"came %d" % tick.number, "told"))
    after = made.ticks[-1]
    for number in range(len(made.ticks), len(made.ticks) + 3000):
        keeper.take(after._replace(number=number), (b"after",))
        if number % 1000 == 0:
            keeper.write()
    keeper.close()
    with Reader(tmp_path / "j") as reader:
        [found] = reader.sessions()
        trips, frames = reader.trips(found), reader.frames(found)
        assert trips[0].phase == NO_FLOW
        assert 720 < trips[0].number < 740
        assert frames[0] == (trips[0].number - 480, b"came %d" % (trips[0].number - 480))
        assert frames[1].line == b"told"
        assert frames[-1].number == trips[-1].number + 2400
        numbers = [frame.number for frame in frames]
        assert sorted(set(numbers)) == list(range(numbers[0], numbers[-1] + 1))


def test_what_a_trip_is():
    calm = night().ticks[0].state
    assert calm.mode.phase == RUN
    assert not is_trip(calm, calm)
    loud = next(place for place, row in enumerate(ROWS) if row.rank == 2)
    quiet = next(place for place, row in enumerate(ROWS) if row.rank == 3)
    assert is_trip(calm, calm._replace(raised=calm.raised | 1 << loud))
    assert not is_trip(calm._replace(raised=1 << loud), calm)
    assert not is_trip(calm, calm._replace(raised=1 << quiet))
    both = calm._replace(raised=1 << loud | 1 << quiet)
    assert not is_trip(calm._replace(raised=1 << loud), both)
    dump = calm._replace(mode=calm.mode._replace(phase=DUMP))
    assert is_trip(calm, dump)
    assert not is_trip(dump, calm)


def test_a_note_beside_the_ticks(tmp_path):
    made = night()
    writer = Writer(tmp_path / "j", session(), made.first)
    writer.put(made.ticks[0])
    writer.close()
    add_note(tmp_path / "j", "the lid was open", 1.5)
    with Reader(tmp_path / "j") as reader:
        assert reader.notes() == [(1.5, 1, 0, "the lid was open")]


# ---- what goes wrong --------------------------------------------------------------------------


def test_at_kill_9_at_most_a_second_is_lost():
    done = subprocess.run(
        [sys.executable, "-m", "benchmarks.killed", "--times", "30", "--seed", "3", "--json"],
        cwd=ROOT, capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    told = json.loads(done.stdout)
    assert told["killed"] == 30
    assert told["most_lost_s"] <= 1.0
    assert told["faults"] == []


FULL = """
import json, resource, signal, sys, time
from coilward.hil.journal.writer import Writer
from tests.hil.made import night, session
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
made, said, slowest_s = night(), [], 0.0
writer = Writer(sys.argv[1], session(), made.first, said.append)
(soft, hard), number = resource.getrlimit(resource.RLIMIT_FSIZE), 0
def put(count):
    global number, slowest_s
    for _ in range(count):
        tick = made.ticks[number % 700]._replace(number=number)
        began_s = time.perf_counter()
        writer.put(tick)
        slowest_s, number = max(slowest_s, time.perf_counter() - began_s), number + 1
        if number % 20 == 0:
            time.sleep(0.005)
put(100)
resource.setrlimit(resource.RLIMIT_FSIZE, (400_000, hard))
put(4000)
time.sleep(1.5)
trouble, dropped = writer.trouble, writer.dropped
resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
time.sleep(2.5)
put(10)
writer.close()
print(json.dumps([slowest_s, trouble, dropped, writer.dropped, writer.trouble, said, number]))
"""


def test_a_full_disk_neither_blocks_nor_raises(tmp_path):
    done = subprocess.run(
        [sys.executable, "-c", FULL, str(tmp_path / "j")], cwd=ROOT, capture_output=True,
        text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    slowest_s, trouble, dropped, in_all, left, said, number = json.loads(done.stdout)
    assert slowest_s < 0.25
    assert trouble
    assert left == ""
    assert 0 < dropped == in_all < 4000
    assert [words.split(":")[0] for words in said] == [
        "the journal can't be written", "the journal is written again",
    ]  # fmt: skip
    with Reader(tmp_path / "j") as reader:
        [found] = reader.sessions()
        numbers = reader.columns(found, ["number"])["number"]
        [event] = reader.events()
        assert event.words.startswith(f"{in_all} ticks were not kept: ")
        [gap] = np.flatnonzero(np.diff(numbers) != 1)
        after = int(numbers[gap + 1])
        before = night().ticks[(after - 1) % 700].state
        assert repr(reader.origins(found)[after]) == repr(before)
    assert len(numbers) + in_all == number == numbers[-1] + 1
    assert check(tmp_path / "j").faults == (
        f"session 1: {in_all} ticks are missing after tick {numbers[gap]}",
    )


def test_a_thread_that_hangs_costs_ticks_and_never_time(tmp_path, monkeypatch):
    monkeypatch.setattr("coilward.hil.journal.writer.QUEUED", 5)
    made = night()
    writer = Writer(tmp_path / "j", session(), made.first)
    other = sqlite3.connect(tmp_path / "j", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    for tick in made.ticks[:50]:
        writer.put(tick)
        time.sleep(0.002)
    assert writer.dropped > 0
    other.execute("COMMIT")
    other.close()
    time.sleep(0.5)
    writer.put(made.ticks[50])
    writer.close()
    with Reader(tmp_path / "j") as reader:
        origins = reader.origins(reader.sessions()[0])
        assert repr(origins[50]) == repr(made.ticks[49].state)


def test_a_tick_that_is_none_does_not_stop_the_journal(tmp_path):
    made, said = night(), []
    writer = Writer(tmp_path / "j", session(), made.first, said.append)
    writer.put(made.ticks[0]._replace(readings=("nonsense",)))
    writer.put(made.ticks[1])
    writer.close()
    assert writer.dropped == 1
    assert len(said) == 1
    with Reader(tmp_path / "j") as reader:
        assert reader.span(writer.session) == (1, 1)


def test_a_clock_that_jumps_changes_no_order_and_ages_nothing(tmp_path):
    made = night()
    jumps = {100: -86400.0, 300: 40.0 * 365 * 86400.0, 900: -2e9}
    shift_s, ticks = 0.0, []
    for tick in made.ticks:
        shift_s += jumps.get(tick.number, 0.0)
        ticks.append(tick._replace(wall_s=tick.wall_s + shift_s))
    written(tmp_path / "j", ticks, made.first)
    keeper = Keeper(tmp_path / "j", session(), made.first)
    thin(keeper.connection)
    keeper.close()
    with Reader(tmp_path / "j") as reader:
        table = reader.columns(reader.sessions()[0], ["number", "wall_s"])
        assert table["number"].tolist() == list(range(len(ticks)))
        assert table["wall_s"].tolist() == [tick.wall_s for tick in ticks]


@pytest.mark.parametrize("part", ["inputs", "memory", "facts", "hash"])
def test_a_changed_byte_is_found(tmp_path, part):
    made = night()
    written(tmp_path / "j", made.ticks, made.first)
    database = sqlite3.connect(tmp_path / "j")
    [(blob,)] = database.execute(f"SELECT {part} FROM chunk WHERE id = 2").fetchall()
    # Not one in the middle: another way to say "as before" would unpack to the same numbers.
    changed = blob[:-1] + bytes([blob[-1] ^ 1])
    database.execute(f"UPDATE chunk SET {part} = ? WHERE id = 2", (changed,))
    database.commit()
    database.close()
    assert check(tmp_path / "j").faults == ("session 1: ticks 240 to 479 are damaged",)


def test_a_changed_row_is_found(tmp_path):
    made = night()
    written(tmp_path / "j", made.ticks[:10], made.first)
    database = sqlite3.connect(tmp_path / "j")
    [(blob,)] = database.execute("SELECT words FROM recent WHERE number = 5").fetchall()
    database.execute("UPDATE recent SET words = ? WHERE number = 5", (blob[:-1] + b"\1",))
    database.commit()
    database.close()
    assert check(tmp_path / "j").faults == ("session 1: tick 5 of session 1 is not what was "
                                            "written",)  # fmt: skip


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (None, "there is no such file"), (b"", "the file is empty"),
        (b"time s, tank degC\n1, 2\n" * 50, "this is no journal, or a damaged one"),
    ],
)  # fmt: skip
def test_what_is_no_journal_is_refused(tmp_path, content, words):
    if content is not None:
        (tmp_path / "j").write_bytes(content)
    with pytest.raises(InputRefused, match=words):
        Reader(tmp_path / "j")


def test_another_database_is_refused_and_left_alone(tmp_path):
    database = sqlite3.connect(tmp_path / "j")
    database.execute("CREATE TABLE session (id)")
    database.commit()
    database.close()
    before = (tmp_path / "j").read_bytes()
    for attempt in (lambda: Reader(tmp_path / "j"),
                    lambda: Keeper(tmp_path / "j", session(), night().first)):  # fmt: skip
        with pytest.raises(InputRefused, match="but no journal"):
            attempt()
    assert (tmp_path / "j").read_bytes() == before
    with pytest.raises(InputRefused, match="directory"):
        Reader(tmp_path)


def test_a_file_whose_maker_was_killed_at_once_is_begun_again(tmp_path):
    made = night()
    database = sqlite3.connect(tmp_path / "j")
    database.execute("PRAGMA journal_mode=WAL")
    database.close()
    assert (tmp_path / "j").stat().st_size > 0
    written(tmp_path / "j", made.ticks[:10], made.first)
    assert check(tmp_path / "j") == (10, 0, ())


def test_a_truncated_file_is_refused_or_told(tmp_path):
    made = night()
    written(tmp_path / "j", made.ticks, made.first)
    whole = (tmp_path / "j").read_bytes()
    for share in (0.1, 0.5, 0.9):
        (tmp_path / "k").write_bytes(whole[: int(share * len(whole))])
        try:
            faults = check(tmp_path / "k").faults
        except InputRefused:
            continue
        assert faults


# ---- a month ----------------------------------------------------------------------------------

TICKS = 360
"""Ten seconds each: an hour in a chunk."""


def test_a_month_stays_within_its_bound(tmp_path, monkeypatch):
    """Always the same hour, and a trip on the second day; thinned to a tenth, as at four a second
    to a fortieth."""
    monkeypatch.setattr("coilward.hil.journal.packing.LEVEL", 1)
    monkeypatch.setattr("coilward.hil.journal.retention.EVERY_S", 100.0)
    made = night()
    slow = session(tick_s=10.0)
    calm = block([packed(tick, slow.layout) for tick in made.ticks[:TICKS]])
    keeper = Keeper(tmp_path / "j", slow, made.first)
    day, sizes = 24, []
    for chunk in range(30 * day):
        calm[0] = np.arange(chunk * TICKS, (chunk + 1) * TICKS, dtype=np.uint64)
        rows = [row_of(calm, place) for place in range(TICKS)]
        with keeping.changing(keeper.connection):
            keeping.put_chunk(keeper.connection, keeper.session, rows)
            if chunk == day:
                keeper.connection.execute(
                    "INSERT INTO trip VALUES (1, ?, 0.0, 6, 1)", (chunk * TICKS + 300,)
                )
        if chunk % day == day - 1:
            thin(keeper.connection)
            keeper.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
            sizes.append((tmp_path / "j").stat().st_size)
    keeper.close()
    # Fifteen whole days, and from then on a tenth of a day or less for each day more.
    assert sizes[-1] < 1.1 * sizes[14]
    with Reader(tmp_path / "j") as reader:
        [found] = reader.sessions()
        number = reader.columns(found, ["number"])["number"]
        per_day = np.bincount(number // 8640, minlength=30)
        assert per_day[16:].tolist() == [8640] * 14
        assert per_day[0] == per_day[5] == 864
        trip = day * TICKS + 300
        around = number[(number >= trip - 12) & (number <= trip + 60)]
        assert around.tolist() == list(range(trip - 12, trip + 61))
        assert reader.state_at(found, trip) is not None
        assert reader.state_at(found, 8640 * 5) is None
    assert check(tmp_path / "j").faults == ()


def test_what_was_thinned_goes_in_the_end(tmp_path, monkeypatch):
    monkeypatch.setattr("coilward.hil.journal.retention.TOGETHER", 3)
    made = night()
    keeper = Keeper(tmp_path / "j", session(), made.first)
    calm = made.ticks[:700]
    for number in range(6000):
        keeper.take(calm[number % 700]._replace(number=number))
        if number % round(CHUNK_S / 0.25) == 239:
            keeper.write_chunk()
    thin(keeper.connection, full_s=600.0, thinned_s=1000.0)
    keeper.close()
    with Reader(tmp_path / "j") as reader:
        number = reader.columns(reader.sessions()[0], ["number", "pump"])["number"]
    assert number[-2400:].tolist() == list(range(3600, 6000))
    assert set(np.diff(number[:-2400]).tolist()) == {40}
    assert 0 < number[0] <= 2000
    assert number[0] % 720 == 0
