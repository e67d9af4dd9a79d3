"""The logarithm of plain sums."""

from __future__ import annotations

import math
import random
from fractions import Fraction

import pytest

from coilward.measuring.logarithm import natural_log


@pytest.mark.parametrize(
    ("value", "log"),
    [(1.0, "0"), (2.0, "0.69314718055994530942"), (10.0, "2.30258509299404568402"),
     (0.5, "-0.69314718055994530942"), (1e4, "9.21034037197618273607")],
)  # fmt: skip
def test_published_logarithms(value, log):
    """ln 2 and ln 10 to twenty places, as in any table of constants (from memory)."""
    assert abs(Fraction(natural_log(value)) - Fraction(log)) <= Fraction(1e-15) * max(
        1, abs(Fraction(log))
    )


def test_the_librarys_logarithm_is_the_same_but_for_its_last_bits():
    """From a shorted thermistor to a broken one, 1 ohm to 10 Mohm."""
    chance = random.Random(1)
    for _ in range(20_000):
        value = math.exp(chance.uniform(0.0, math.log(1e7)))
        assert natural_log(value) == pytest.approx(math.log(value), rel=5e-16, abs=1e-16)
