"""Settings from a model: Skogestad's rule, and the half rule that shortens a model to fit it.

S. Skogestad, Simple analytic rules for model reduction and PID controller tuning, Journal of
Process Control 13 (2003) 291-309.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple


class Pi(NamedTuple):
    """A PI controller: u = gain (e + integral of e / reset_s)."""

    gain: float
    reset_s: float


def half_rule(lags_s: Sequence[float], delay_s: float) -> tuple[float, float]:
    """One lag and a delay for several lags and a delay, s.

    Half of the second largest lag goes to each of the two; smaller ones count as delay.
    """
    first_s, *rest = sorted(lags_s, reverse=True)
    if not rest:
        return first_s, delay_s
    return first_s + 0.5 * rest[0], delay_s + 0.5 * rest[0] + sum(rest[1:])


def simc_pi(slope: float, lag_s: float, delay_s: float, closed_s: float) -> Pi:
    """PI settings for slope / (s + 1/lag) behind a delay, answered in ``closed_s``.

    ``slope`` is gain over lag: for a process that integrates (lag infinite) its gain. The rule's
    tight answer is ``closed_s = delay_s``.
    """
    pace_s = closed_s + delay_s
    return Pi(1.0 / (slope * pace_s), min(lag_s, 4.0 * pace_s))
