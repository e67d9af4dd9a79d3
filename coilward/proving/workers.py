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


def here(stage: Stage, keys: Iterable[str]) -> Iterator[list[str]]:
    """In this process, on a stage that is there already, one case after the other."""
    for key in keys:
        yield [to_json(stage.play(parse_case(key)))]


def processes(job: Job, keys: Iterable[str], workers: int) -> Iterator[list[str]]:
    """On this machine. A worker that dies is replaced, and what it had is played again.

    Raises RuntimeError when workers die again and again.
    """
    todo, breaks = chunks(keys), 0
    again: list[Keys] = []
    while True:
        pool = ProcessPoolExecutor(
            workers, mp_context=get_context("spawn"), initializer=_let_the_parent_stop
        )
        running: dict[Future[list[str]], Keys] = {}
        try:
            while True:
                while len(running) < AHEAD * workers:
                    if not again and (chunk := next(todo, None)):
                        again.append(chunk)
                    if not again:
                        break
                    running[pool.submit(play, job, again[-1])] = again[-1]
                    again.pop()
                if not running:
                    return
                for done in wait(running, return_when=FIRST_COMPLETED).done:
                    lines = done.result()
                    del running[done]
                    breaks = 0
                    yield lines
        except BrokenProcessPool as broken:
            breaks += 1
            if breaks > MOST_BREAKS:
                raise RuntimeError("workers die again and again; is there memory left?") from broken
            again += running.values()
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


def _let_the_parent_stop() -> None:
    """Control-C reaches every process of a terminal: only the parent answers."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def cluster(job: Job, keys: Iterable[str], address: str) -> Iterator[list[str]]:
    """On the workers of a dask scheduler, which plays again what a dead worker had.

    Raises RuntimeError where dask.distributed is missing or the scheduler does not answer.
    """
    try:
        import distributed
    except ImportError:
        raise RuntimeError(
            "many machines need dask.distributed: pip install 'coilward[cluster]'"
        ) from None
    connect: Any = distributed.Client
    wait_for: Any = distributed.wait
    try:
        client: Any = connect(address, timeout="10s", set_as_default=False)
    except OSError as error:
        raise RuntimeError(f"no scheduler answers at {address}: {error}") from error
    with client:
        todo = chunks(keys)
        running: dict[Any, Keys] = {}
        while True:
            workers = max(1, len(client.scheduler_info()["workers"]))
            for chunk in islice(todo, max(0, AHEAD * workers - len(running))):
                running[client.submit(play, job, chunk, pure=False)] = chunk
            if not running:
                return
            done, _ = wait_for(list(running), return_when="FIRST_COMPLETED")
            for future in done:
                chunk = running.pop(future)
                if isinstance(future.exception(), distributed.KilledWorker):
                    running[client.submit(play, job, chunk, pure=False)] = chunk
                    continue
                yield future.result()
