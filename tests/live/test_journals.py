"""A journal as a source: followed while another process writes it, and replayed."""

from __future__ import annotations

import time

import pytest

from coilward.desk.live.buttons import Buttons
from coilward.desk.live.journals import JournalSource, ReplaySource
from coilward.desk.live.watching import Watching
from coilward.hil.journal.writer import Writer
from coilward.hil.tick import flat
from coilward.loop.errors import InputRefused
from tests.hil.made import night, session


def written(path, ticks, kind="rehearsal", made=None):
    writer = Writer(path, (made or session())._replace(kind=kind), night().first)
    for tick in ticks:
        writer.put(tick)
    return writer


def closed(path, ticks, **more):
    writer = written(path, ticks, **more)
    writer.close()
    return str(path)


def until(source, count, within_s=10.0):
    found, until_s = [], time.monotonic() + within_s
    while len(found) < count and time.monotonic() < until_s:
        found += source.new()
        time.sleep(0.01)
    return found


def test_what_is_written_comes_out_as_it_was(tmp_path):
    clock = [0.0]
    path = closed(tmp_path / "night.db", night().ticks)
    source = JournalSource(path, None, lambda: clock[0])
    found = list(source.new())
    assert found[-1] == night().ticks[-1] or flat(found[-1].state) == flat(night().ticks[-1].state)
    numbers = [tick.number for tick in found]
    last = len(night().ticks) - 1
    assert numbers[-240:] == list(range(last - 239, last + 1))
    assert all(number % 4 == 0 for number in numbers[:-241])
    assert source.kind == "a rehearsal of greenhouse: a short night"
    assert not source.live
    assert list(source.new()) == []
    assert not source.over()
    clock[0] = 2.0
    assert source.over()


def test_it_follows_what_is_being_written(tmp_path):
    path, ticks = tmp_path / "run.db", night().ticks
    writer = written(path, ticks[:400], kind="run")
    until_s = time.monotonic() + 10
    while time.monotonic() < until_s:
        try:
            source = JournalSource(str(path), None)
            break
        except InputRefused:
            time.sleep(0.05)
    first = until(source, 1)
    until_s = time.monotonic() + 5
    while first[-1].number < 399 and time.monotonic() < until_s:
        first += source.new()
        time.sleep(0.02)
    for tick in ticks[400:480]:
        writer.put(tick)
    later = until(source, 80)
    writer.close()
    assert [tick.number for tick in later] == list(range(400, 480))
    assert source.live
    assert not source.over()


def test_a_session_of_the_same_loop_is_gone_on_with_and_another_loop_is_not(tmp_path):
    path, ticks = tmp_path / "two.db", night().ticks
    closed(path, ticks[:200], kind="run")
    source = JournalSource(str(path), None)
    assert list(source.new())[-1].number == 199
    closed(path, ticks[:50], kind="run")
    assert [tick.number for tick in until(source, 50)] == list(range(50))
    closed(path, ticks[:300], kind="run", made=session("boathouse"))
    time.sleep(0.1)
    assert list(source.new()) == []


@pytest.mark.parametrize("speed", [0.5, 10.0, 1000.0])
def test_a_replay_runs_at_its_speed_to_its_end(tmp_path, speed):
    clock = [100.0]
    path = closed(tmp_path / "night.db", night().ticks)
    source = ReplaySource(path, None, speed, lambda: clock[0])
    found = list(source.new())
    assert len(found) == 1
    clock[0] += 8.0
    found += source.new()
    shown_s = min(8.0 * speed, night().ticks[-1].readings.time_s)
    assert found[-1].readings.time_s == pytest.approx(shown_s, abs=0.3)
    clock[0] += 1e6
    found += source.new()
    assert [tick.number for tick in found] == [tick.number for tick in night().ticks]
    assert source.over()
    assert f"{speed:g} times" in source.kind


def test_a_silence_in_a_journal_is_not_waited_for(tmp_path):
    ticks = night().ticks
    path = closed(tmp_path / "gap.db", [*ticks[:100], *ticks[900:1000]])
    clock = [0.0]
    source = ReplaySource(path, None, 1.0, lambda: clock[0])
    found = list(source.new())
    for _ in range(60):
        clock[0] += 1.0
        found += source.new()
    assert [tick.number for tick in found] == [*range(100), *range(900, 1000)]


def test_what_is_no_journal_of_ours_is_refused(tmp_path):
    with pytest.raises(InputRefused, match="no such file"):
        JournalSource(str(tmp_path / "missing.db"), None)
    (tmp_path / "text").write_text("hello")
    with pytest.raises(InputRefused, match="no journal"):
        JournalSource(str(tmp_path / "text"), None)
    closed(tmp_path / "empty.db", [])
    with pytest.raises(InputRefused, match="nothing has been written"):
        JournalSource(str(tmp_path / "empty.db"), None)
    other = session()._replace(checksum=1)
    path = closed(tmp_path / "other.db", night().ticks[:9], made=other)
    with pytest.raises(InputRefused, match="other numbers"):
        JournalSource(path, None)


def test_the_page_tells_a_journal_s_end_as_the_rules_do(tmp_path):
    path = closed(tmp_path / "night.db", night().ticks)
    clock = [0.0]
    source = JournalSource(path, None, lambda: clock[0])
    watching = Watching(source, Buttons(None, "none here"), lambda: clock[0])
    watching.take()
    assert not watching.told()["over"]
    clock[0] = 3.0
    said = watching.told()
    assert said["sentence"].startswith("GET BACK. Coil may be dry")
    assert said["over"]
    assert not said["stale"]
    assert any(each["first_out"] for each in said["alarms"])
