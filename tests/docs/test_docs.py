"""The docs' tables come from the code; the docs name what exists."""

from __future__ import annotations

import re

import pytest

from tests.docs.written import ROOT, tables


@pytest.mark.parametrize("name", ["interlocks.md", "plausibility.md", "phases.md", "faults.md"])
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
