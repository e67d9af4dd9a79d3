"""The fast integrator against a fine one: a replay of the same outputs, tick by tick."""

from __future__ import annotations

import pytest

from coilward.simulator.engine import can_compile
from tests.simulator.replay import burn

pytestmark = pytest.mark.skipif(not can_compile(), reason="too slow without numba")


@pytest.mark.parametrize("seed", range(6))
def test_within_a_twentieth_of_a_kelvin_of_a_fine_reference(seed):
    """Classical Runge-Kutta at 12.5 ms; every second, outlet, coil, tank, lines and radiator."""
    worst_k, at_s, _, happens = burn(seed, 3600.0)
    assert worst_k <= 0.05, (at_s, happens)
