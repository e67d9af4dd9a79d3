"""Campaigns: nothing lost, nothing twice, nothing passed that did not act."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import time
import tracemalloc
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from coilward.loop.document import read_loop
from coilward.proving.campaign import LEAST_RUNS, prove, runs_for, why_not
from coilward.proving.case import parse_case
from coilward.proving.outcome import Outcome, from_json, to_json
from coilward.proving.stage import Stage
from coilward.proving.store import Store
from coilward.simulator import slots as at
from coilward.simulator.faults import FAULTS, forget, register
from coilward.simulator.faults.fault import to
from tests.simulator.plants import TODAY

ROOT = Path(__file__).parents[2]
FEW = ["outlet-a-open", "pump-stalls", "hand-left-on"]
RUNS = 6


def campaign(store, loop="greenhouse", faults=FEW, runs=RUNS, **more):
    return prove(read_loop(loop), faults=faults, runs=runs, today=TODAY, store=store, **more)


@pytest.fixture
def played(monkeypatch):
    """Keys that this process plays, as often as it plays them."""
    keys, plays = Counter(), Stage.play

    def counted(self, case, u=None):
        keys[case.key] += 1
        return plays(self, case, u)

    monkeypatch.setattr(Stage, "play", counted)
    return keys


@pytest.fixture
def more_faults():
    """Registers rows for one test."""
    names = []

    def add(row):
        register(row)
        names.append(row.name)
        return row.name

    yield add
    for name in names:
        forget(name)


@pytest.fixture(scope="module")
def alone(tmp_path_factory):
    """The proof of one worker."""
    return campaign(tmp_path_factory.mktemp("alone"))


def test_one_worker_and_four_give_the_same_bytes(alone, tmp_path):
    told = []
    many = campaign(tmp_path, workers=4, progress=lambda *each: told.append(each))
    assert repr(many).encode() == repr(alone).encode()
    assert [row.runs for row in many.rows] == [RUNS] * len(FEW)
    done, in_all, left_s = told[-1]
    assert done == in_all >= RUNS * len(FEW)
    assert left_s == 0.0
    assert [each[0] for each in told] == sorted(each[0] for each in told)


SCRIPT = """
import sys
from datetime import date
from pathlib import Path
from coilward.loop.document import read_loop
from coilward.proving.campaign import prove
prove(read_loop("greenhouse"), faults=sys.argv[2].split(","), runs=int(sys.argv[3]),
      today=date(2026, 11, 25), store=Path(sys.argv[1]), engine="interpreted")
