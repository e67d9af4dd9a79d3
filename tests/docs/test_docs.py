"""The docs' tables come from the code; the docs name what exists."""

from __future__ import annotations

import re
import shlex

import pytest

from coilward.loop.shipped import loop_text
from tests.desk.cli import run_here
from tests.docs.written import ROOT, tables


@pytest.mark.parametrize(
    "name", ["interlocks.md", "plausibility.md", "phases.md", "faults.md", "messages.md"]
)
def test_page_is_what_the_code_says(name):
    written = (ROOT / "docs" / name).read_text("utf-8")
    assert written == tables().PAGES[name](), "run: python docs/tables.py"


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_files_that_the_docs_name_exist(name):
    text = (ROOT / name).read_text("utf-8")
    linked = re.findall(r"\]\(([^)#:]+)\)", text)
    assert linked
    for target in linked:
        assert (ROOT / target).exists(), target
    for target in re.findall(r"`((?:coilward|tests|docs|benchmarks)/[\w/.-]+)`", text):
        assert (ROOT / target).exists(), target


def test_the_examples_of_calibrating_run_as_printed(tmp_path, monkeypatch, capsys):
    text = (ROOT / "docs" / "calibrating.md").read_text("utf-8")
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text(loop_text("greenhouse"), encoding="utf-8")
    for name, table in re.findall(r"```csv\n# (\S+)\n(.*?)```", text, re.S):
        (tmp_path / name).write_text(table, encoding="utf-8")
    block, live = re.findall(r"```sh\n(.*?)```", text, re.S)
    assert "--port" in live, "needs a board, and is shown with one in test_calibrate_live.py"
    commands = block.splitlines()
    assert len(commands) == 4
    for command in commands:
        result = run_here(monkeypatch, capsys, *shlex.split(command)[1:])
        assert result.code == 0, result.err
    assert {each.name for each in tmp_path.glob("*.html")} == {"meter.html", "tank.html"}
