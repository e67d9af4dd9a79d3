"""The same decisions over a real pseudo terminal and without any wire; the long runs are in
`benchmarks.wire`."""

from __future__ import annotations

from types import SimpleNamespace

from benchmarks.wire import played, shortened
from coilward.simulator.night import read_night
from tests.hil.pairs import LOOP


def test_one_hash_over_the_wire_and_without_it():
    """A minute against the clock, the pump dying in it."""
    night = shortened(read_night("pump-dies"), 1.0)
    told = played(LOOP, night, 1, SimpleNamespace(clock=True, bit_errors=0.0))
    assert told["ticks that differ"] == 0
    assert told["board"] == told["reference"] == told["without a wire"]
    assert told["ticks"] == 9840
    assert told["lasted_s"] >= 59.0
