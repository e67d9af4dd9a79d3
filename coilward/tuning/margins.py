"""Robustness of the loop as it is sampled: what the valve's own moves see of it.

The process is its answer to a unit step at each move (any process that has settled by the end of
the record, so nothing is approximated by a model); the controller is the velocity form as it is:

    P(z) = sum of (s[k] - s[k-1]) z^-k      C(z) = gain (1 + every/reset / (1 - z^-1))

What the outlet does between two moves is not seen. Near a limit of stability the swing takes
several moves, and nothing hides between them.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.tuning.simc import Pi

Numbers = NDArray[np.float64]

POINTS = 3000
LOWEST = 1e-3
"""Of the fastest frequency that moves can carry."""


class Margins(NamedTuple):
    """Robustness of one loop."""

    sensitivity: float
    """Ms: the largest factor by which the loop makes a disturbance worse."""
    gain_margin: float
    phase_margin_deg: float
    period_s: float
    """Of the swing at the limit of gain."""


def frequencies(every_s: float) -> Numbers:
    """From slow to the fastest that moves can carry, rad/s."""
    fastest = math.pi / every_s
    return fastest * np.geomspace(LOWEST, 1.0, POINTS)


def open_loop(step: Numbers, every_s: float, pi: Pi, omega: Numbers) -> Any:
    """The open loop's response at each frequency."""
    back = np.exp(-1j * omega * every_s)
    pulse = np.diff(step, prepend=0.0)
    process = np.polynomial.polynomial.polyval(back, pulse)
    return pi.gain * (1.0 + every_s / pi.reset_s / (1.0 - back)) * process


def margins(step: Numbers, every_s: float, pi: Pi) -> Margins:
    """All margins of the loop that ``pi`` closes; ``step`` is positive where it acts against e."""
    return margins_of(open_loop(step, every_s, pi, frequencies(every_s)), frequencies(every_s))


def margins_of(loop: Any, omega: Numbers) -> Margins:
    """Margins of an open loop that is stable or integrates, known at rising frequencies."""
    sensitivity = float((1.0 / np.abs(1.0 + loop)).max())
    real, imaginary = loop.real, loop.imag
    turns = np.flatnonzero(imaginary[:-1] * imaginary[1:] <= 0.0)
    gain_margin, period_s = math.inf, math.nan
    for left in turns:
        span = imaginary[left] - imaginary[left + 1]
        share = imaginary[left] / span if span else 0.0
        at = real[left] + share * (real[left + 1] - real[left])
        if at < 0.0 and -1.0 / at < gain_margin:
            gain_margin = -1.0 / at
            period_s = 2.0 * math.pi / (omega[left] + share * (omega[left + 1] - omega[left]))
    size = np.abs(loop)
    phase_margin = math.inf
    for left in np.flatnonzero((size[:-1] - 1.0) * (size[1:] - 1.0) <= 0.0):
        share = (size[left] - 1.0) / (size[left] - size[left + 1])
        at = loop[left] + share * (loop[left + 1] - loop[left])
        phase_margin = min(phase_margin, abs(math.degrees(np.angle(-at))))
    return Margins(sensitivity, float(gain_margin), float(phase_margin), float(period_s))


def answer_to(disturbance: Numbers, step: Numbers, every_s: float, pi: Pi) -> Numbers:
    """The error at each move after a disturbance of the outlet (as it would be without control)."""
    pulse = np.diff(step, prepend=0.0)
    error = np.zeros(len(disturbance))
    moves = np.zeros(len(disturbance))
    told = 0.0
    before = 0.0
    for now in range(len(disturbance)):
        seen = min(now, len(pulse) - 1)
        done = float(pulse[1 : seen + 1] @ moves[now - seen : now][::-1])
        error[now] = disturbance[now] - done
        told += pi.gain * (error[now] - before + error[now] * every_s / pi.reset_s)
        before = error[now]
        moves[now] = told
    return error
