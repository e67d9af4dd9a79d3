"""Before and after: which word a change gets."""

from __future__ import annotations

import math

import pytest

from coilward.sizing.comparing import compared, word
from coilward.sizing.row import Row


def row(value, better="more", key="a", words=""):
    return Row(key, "chapter", key, value, "c", better, words=words)


@pytest.mark.parametrize(("before", "after", "better", "said"), [
    (1.0, 2.0, "more", "better"), (2.0, 1.0, "more", "WORSE"),
    (1.0, 2.0, "less", "WORSE"), (2.0, 1.0, "less", "better"),
    (1.0, 2.0, "", "changed"), (1.0, 1.0 + 1e-12, "more", "same"),
    (math.inf, math.inf, "more", "same"), (math.inf, 5.0, "more", "WORSE"),
    (5.0, math.inf, "more", "better"),
])  # fmt: skip
def test_word(before, after, better, said):
    assert word(row(before, better), row(after, better)) == said


def test_what_boils_in_both_is_the_same():
    assert word(row(120, "less", words="boils"), row(300, "less", words="boils")) == "same"
    assert word(row(64, "less"), row(300, "less", words="boils")) == "WORSE"


def test_rows_of_only_one_loop():
    pairs = compared([row(1, key="a"), row(2, key="b")], [row(1, key="c"), row(3, key="b")])
    assert [(pair.row.key, pair.word) for pair in pairs] == [
        ("c", "new"), ("b", "better"), ("a", "gone"),
    ]  # fmt: skip
