"""The command as a person runs it: in this process, or in one of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

from coilward.desk.commands import main

ON = ("--on", "2026-11-25")
"""A day on which the proofs of the shipped loops hold."""


class Result(NamedTuple):
    code: int
    out: str
    err: str


def run_here(monkeypatch, capsys, *args: str) -> Result:
    """Run `main` in this process."""
    monkeypatch.setattr(sys, "argv", ["coilward", *args])
    monkeypatch.setattr("signal.signal", lambda *_: None)
    with pytest.raises(SystemExit) as left:
        main()
    said = capsys.readouterr()
    return Result(left.value.code or 0, said.out, said.err)


def run_apart(*args: str, cwd: Path | None = None, code: str | None = None) -> Result:
    """Run the command in a process of its own, with its output in pipes."""
    start = ["-c", code] if code else ["-m", "coilward"]
    done = subprocess.run(
        [sys.executable, *start, *args], cwd=cwd, capture_output=True, text=True,
        encoding="utf-8", timeout=300, env={**os.environ, "COLUMNS": "80"}, check=False,
    )  # fmt: skip
    return Result(done.returncode, done.stdout, done.stderr)
