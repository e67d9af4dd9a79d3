"""The published rule, and margins against a reference library."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilward.loop.sums.swing import largest_pole, outlet_step, sampled_step
from coilward.tuning.margins import answer_to, frequencies, margins, margins_of, open_loop
from coilward.tuning.simc import Pi, half_rule, simc_pi

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import control

OMEGA = np.geomspace(1e-3, 60.0, 60_000)
S = 1j * OMEGA

# S. Skogestad, Journal of Process Control 13 (2003) 291-309, tables 3 and 4: lags, delay, and the
# rule's Kc, tau_I and Ms. Rows whose printed figures a recomputation does not confirm (E3 with
# derivative, E5) are left out, and so are all with a derivative: the valve's rule has none.
ROWS = [
    ([math.inf], 1.0, 0.5, 8.0, 1.70),
    ([4.0], 1.0, 2.0, 4.0, 1.59),
    ([1.0, 0.2], 0.0, 5.5, 0.8, 1.56),
    ([1.0, 1.0, 1.0, 1.0], 0.0, 0.3, 1.5, 1.46),
    ([20.0, 2.0], 1.0, 5.25, 16.0, 1.72),
]


def process(lags_s, delay_s):
    """Slope 1 of a process that integrates, else gain 1."""
    response = np.exp(-delay_s * S)
    for lag_s in lags_s:
        response = response / (S if math.isinf(lag_s) else 1.0 + lag_s * S)
    return response


@pytest.mark.parametrize(("lags_s", "delay_s", "gain", "reset_s", "sensitivity"), ROWS)
def test_the_rule_gives_the_published_settings(lags_s, delay_s, gain, reset_s, sensitivity):
    lag_s, short_s = half_rule(lags_s, delay_s)
    slope = 1.0 if math.isinf(lag_s) else 1.0 / lag_s
    pi = simc_pi(slope, lag_s, short_s, short_s)
    assert pi.gain == pytest.approx(gain, rel=1e-9)
    assert pi.reset_s == pytest.approx(reset_s, rel=1e-9)
    loop = pi.gain * (1.0 + 1.0 / (pi.reset_s * S)) * process(lags_s, delay_s)
    assert margins_of(loop, OMEGA).sensitivity == pytest.approx(sensitivity, abs=0.006)


@pytest.mark.parametrize(
    ("lag_s", "gain_margin", "phase_margin_deg", "sensitivity"),
    [(4.0, 3.14, 61.4, 1.59), (math.inf, 2.96, 46.9, 1.70)],
)
def test_margins_of_the_rule(lag_s, gain_margin, phase_margin_deg, sensitivity):
    """Same source, table 1: a lag with delay, and a process that integrates."""
    pi = simc_pi(1.0 if math.isinf(lag_s) else 1.0 / lag_s, lag_s, 1.0, 1.0)
    loop = pi.gain * (1.0 + 1.0 / (pi.reset_s * S)) * process([lag_s], 1.0)
    found = margins_of(loop, OMEGA)
    assert found.gain_margin == pytest.approx(gain_margin, abs=0.006)
    assert found.phase_margin_deg == pytest.approx(phase_margin_deg, abs=0.06)
    assert found.sensitivity == pytest.approx(sensitivity, abs=0.006)


@pytest.mark.filterwarnings("ignore:divide by zero:RuntimeWarning")
@pytest.mark.filterwarnings("ignore:invalid value:RuntimeWarning")
@pytest.mark.parametrize("transit_s", [25.0, 60.0, 110.0])
@pytest.mark.parametrize(("gain", "reset_share"), [(0.25, 0.6), (0.7, 0.45), (1.2, 0.5)])
def test_margins_of_the_sampled_loop_agree_with_the_library(transit_s, gain, reset_share):
    """python-control, on the same pulse responses: another code for the same definitions."""
    step, every_s = sampled_step(transit_s, 8.0, 10.0), 10.0
    pi = Pi(gain, reset_share * transit_s)
    found = margins(step, every_s, pi)
    pulse = np.diff(step, prepend=0.0)
    plant = control.tf(pulse, [1.0] + [0.0] * (len(pulse) - 1), every_s)
    ratio = every_s / pi.reset_s
    rule = control.tf([gain * (1.0 + ratio), -gain], [1.0, -1.0], every_s)
    gm, pm, _, swing, _, _ = control.stability_margins(plant * rule)
    # The library's own distance to -1 is an approximation for sampled loops: its closed loop isn't.
    around = np.exp(1j * every_s * frequencies(every_s))
    worst = np.abs(control.feedback(1, plant * rule)(around)).max()
    assert found.gain_margin == pytest.approx(gm, rel=1e-3)
    assert found.phase_margin_deg == pytest.approx(pm, rel=1e-3)
    assert found.sensitivity == pytest.approx(worst, rel=1e-6)
    assert found.period_s == pytest.approx(2.0 * math.pi / swing, rel=1e-3)


@pytest.mark.parametrize("transit_s", [30.0, 80.0])
def test_the_loop_swings_exactly_from_its_gain_margin_on(transit_s):
    step, every_s = sampled_step(transit_s, 8.0, 10.0), 10.0
    pi = Pi(0.5, 0.5 * transit_s)
    limit = pi.gain * margins(step, every_s, pi).gain_margin
    assert largest_pole(step, 0.999 * limit, every_s / pi.reset_s) < 1.0
    assert largest_pole(step, 1.001 * limit, every_s / pi.reset_s) > 1.0


def test_the_coils_answer_is_a_ramp_through_a_lag():
    """Against a fine integration of lag x' = ramp - x."""
    time_s = np.arange(0.0, 200.0, 0.01)
    ramp, seen = np.minimum(time_s / 60.0, 1.0), 0.0
    shown = []
    for value in ramp:
        shown.append(seen)
        seen += 0.01 / 8.0 * (value - seen)
    assert np.abs(outlet_step(time_s, 60.0, 8.0) - shown).max() < 2e-3
    assert outlet_step(np.array([0.0, 30.0, 60.0]), 60.0, 0.0) == pytest.approx([0.0, 0.5, 1.0])


@given(st.floats(20.0, 120.0), st.floats(0.1, 0.8), st.floats(0.4, 3.0))
def test_integrated_error_of_a_step_is_reset_over_gain(transit_s, gain, reset_share):
    """For any loop with integral action that settles: sum of e = disturbance Ti / (Kc K every)."""
    step, every_s = sampled_step(transit_s, 8.0, 10.0), 10.0
    pi = Pi(gain, reset_share * transit_s)
    error = answer_to(np.ones(4000), step, every_s, pi)
    assert every_s * error.sum() == pytest.approx(pi.reset_s / pi.gain / step[-1], rel=1e-4)


def test_the_response_at_low_frequency_is_the_controllers_integral():
    step, every_s = sampled_step(60.0, 8.0, 10.0), 10.0
    omega = frequencies(every_s)[:1]
    loop = open_loop(step, every_s, Pi(0.5, 40.0), omega)
    assert abs(loop[0]) == pytest.approx(0.5 / (40.0 * omega[0]), rel=2e-2)
