"""The command itself, in a process of its own, as a person or the control starts it."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
import urllib.request

import pytest

from tests.desk.cli import run_here
from tests.hil.made import night
from tests.live.server import free_port
from tests.live.test_journals import closed


@contextlib.contextmanager
def watching(*args):
    """The command, once it answers: (process, port)."""
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "-m", "coilward", "watch", *args, "--port", str(port)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": os.getcwd()},
    )  # fmt: skip
    try:
        until_s = time.monotonic() + 60
        while time.monotonic() < until_s and process.poll() is None:
            with contextlib.suppress(OSError):
                urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=5).close()
                break
            time.sleep(0.1)
        yield process, port
    finally:
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=20)


def heard(port, good=lambda told: "sentence" in told):
    with urllib.request.urlopen(f"http://127.0.0.1:{port}/stream", timeout=20) as stream:
        for line in stream:
            if line.startswith(b"data: ") and good(told := json.loads(line[6:])):
                return told
    raise AssertionError("the stream ended")


def test_a_rehearsal_is_watched_and_has_no_buttons():
    with watching("greenhouse", "--night", "pump-dies", "--speed", "200") as (_, port):
        told = heard(port, lambda told: told.get("tone") == "back")
        assert told["kind"] == "a rehearsal of greenhouse: pump dies"
        assert not told["buttons"]
        assert "rehearsal" in told["why_none"]


def test_a_journal_is_watched_in_other_units(tmp_path):
    path = closed(tmp_path / "night.db", night().ticks)
    with watching(path, "--units", "us") as (_, port):
        told = heard(port)
        assert told["over"] or told["age_s"] < 2
        tank = next(each for each in told["readings"] if each["key"] == "tank")
        assert tank["value"].endswith(" °F")
        assert not told["buttons"]


def test_requests_go_to_who_started_it_and_nothing_else_does(tmp_path):
    path = closed(tmp_path / "night.db", night().ticks)
    with watching(path, "--requests-to-stdout") as (process, port):
        assert heard(port)["buttons"]
        ask = urllib.request.Request(
            f"http://127.0.0.1:{port}/ask/silence", method="POST",
            headers={"Origin": f"http://127.0.0.1:{port}"},
        )  # fmt: skip
        urllib.request.urlopen(ask, timeout=5).close()
        assert process.stdout.readline() == "silence\n"


@pytest.mark.parametrize(("args", "words"), [
    (["greenhouse"], "--night NIGHT beside it"), (["missing.db"], "no such file"),
    (["greenhouse", "--night", "quiet", "--speed", "0"], "too slow or too fast"),
    (["greenhouse", "--night", "quiet", "--speed", "nan"], "too slow or too fast"),
    (["greenhouse", "--night", "none"], "none"),
    (["greenhouse", "--night", "quiet", "--address", "192.168.1.20"], "asks for a token"),
    (["greenhouse", "--night", "quiet", "--address", "203.0.113.7", "--token-file", "token"],
     "another --port, or an --address of this machine"),
])  # fmt: skip
def test_what_can_not_be_watched_is_refused(monkeypatch, capsys, tmp_path, args, words):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "token").write_text("correct-horse-battery-staple-42")
    (tmp_path / "token").chmod(0o600)
    result = run_here(monkeypatch, capsys, "watch", *args)
    assert result.code == 2
    assert words in " ".join(result.err.split())


def test_it_ends_with_who_started_it(tmp_path):
    """However control ends, kill -9 too: the pipe that it held open breaks."""
    journal = closed(tmp_path / "night.db", night().ticks)
    with watching(str(journal), "--requests-to-stdout") as (process, _):
        process.stdin.close()
        process.stdin = None
        assert process.wait(30) == 0
