"""`coilward run` as a person starts it: a pretended board, Ctrl-C, kill -9, and going on."""

from __future__ import annotations

import io
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing, contextmanager, suppress
from pathlib import Path

import pytest

from coilward.controller.phases import PHASES
from coilward.desk.run_page import heard
from coilward.hil.journal.reader import Reader, last_state
from coilward.loop.errors import InputRefused
from coilward.loop.shipped import WRITTEN, loop_text

ROOT = Path(__file__).parents[2]
ENV = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}
SURELY_S = 120.0


@contextmanager
def started(*command, cwd, **more):
    with subprocess.Popen(
        [sys.executable, *command], cwd=cwd, text=True, env=ENV, stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT, start_new_session=True, **more,
    ) as process:  # fmt: skip
        try:
            yield process
        finally:
            with suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)


def run(*args, cwd):
    return started("-m", "coilward", "run", "greenhouse", "--page-port", "0", *args, cwd=cwd)


def until(process, words):
    """What was said up to these words."""
    said = ""
    end_s = time.monotonic() + SURELY_S
    for line in process.stdout:
        said += line
        if words in line:
            return said
        assert time.monotonic() < end_s, said
    raise AssertionError(said)


def wait_for_tick(journal, fits):
    """Until the journal's last tick fits."""
    end_s = time.monotonic() + SURELY_S
    while time.monotonic() < end_s:
        with suppress(InputRefused, FileNotFoundError):
            found = last_state(journal)
            if found is not None and fits(found[1]):
                return
        time.sleep(0.1)
    raise AssertionError("no such tick came")


def test_a_cold_board_is_left_at_rest(tmp_path):
    with run("--pretend", "--times", "4", cwd=tmp_path) as process:
        until(process, "standby")
        wait_for_tick(tmp_path / "greenhouse.journal", lambda tick: tick.number > 8)
        os.kill(process.pid, signal.SIGINT)
        said = process.stdout.read()
        assert process.wait(SURELY_S) == 0
    assert "Ended" in said
    assert "port lost 0 times" in " ".join(said.split())


def test_a_fire_is_not_left_by_one_slip_of_the_hand(tmp_path):
    with run("--pretend", "--night", "largest-held", "--times", "2", cwd=tmp_path) as process:
        until(process, "run, fire yes")
        os.kill(process.pid, signal.SIGINT)
        until(process, "A fire may be in, and nobody decides")
        os.kill(process.pid, signal.SIGINT)
        assert "Ended" in process.stdout.read()
        assert process.wait(SURELY_S) == 1


def test_a_killed_run_goes_on_where_it_was(tmp_path):
    """The board lives on, falls to its safe outputs, and is heard again by the next run."""
    journal = tmp_path / "greenhouse.journal"
    board = ["-m", "coilward.hil.plain_board", "greenhouse", "--on", "tcp", "--times", "2",
             "--today", str(WRITTEN)]  # fmt: skip
    with started(*board, cwd=tmp_path) as plant:
        port = plant.stdout.readline().strip()
        with run("--port", port, cwd=tmp_path) as process:
            wait_for_tick(journal, lambda tick: tick.number > 8)
            os.kill(process.pid, signal.SIGKILL)
            process.wait(SURELY_S)
        before = last_state(journal)[1]
        time.sleep(2.0)
        with run("--port", port, cwd=tmp_path) as process:
            until(process, "standby")
            end_s = time.monotonic() + SURELY_S
            while last_state(journal)[0].number < 2 and time.monotonic() < end_s:
                time.sleep(0.1)
    with Reader(journal) as reader:
        first, second = reader.sessions()
        first_of = reader.tick_at(second, reader.span(second)[0])
    assert (first.kind, second.kind) == ("run", "run")
    assert PHASES[before.state.mode.phase] == "standby"
    assert first_of.readings.outage_s > 1.5
    assert not first_of.commands.pump


