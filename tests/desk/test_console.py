"""Progress goes to a terminal only."""

from __future__ import annotations

import io

from rich.console import Console

from coilward.desk import console


def test_a_terminal_gets_a_bar_that_takes_shares(monkeypatch):
    monkeypatch.setenv("TERM", "xterm")
    stream = io.StringIO()
    terminal = Console(file=stream, force_terminal=True, width=80)
    monkeypatch.setattr(console, "err", lambda: terminal)
    with console.progress("a night") as share:
        share(0.5)
    assert "a night" in stream.getvalue()
    assert "50%" in stream.getvalue()


def test_a_pipe_gets_nothing(monkeypatch):
    stream = io.StringIO()
    monkeypatch.setattr(console, "err", lambda: Console(file=stream, width=80))
    with console.progress("a night") as share:
        assert share is None
    assert stream.getvalue() == ""
