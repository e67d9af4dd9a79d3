"""The same decisions over a real pseudo terminal and without any wire; the long runs are in
`benchmarks.wire`."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from benchmarks.wire import played, shortened
from coilward.simulator.night import read_night
from tests.hil.pairs import LOOP


@pytest.mark.parametrize(
    ("minutes", "clock", "bit_errors"), [(1.0, True, 0.0), (1.0, False, 1e-4)],
    ids=["a minute against the clock", "bit errors in lockstep"],
)  # fmt: skip
def test_one_hash_over_the_wire_and_without_it(minutes, clock, bit_errors):
    night = shortened(read_night("pump-dies"), minutes)
    asked = SimpleNamespace(clock=clock, bit_errors=bit_errors)
    told = played(LOOP, night, 1, asked)
    assert told["ticks that differ"] == 0
    assert told["board"] == told["reference"] == told["without a wire"]
    assert told["ticks"] == 9600 + 240 * minutes
    assert (told["pieces spoilt"] > 100) == (bit_errors > 0.0)
    if clock:
        assert told["lasted_s"] >= 59.0
