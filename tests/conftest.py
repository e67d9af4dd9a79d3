"""What all tests share: the compiled engine, made once before the first test that can use it."""

from __future__ import annotations

import os
from datetime import date

import pytest

REHEARSING = {"desk", "proving", "simulator", "properties", "whole_project"}


@pytest.fixture(scope="session", autouse=True)
def compiled_engine(request):
    """Both engines give the same bits, so where one can compile, whole nights run compiled."""
    from coilward.simulator.engine import can_compile

    folders = {part for item in request.session.items for part in item.path.parts}
    if not (folders & REHEARSING and can_compile()) or os.environ.get("NUMBA_DISABLE_JIT"):
        return
    from coilward.loop.document import read_loop
    from coilward.simulator.night import Night
    from coilward.simulator.rehearsal import rehearse

    night = Night.model_validate(
        {"coilward": 1, "name": "short", "duration": "1 min", "start": "cold"}
    )
    rehearse(read_loop("greenhouse"), night, engine="compiled", today=date(2026, 11, 25))
