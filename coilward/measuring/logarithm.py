"""The natural logarithm by + - * / alone: the same bits on every machine, a board's among them.

A library's logarithm differs between machines in its last bit, and a reading that differs in its
last bit is another night. `converting.c` of the firmware has the same sums in the same order.
"""

from __future__ import annotations

import math
from typing import Final

HALF_ROOT: Final = 0.7071067811865476
LN_2: Final = 0.6931471805599453
LAST_ODD: Final = 21
"""Of the series: the term after it is under 1e-18 of the sum."""


def natural_log(value: float) -> float:
    """ln of a normal positive number, within 1e-15 of itself or of ln 2."""
    share, power = math.frexp(value)
    if share < HALF_ROOT:
        share, power = 2.0 * share, power - 1
    slope = (share - 1.0) / (share + 1.0)
    square = slope * slope
    series = 0.0
    for odd in range(LAST_ODD, 1, -2):
        series = square * (1.0 / odd + series)
    return power * LN_2 + 2.0 * slope * (1.0 + series)
