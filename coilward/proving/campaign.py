"""Every fault, in every phase, many times: what is tried, and how far it has come."""

from __future__ import annotations

import hashlib
import math
import time
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from datetime import date
from itertools import combinations
from pathlib import Path
from typing import Final

import coilward
from coilward.controller.adding import signature
from coilward.loop.document import loop_id
from coilward.loop.model import Loop
from coilward.proving import workers as work
from coilward.proving.case import Case, phases_for
from coilward.proving.proof import PairLeftOut, Proof
from coilward.proving.results import Tried, proof_of
from coilward.proving.stage import Stage
from coilward.proving.store import Store
from coilward.simulator.engine import Engine, can_compile
from coilward.simulator.faults import FAULTS, Fault, lacking
from coilward.simulator.logic import Logic

LEAST_RUNS: Final = 299
"""Without an escape they bound the share of escapes to 1 % at 95 % confidence."""
DOUBT: Final = 0.05
MOST_TRIES: Final = 4
"""Times as many cases as asked for are drawn, where some turn out invalid."""
PAIR_TRIES: Final = 4
WORTH_COMPILING: Final = 100
"""With fewer cases than this the interpreter is done before a compiler would be."""
MINUTE_S, MARK_S = 60.0, 1.0

Progress = Callable[[int, int, float], None]
"""Cases done, cases in all, seconds left (infinite until something is known)."""


def runs_for(confidence: float, faults: int) -> int:
    """Cases a fault, so that all together bound the share that ends well, at 95 % confidence.

    n cases without a failure bound it to c where c ** n = 0.05. Raises ValueError for a share
    outside of 0 to 1.
    """
    if not 0.0 < confidence < 1.0:
        raise ValueError("a confidence lies between 0 and 1, for example 0.9999")
    in_all = math.ceil(math.log(DOUBT) / math.log(confidence))
    return max(LEAST_RUNS, math.ceil(in_all / max(1, faults)))


def why_not(fault: Fault, loop: Loop) -> str:
    """Why a fault can't be tried on this loop; empty where it can."""
    missing = lacking(fault, loop)
    if fault.unshown:
        return fault.unshown
    if missing is not None:
        return f"this loop has no {missing}"
    return "" if phases_for(loop, [fault]) else "no phase of this loop lets it start"


def why_not_both(first: Fault, second: Fault, loop: Loop) -> str:
    """Why two faults can't be had at once; empty where they can."""
    slots = {effect.slot for effect in first.effects}
    if slots & {effect.slot for effect in second.effects}:
        return "both are the same part"
    return "" if phases_for(loop, [first, second]) else "no phase lets both start"


def logic_hash(stage: Stage) -> str:
    """Changes with the decision function's source, its constants, and rows added at run time."""
    own = stage.bench.logic.digest or _sources_hash("controller")
    return _short(f"{own}{stage.bench.constants.checksum}{signature()}")


def model_hash(stage: Stage) -> str:
    """Changes with plant, faults, requirements, and with the passive devices that count."""
    parts = [_sources_hash(part) for part in ("loop", "simulator", "proving")]
    return _short("".join([*parts, *sorted(stage.bench.derived.passive)]))


def _sources_hash(part: str) -> str:
    folder = Path(coilward.__file__).parent / part
    digest = hashlib.sha256()
    for file in sorted(folder.rglob("*.py")):
        digest.update(file.relative_to(folder).as_posix().encode())
        digest.update(file.read_bytes())
    return digest.hexdigest()


