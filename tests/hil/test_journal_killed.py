"""A writer that is killed leaves a journal that opens, with all but the last second in it."""

from __future__ import annotations

import pytest

from tests.hil.killing import kill_one

MOST_LOST_S = 1.0


@pytest.mark.parametrize("seed", range(20))
def test_killed_at_a_random_moment(tmp_path, seed):
    killed = kill_one(tmp_path / "a.db", seed)
    assert killed.put > 0
    assert killed.lost_s <= MOST_LOST_S
    assert killed.findings == []


def test_the_same_file_survives_one_kill_after_the_other(tmp_path):
    for seed in range(4):
        killed = kill_one(tmp_path / "a.db", 100 + seed)
        assert killed.lost_s <= MOST_LOST_S
        assert killed.findings == []
