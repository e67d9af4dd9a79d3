"""All counters at once must equal one plain counter a row."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilward.controller.debounce import LONGEST, QUIET, count, reached, threshold_planes


@given(
    st.lists(st.integers(1, 40), min_size=1, max_size=50).flatmap(
        lambda ticks: st.tuples(
            st.just(ticks), st.lists(st.integers(0, (1 << len(ticks)) - 1), max_size=120)
        )
    )
)
def test_agrees_with_one_counter_a_row(case):
    ticks, history = case
    thresholds = threshold_planes(ticks)
    counters, plain = QUIET, [0] * len(ticks)
    for present in history:
        counters = count(present, counters)
        plain = [min(n + 1, LONGEST) if present >> i & 1 else 0 for i, n in enumerate(plain)]
        expected = sum(1 << i for i, n in enumerate(plain) if n >= ticks[i])
        assert reached(present, counters, thresholds) == expected


def test_saturates_instead_of_rolling_over():
    thresholds = threshold_planes([LONGEST])
    counters = QUIET
    for _ in range(LONGEST + 10):
        counters = count(1, counters)
    assert reached(1, counters, thresholds) == 1
    assert count(0, counters) == QUIET


@pytest.mark.parametrize("ticks", [0, -1, LONGEST + 1])
def test_refuses_a_threshold_that_no_counter_reaches(ticks):
    with pytest.raises(ValueError, match="accepted: 1 to 4095"):
        threshold_planes([1, ticks])
