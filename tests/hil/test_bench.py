"""The bench finds every board that is broken on purpose, and nothing on a sound one."""

from __future__ import annotations

import pytest

from coilward.hil.bench.wires import TRIES, WIRES
from tests.hil.benches import bench
from tests.hil.defects import DEFECTS

LONG = {"overflows-after-an-hour"}
"""Found by whole nights alone, in `benchmarks.board_defects`."""


def test_a_sound_board_passes_with_nothing_found(monkeypatch):
    report = bench(monkeypatch, at_first=False)
    assert report.findings == []
    assert len(report.parts_done) == 6
    assert not report.stopped
    assert not report.gone
    measured = [row for row in report.rows if not row.why_not]
    assert len(measured) > 35
    assert all(row.passed and row.spread.times == 1 for row in measured)
    assert all(trial.touched for trial in report.wires if "delayed" not in trial.name)
    (night,) = report.nights
    assert night.board == night.reference == night.alone
    assert night.ticks == 1080
    assert len(report.faults) > 70
    assert report.answers.times < report.ticks - len(WIRES) * TRIES
    assert report.silent.spread.times == 3


@pytest.mark.parametrize("name", [name for name in DEFECTS if name not in LONG])
def test_each_planted_defect_is_found(monkeypatch, name):
    report = bench(monkeypatch, DEFECTS[name])
    assert report.findings, name
