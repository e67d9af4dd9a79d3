"""Who plays the cases: this process, processes of this machine, or many machines."""

from __future__ import annotations

import signal
from collections.abc import Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from datetime import date
from itertools import islice
from multiprocessing import get_context
from typing import Any, Final, NamedTuple

from coilward.loop.document import loop_id
from coilward.loop.model import Loop
from coilward.proving.case import parse_case
from coilward.proving.outcome import to_json
from coilward.proving.stage import Stage
from coilward.simulator.engine import Engine
from coilward.simulator.foreign import load

CHUNK: Final = 8
"""Cases that are handed out together: a fraction of a second of a compiled engine."""
AHEAD: Final = 2
"""Chunks that wait for each worker."""
MOST_BREAKS: Final = 5
"""Times that workers may die before one that was given up finishes anything."""

Keys = tuple[str, ...]


class Job(NamedTuple):
    """All that a worker needs to make its stage."""

    loop: Loop
    today: date
    engine: Engine
    logic: str
    """MODULE:FUNCTION; empty for ours."""


_STAGES: dict[tuple[str, date, str, str], Stage] = {}


def _stage(job: Job) -> Stage:
    """The stage of a job, made once a process."""
    known = (loop_id(job.loop), job.today, job.engine, job.logic)
    if known not in _STAGES:
        logic = load(job.logic) if job.logic else None
        _STAGES.clear()
        _STAGES[known] = Stage(job.loop, engine=job.engine, today=job.today, logic=logic)
    return _STAGES[known]


def play(job: Job, keys: Keys) -> list[str]:
    """Outcomes of some cases, each as its line of JSON."""
    stage = _stage(job)
    return [to_json(stage.play(parse_case(key))) for key in keys]


def chunks(keys: Iterable[str], size: int = CHUNK) -> Iterator[Keys]:
    """Keys a few at a time."""
    rest = iter(keys)
    while chunk := tuple(islice(rest, size)):
        yield chunk


class Here:
    """This process, on a stage that is there already, one case after the other."""

    def __init__(self, stage: Stage) -> None:
        """Cases are played on this stage."""
        self._stage = stage

    def play(self, keys: Iterable[str]) -> Iterator[list[str]]:
        """Outcomes of cases, as their lines."""
        for key in keys:
            yield [to_json(self._stage.play(parse_case(key)))]

    def close(self) -> None:
        """Nothing was opened."""


class Processes:
    """Processes of this machine. One that dies is replaced, and what it had is played again."""

    def __init__(self, job: Job, stage: Stage, workers: int) -> None:
        """``stage`` plays the first case here, so that what has to be compiled is compiled once."""
        self._job, self._workers = job, workers
        self._here: Here | None = Here(stage)
        self._pool: ProcessPoolExecutor | None = None

    def play(self, keys: Iterable[str]) -> Iterator[list[str]]:
        """Outcomes of cases, as their lines, in any order.

        Raises RuntimeError when workers die again and again.
        """
        rest = iter(keys)
        if self._here is not None:
            yield from self._here.play(islice(rest, 1))
            self._here = None
        todo, breaks = chunks(rest), 0
        again: list[Keys] = []
        while True:
            running: dict[Future[list[str]], Keys] = {}
            try:
                while self._hand_out(todo, again, running):
                    for done in wait(running, return_when=FIRST_COMPLETED).done:
                        lines = done.result()
                        del running[done]
                        breaks = 0
                        yield lines
                return
            except BrokenProcessPool as broken:
                breaks += 1
                if breaks > MOST_BREAKS:
                    raise RuntimeError(
                        "workers die again and again; is there memory left?"
                    ) from broken
                again += running.values()
                self.close()

    def _hand_out(
        self, todo: Iterator[Keys], again: list[Keys], running: dict[Future[list[str]], Keys]
    ) -> bool:
        """Keep every worker busy, first with what a dead one had. False where nothing is left."""
        while len(running) < AHEAD * self._workers:
            if not again and (chunk := next(todo, None)):
                again.append(chunk)
            if not again:
                break
            running[self._opened().submit(play, self._job, again[-1])] = again[-1]
            again.pop()
        return bool(running)

    def _opened(self) -> ProcessPoolExecutor:
        if self._pool is None:
            self._pool = ProcessPoolExecutor(
                self._workers, mp_context=get_context("spawn"),
                initializer=_let_the_parent_stop,
            )
        return self._pool

    def close(self) -> None:
        """Let the processes end after what they are at."""
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)
            self._pool = None


def _let_the_parent_stop() -> None:
    """Control-C reaches every process of a terminal: only the parent answers."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


class Cluster:
    """The workers of a dask scheduler, which plays again what a dead worker had."""

    def __init__(self, job: Job, address: str) -> None:
        """Connects. Raises RuntimeError where dask.distributed is missing or nothing answers."""
        try:
            import distributed
        except ImportError:
            raise RuntimeError(
                "many machines need dask.distributed: pip install 'coilward[cluster]'"
            ) from None
        connect: Any = distributed.Client
        try:
            self._client: Any = connect(address, timeout="10s", set_as_default=False)
        except (OSError, ValueError) as error:
            raise RuntimeError(f"no scheduler answers at {address}: {error}") from error
        self._job = job
        self._killed: Any = distributed.KilledWorker
        self._wait: Any = distributed.wait

    def play(self, keys: Iterable[str]) -> Iterator[list[str]]:
        """Outcomes of cases, as their lines, in any order."""
        todo = chunks(keys)
        running: dict[Any, Keys] = {}
        while True:
            ahead = AHEAD * max(1, len(self._client.scheduler_info()["workers"]))
            for chunk in islice(todo, max(0, ahead - len(running))):
                running[self._submit(chunk)] = chunk
            if not running:
                return
            with self._client.as_current():
                ended = self._wait(list(running), return_when="FIRST_COMPLETED").done
            for future in ended:
                chunk = running.pop(future)
                if isinstance(future.exception(), self._killed):
                    running[self._submit(chunk)] = chunk
                else:
                    yield future.result()

    def _submit(self, chunk: Keys) -> Any:
        return self._client.submit(play, self._job, chunk, pure=False)

    def close(self) -> None:
        """Disconnect; the cluster stays."""
        self._client.close()


Players = Here | Processes | Cluster


def players(job: Job, stage: Stage, workers: int, cluster: str | None) -> Players:
    """Who plays: a cluster where there is an address, else this machine."""
    if cluster is not None:
        return Cluster(job, cluster)
    return Processes(job, stage, workers) if workers > 1 else Here(stage)