def _short(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def prove(
    loop: Loop,
    *,
    faults: Sequence[str] | None = None,
    runs: int | None = None,
    confidence: float | None = None,
    pairs: bool = False,
    seed: int = 1,
    workers: int = 1,
    cluster: str | None = None,
    logic: Logic | None = None,
    today: date,
    store: Path,
    progress: Progress | None = None,
    engine: Engine = "auto",
) -> Proof:
    """Try faults on one loop and say what came of it.

    ``runs`` cases a fault, or as many as ``confidence`` asks for, at least 299 without either.
    ``store`` is a folder; the file in it is named by loop, logic, model and seed. What lies
    there already is not played again, so that a campaign that was stopped goes on. The proof is
    the same bytes however many workers play.
    Raises KeyError for a name that is no fault, ValueError for numbers out of range,
    RuntimeError where workers or a cluster can't be had; KeyboardInterrupt leaves all that was
    finished in the store.
    """
    chosen = list(FAULTS) if faults is None else [FAULTS[name].name for name in faults]
    playable = [name for name in chosen if not why_not(FAULTS[name], loop)]
    wanted = _runs(runs, confidence, len(playable))
    both, left_out = _pairs(playable, loop) if pairs else ([], [])
    in_all = wanted * len(playable) + len(both)
    if engine == "auto" and logic is None and can_compile() and in_all >= WORTH_COMPILING:
        engine = "compiled"
    stage = Stage(loop, engine=engine, today=today, logic=logic)
    job = work.Job(loop, today, engine, "" if logic is None else logic.name)
    hashes = loop_id(loop), logic_hash(stage), model_hash(stage)
    with Store(store / f"{'-'.join(hashes)}-{seed}.sqlite") as kept:
        players = work.players(job, stage, workers, cluster)
        try:
            player = _Player(players, kept, seed, _Clock(in_all, progress))
            drawn, tries = player.singles(playable, wanted), player.pairs(both)
        finally:
            players.close()
        tried = Tried(
            stage, kept, hashes, seed, wanted, chosen, drawn, tries, tuple(left_out),
            {name: why_not(FAULTS[name], loop) for name in chosen},
        )
        return proof_of(tried)


def _runs(runs: int | None, confidence: float | None, faults: int) -> int:
    if runs is not None and confidence is not None:
        raise ValueError("either a number of runs or a confidence, not both")
    if confidence is not None:
        return runs_for(confidence, faults)
    if runs is not None and runs < 1:
        raise ValueError("at least one run a fault is needed")
    return LEAST_RUNS if runs is None else runs


def _pairs(names: Sequence[str], loop: Loop) -> tuple[list[tuple[str, str]], list[PairLeftOut]]:
    """Every unordered pair: those that can be had at once, and why the others can't."""
    both, left_out = [], []
    for first, second in combinations(names, 2):
        why = why_not_both(FAULTS[first], FAULTS[second], loop)
        if why:
            left_out.append(PairLeftOut(first, second, why))
        else:
            both.append((first, second))
    return both, left_out


class _Clock:
    """Counts, and tells how long it will take at the pace of the last minute."""

    def __init__(self, in_all: int, progress: Progress | None) -> None:
        self._in_all, self._progress = in_all, progress
        self._done = 0
        self._marks: deque[tuple[float, int]] = deque()

    def there(self, already: int) -> None:
        """Cases that need not be played."""
        self._done += already

    def more(self, cases: int) -> None:
        """Cases that were not foreseen."""
        self._in_all += cases

    def tick(self, cases: int) -> None:
        """So many cases were finished just now."""
        now_s = time.monotonic()
        if not self._marks:
            # The first cases wait for workers and compiler: the pace counts from their end.
            self._marks.append((now_s, self._done + cases))
        self._done += cases
        if now_s - self._marks[-1][0] >= MARK_S:
            self._marks.append((now_s, self._done))
        while len(self._marks) > 2 and now_s - self._marks[1][0] > MINUTE_S:
            self._marks.popleft()
        if self._progress is None:
            return
        then_s, then = self._marks[0]
        pace = (self._done - then) / (now_s - then_s) if now_s > then_s else 0.0
        left_s = (self._in_all - self._done) / pace if pace > 0.0 else math.inf
        self._progress(self._done, self._in_all, 0.0 if self._done >= self._in_all else left_s)


class _Player:
    """Plays what is not in the store yet, and keeps it there."""

    def __init__(self, players: work.Players, store: Store, seed: int, clock: _Clock) -> None:
        self._players, self._store, self._seed, self._clock = players, store, seed, clock

    def singles(self, names: Sequence[str], wanted: int) -> dict[str, int]:
        """How many indices of each fault were drawn, until enough of its cases are valid."""
        drawn = dict.fromkeys(names, 0)
        short = dict.fromkeys(names, wanted)
        while short:
            before = {name: drawn[name] for name in short}
            for name, more in short.items():
                drawn[name] += more
            ranges = [((name,), before[name], drawn[name]) for name in short]
            self._play(ranges)
            short = {}
            for name in before:
                valid = self._store.count((name,), drawn[name], where="fired = 1")
                more = min(wanted - valid, MOST_TRIES * wanted - drawn[name])
                if more > 0:
                    short[name] = more
                    self._clock.more(more)
        return drawn

    def pairs(self, both: Sequence[tuple[str, str]]) -> dict[tuple[str, str], int]:
        """How many indices of each pair were drawn, until one case is valid."""
        drawn = dict.fromkeys(both, 0)
        short: Sequence[tuple[str, str]] = both
        for number in range(PAIR_TRIES):
            self._play([(pair, number, number + 1) for pair in short])
            drawn.update(dict.fromkeys(short, number + 1))
            short = [
                pair for pair in short
                if self._store.count(pair, number + 1, where="fired = 1") == 0
            ]
            self._clock.more(len(short) if number + 1 < PAIR_TRIES else 0)
        return drawn

    def _play(self, ranges: Sequence[tuple[tuple[str, ...], int, int]]) -> None:
        """Play the cases of some ranges of indices that are not there yet."""
        for lines in self._players.play(self._missing(ranges)):
            self._store.add(lines)
            self._clock.tick(len(lines))

    def _missing(self, ranges: Sequence[tuple[tuple[str, ...], int, int]]) -> Iterator[str]:
        """Keys by turns, one of each fault, so that the pace tells something about the rest."""
        there = []
        for faults, low, high in ranges:
            numbers = self._store.numbers(faults, high)
            found = bytearray(high - low)
            for number in numbers:
                if number >= low:
                    found[number - low] = 1
            there.append(found)
            self._clock.there(sum(found))
        longest = max((high - low for _, low, high in ranges), default=0)
        for turn in range(longest):
            for (faults, low, high), found in zip(ranges, there, strict=True):
                if low + turn < high and not found[turn]:
                    yield Case(faults, low + turn, self._seed).key
