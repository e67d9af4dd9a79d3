"""Many machines: a real scheduler and workers over TCP on loopback."""

from __future__ import annotations

import os
import signal
import sys

import pytest

from coilward.loop.document import read_loop
from coilward.proving.campaign import prove
from coilward.proving.stage import Stage
from tests.simulator.plants import TODAY

distributed = pytest.importorskip("distributed")
FEW, RUNS = ["outlet-a-open", "pump-stalls", "hand-left-on"], 30


def campaign(store, **more):
    loop = read_loop("greenhouse")
    return prove(loop, faults=FEW, runs=RUNS, today=TODAY, store=store, **more)


@pytest.mark.filterwarnings("default")
def test_a_worker_that_dies_loses_nothing_and_the_bytes_are_the_same(tmp_path, monkeypatch):
    alone = campaign(tmp_path / "alone")
    monkeypatch.setattr(Stage, "play", None, raising=True)  # this process plays nothing any more
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, protocol="tcp://",
        dashboard_address=None,
    ) as cluster:
        address = cluster.scheduler_address
        assert address.startswith("tcp://127.0.0.1")
        victims = [nanny.pid for nanny in cluster.workers.values()]
        killed = []

        def progress(done, in_all, _):
            if not killed and done >= 8:
                assert done < in_all
                os.kill(victims[0], signal.SIGKILL)
                killed.append(victims[0])

        proof = campaign(tmp_path / "many", cluster=address, progress=progress)
    assert killed
    assert repr(proof).encode() == repr(alone).encode()
    assert all(row.runs == RUNS for row in proof.rows)


def test_an_address_that_nobody_answers_is_told(tmp_path):
    with pytest.raises(RuntimeError, match="no scheduler answers at nowhere"):
        campaign(tmp_path, cluster="nowhere")


def test_a_missing_library_is_told_with_its_name(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(RuntimeError, match=r"pip install 'coilward\[cluster\]'"):
        campaign(tmp_path, cluster="tcp://127.0.0.1:1")
