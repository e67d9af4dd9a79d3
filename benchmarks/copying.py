"""A private copy of the project, for benchmarks that change its sources."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
COPIED = (
    "benchmarks", "coilward", "docs", "tests",
    "CHANGELOG.md", "DEVELOPERS.md", "LICENSE", "README.md", "pyproject.toml",
)
"""All that the tests read."""

PYTEST = (sys.executable, "-m", "pytest", "-x", "-q", "-n", "0", "-p", "no:cacheprovider")
"""The tests in a copy, up to the first that fails."""


def copy_project(folder: Path) -> None:
    """Copy what the tests read into a folder that is there already."""
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, folder / name)