"""


def kept(folder):
    files = list(folder.glob("*.sqlite"))
    if not files:
        return set()
    with sqlite3.connect(files[0], timeout=30.0) as db:
        try:
            return {from_json(line).key for (line,) in db.execute("SELECT line FROM outcome")}
        except sqlite3.OperationalError:
            return set()


def test_a_killed_campaign_goes_on_where_it_was(alone, tmp_path, played):
    command = [sys.executable, "-c", SCRIPT, str(tmp_path), ",".join(FEW), str(RUNS)]
    child = subprocess.Popen(command, cwd=ROOT)
    try:
        ends_s = time.monotonic() + 60.0
        while len(kept(tmp_path)) < 3 and time.monotonic() < ends_s:
            time.sleep(0.05)
    finally:
        os.kill(child.pid, signal.SIGKILL)
        child.wait()
    before = kept(tmp_path)
    assert 3 <= len(before) < RUNS * len(FEW), "killed in the middle"
    proof = campaign(tmp_path)
    assert not before & set(played), "nothing is played twice"
    assert set(played.values()) == {1}
    assert len(before | set(played)) == len(before) + len(played) == len(kept(tmp_path))
    assert repr(proof) == repr(alone)


def test_control_c_leaves_what_is_finished_and_nothing_is_repeated(alone, tmp_path, played):
    def stop(done, *_):
        if done == 5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        campaign(tmp_path, progress=stop)
    assert len(kept(tmp_path)) == 5
    assert repr(campaign(tmp_path)) == repr(alone)
    assert set(played.values()) == {1}


def test_more_runs_use_what_is_there_and_fewer_are_not_changed_by_it(alone, tmp_path, played):
    campaign(tmp_path, runs=RUNS + 2)
    before = dict(played)
    assert repr(campaign(tmp_path)) == repr(alone)
    assert dict(played) == before


def test_a_fault_that_does_not_act_is_invalid_and_never_passed(tmp_path, more_faults):
    idle = more_faults(replace(
        FAULTS["hand-left-on"], name="idle", effects=(to(at.CHARGER, 1.0),), acts=(),
        deadline_s=None,
    ))  # fmt: skip
    (row,) = campaign(tmp_path, faults=[idle], runs=2).rows
    assert (row.status, row.runs, row.escapes) == ("invalid", 0, 0)
    assert row.invalid > 0
    assert "acted in 0 of" in row.why


def test_a_boil_that_the_class_does_not_allow_is_an_escape(tmp_path, more_faults):
    """A dead pump boils the coil: a row that claims the logic alone holds it is found out."""
    boast = more_faults(replace(
        FAULTS["pump-dies"], name="boast", base="logic", phases=("run",), lasts_s=900.0,
    ))  # fmt: skip
    honest, boasted = campaign(tmp_path, faults=["pump-dies", boast], runs=4).rows
    assert boasted.status == "escaped"
    assert boasted.boiled == boasted.escapes == 4
    assert "the coil boiled" in boasted.why
    worst = Stage(read_loop("greenhouse"), today=TODAY).play(parse_case(boasted.worst_key))
    assert "first-boil" in worst.missed
    assert honest.status == "lets the steam out"
    assert honest.cls == "logic plus hardware that only lets the steam out"


def test_one_more_row_is_tried_and_one_that_cannot_be_is_told(tmp_path, more_faults):
    added = more_faults(replace(FAULTS["hand-left-on"], name="added"))
    proof = campaign(tmp_path, faults=None, runs=1)
    rows = {row.fault: row for row in proof.rows}
    assert list(rows) == list(FAULTS)
    assert rows[added].runs == 1
    loop = read_loop("greenhouse")
    for name, row in rows.items():
        if FAULTS[name].unshown:
            assert (row.status, row.why, row.runs) == ("not shown", FAULTS[name].unshown, 0)
        elif why_not(FAULTS[name], loop):
            assert row.status == "not in this loop"


def test_pairs_are_all_accounted_for(tmp_path):
    names = ["outlet-a-open", "outlet-a-frozen", "pump-stalls", "lit-without-check"]
    proof = campaign(tmp_path, faults=names, runs=1, pairs=True)
    assert proof.pairs_run + len(proof.pairs_left_out) == 6
    left = {(each.first, each.second): each.why for each in proof.pairs_left_out}
    assert left["outlet-a-open", "outlet-a-frozen"] == "both are the same part"
    assert left["pump-stalls", "lit-without-check"] == "no phase lets both start"
    assert proof.pairs_run == 6 - len(left)


def test_runs_for_a_confidence():
    """Zero failures in 29,956 runs bound the share to 99.99 %, in 299 to 99 %, at 95 %."""
    assert runs_for(0.9999, 1) == 29956
    assert runs_for(0.99, 1) == LEAST_RUNS == 299
    assert runs_for(0.999, 10) == 300
    assert runs_for(0.5, 100) == 299
    for wrong in (0.0, 1.0, 1.2):
        with pytest.raises(ValueError, match="between 0 and 1"):
            runs_for(wrong, 1)


def test_a_proof_is_void_when_loop_logic_or_seed_changes(alone, tmp_path):
    loop = read_loop("greenhouse")
    more = loop.model_copy(update={"fire": loop.fire.model_copy(update={"largest_kw": 20.0})})
    other = prove(more, faults=FEW[:1], runs=1, today=TODAY, store=tmp_path)
    assert other.loop_hash != alone.loop_hash
    assert other.logic_hash != alone.logic_hash, "its constants follow from the loop"
    same = prove(loop, faults=FEW[:1], runs=1, seed=2, today=TODAY, store=tmp_path)
    assert same.loop_hash == alone.loop_hash
    assert len(list(tmp_path.glob("*.sqlite"))) == 2


def test_wrong_numbers_are_refused(tmp_path):
    with pytest.raises(ValueError, match="not both"):
        campaign(tmp_path, confidence=0.99)
    with pytest.raises(ValueError, match="at least one"):
        campaign(tmp_path, runs=0)
    with pytest.raises(KeyError):
        campaign(tmp_path, faults=["no-such-fault"])


def outcome(key, **more):
    made = Outcome(
        key=key, phase="run", fired=True, caught="C01", caught_s=1.5, deadline_s=3.0,
        first_boil_s=None, margin_k=20.0, margin_s=30.0, peak_joint_c=80.0,
        robustness={"water-under-boiling": 1.5}, missed=(), ended_phase="shutdown", size=None,
        onset_s=60.0,
    )  # fmt: skip
    return made._replace(**more)


def test_an_outcome_reads_back_from_its_line():
    for made in (outcome("a/0@1"), outcome("a/1@1", margin_s=float("inf"), missed=("deadline",))):
        assert from_json(to_json(made)) == made


def test_a_store_keeps_the_first_of_two_and_finds_the_worst(tmp_path):
    with Store(tmp_path / "some.sqlite") as store:
        store.add([to_json(outcome("a/0@1")), to_json(outcome("a/1@1", margin_k=3.0))])
        store.add([to_json(outcome("a/0@1", margin_k=1.0))])
        assert store.count(("a",), 9) == 2
        assert store.worst(("a",), 9).key == "a/1@1"
        store.add([to_json(outcome("a/2@1", missed=("deadline",), caught_s=9.0))])
        store.add([to_json(outcome("a/3@1", fired=False, margin_k=0.1))])
        assert store.worst(("a",), 9).key == "a/2@1", "an escape before a small margin"
        assert store.worst(("a",), 2).key == "a/1@1", "later cases don't count"
        assert store.median_caught_s(("a",), 9) == 1.5
        assert store.extreme("max(caught_s)", ("a",), 9) == 9.0
        assert store.caught(("a",), 9) == {"C01": 3}


def test_memory_does_not_grow_with_the_runs(tmp_path, monkeypatch):
    """The machinery alone, with cases that cost nothing; four times the runs, peak of the heap."""
    monkeypatch.setattr(Stage, "play", lambda _, case, __=None: outcome(case.key))
    peaks = []
    for runs in (500, 1500, 6000):
        tracemalloc.start()
        campaign(tmp_path / f"{len(peaks)}", faults=FEW[:1], runs=runs, engine="interpreted")
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[2] < 1.15 * peaks[1]
