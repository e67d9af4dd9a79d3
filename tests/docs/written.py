"""The script that writes the docs' tables, as a module."""

from __future__ import annotations

import importlib.util
from pathlib import Path

ROOT = Path(__file__).parents[2]


def tables():
    spec = importlib.util.spec_from_file_location("tables", ROOT / "docs" / "tables.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