def test_a_loop_that_must_not_be_lit_is_not_driven(tmp_path):
    text = loop_text("greenhouse")
    text = text.replace("vent_always_rising = true", "vent_always_rising = false")
    (tmp_path / "mine.toml").write_text(text, "utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "coilward", "run", "mine.toml", "--pretend", "--on", str(WRITTEN)],
        cwd=tmp_path, env=ENV, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 1
    assert "A board is not driven for such a loop." in done.stdout.replace("\n", " ")
    assert not list(tmp_path.glob("*.journal"))


def test_a_fire_that_was_left_is_driven_all_the_same(tmp_path):
    """What is found against a loop must not leave its fire to nobody."""
    mine = tmp_path / "mine.toml"
    mine.write_text(loop_text("greenhouse"), "utf-8")
    board = ["-m", "coilward.hil.plain_board", "greenhouse", "--on", "tcp", "--times", "2",
             "--night", "largest-held", "--today", str(WRITTEN)]  # fmt: skip
    ours = ["-m", "coilward", "run", "mine.toml", "--page-port", "0", "--on", str(WRITTEN)]
    with started(*board, cwd=tmp_path) as plant:
        port = plant.stdout.readline().strip()
        with started(*ours, "--port", port, cwd=tmp_path) as process:
            until(process, "fire yes")
            wait_for_tick(tmp_path / "greenhouse.journal", lambda tick: tick.state.mode.fire)
            os.kill(process.pid, signal.SIGKILL)
            process.wait(SURELY_S)
        text = mine.read_text("utf-8")
        mine.write_text(text.replace("vent_always_rising = true", "vent_always_rising = false"))
        with started(*ours, "--port", port, cwd=tmp_path) as process:
            said = " ".join(until(process, "fire yes").split())
    assert "the board is driven all the same" in said
    assert "stop" in said


def half_made(path):
    """What a kill leaves in the middle of a change: the file, and the journal that undoes it."""
    first = path.with_suffix(".first")
    with closing(sqlite3.connect(first, isolation_level=None)) as made:
        made.execute("PRAGMA cache_size=1")
        made.execute("PRAGMA user_version=1")
        made.execute("BEGIN IMMEDIATE")
        for number in range(200):
            made.execute(f"CREATE TABLE t{number} (words TEXT)")
        shutil.copy(first, path)
        shutil.copy(f"{first}-journal", f"{path}-journal")
        made.execute("ROLLBACK")
    with pytest.raises(InputRefused, match="readonly"):
        last_state(path)


def test_a_journal_whose_maker_was_killed_at_once_is_begun_anew(tmp_path):
    """Killed before its first row, a run leaves an empty file, or a database without a table."""
    (tmp_path / "empty.journal").touch()
    with closing(sqlite3.connect(tmp_path / "bare.journal")) as made:
        made.execute("PRAGMA journal_mode=WAL")
    half_made(tmp_path / "half.journal")
    for name in ("empty", "bare", "half"):
        journal = tmp_path / f"{name}.journal"
        board = ["-m", "coilward.hil.plain_board", "greenhouse", "--on", "tcp", "--times", "2",
                 "--today", str(WRITTEN)]  # fmt: skip
        with started(*board, cwd=tmp_path) as plant:
            port = plant.stdout.readline().strip()
            with run("--port", port, "--journal", journal, cwd=tmp_path) as process:
                until(process, "standby")
                wait_for_tick(journal, lambda tick: tick.number > 4)


@pytest.mark.parametrize(
    ("args", "words"),
    [
        ([], "one board is wanted"),
        (["--pretend", "--port", "x"], "one board is wanted"),
        (["--port", "socket://127.0.0.1:9"], "this port can't be opened"),
        (["--pretend", "--night", "nothing"], "nothing"),
        (["--pretend", "--journal", "."], "."),
        (["--pretend", "--journal", "no-such/folder/x.journal"], "no-such/folder/x.journal"),
    ],
)
def test_bad_use_is_refused(tmp_path, args, words):
    done = subprocess.run(
        [sys.executable, "-m", "coilward", "run", "greenhouse", *args], cwd=tmp_path, env=ENV,
        capture_output=True, text=True, check=False, timeout=SURELY_S,
    )  # fmt: skip
    assert done.returncode == 2, done.stdout + done.stderr
    assert words in done.stderr
    assert "Traceback" not in done.stderr


def test_only_three_things_are_heard_from_the_page():
    asked = []
    lines = b"silence\nreset\nhorn\n" + b"x" * 5000 + b"\nfinish\npump off\n\xff\n"
    heard(io.BytesIO(lines), asked.append)
    assert asked == ["silence", "horn", "finish"]
