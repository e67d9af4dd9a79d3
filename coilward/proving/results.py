"""From the store to the proof: one row a fault, in an order that no number of workers changes."""

from __future__ import annotations

from typing import NamedTuple

from coilward.proving.outcome import Outcome
from coilward.proving.proof import PairEscape, PairLeftOut, Proof, RowResult, Status
from coilward.proving.stage import PROMISING, Stage
from coilward.proving.store import Store
from coilward.proving.telling import ASKED
from coilward.simulator.faults import FAULTS

DOUBT = 0.05


class Tried(NamedTuple):
    """What a campaign has tried."""

    stage: Stage
    store: Store
    hashes: tuple[str, str, str]
    """Of loop, logic and model."""
    seed: int
    wanted: int
    """Valid cases a fault."""
    chosen: list[str]
    drawn: dict[str, int]
    """Indices drawn of each fault that can be tried."""
    pairs: dict[tuple[str, str], int]
    left_out: tuple[PairLeftOut, ...]
    why_not: dict[str, str]


def proof_of(tried: Tried) -> Proof:
    """The proof of all that was tried."""
    rows = tuple(_row(tried, name) for name in tried.chosen)
    runs = sum(row.runs for row in rows)
    pairs_run, escapes, unfired = _pairs(tried)
    loop_hash, logic_hash, model_hash = tried.hashes
    return Proof(
        loop_name=tried.stage.loop.name,
        loop_hash=loop_hash,
        logic_hash=logic_hash,
        logic_name=tried.stage.bench.logic.name,
        model_hash=model_hash,
        seed=tried.seed,
        rows=rows,
        pairs_run=pairs_run,
        pair_escapes=tuple(escapes),
        pairs_left_out=(*tried.left_out, *unfired),
        runs=runs,
        confidence=DOUBT ** (1.0 / runs) if runs else 0.0,
    )


def _row(tried: Tried, name: str) -> RowResult:
    cls, why_not = tried.stage.cls((name,)), tried.why_not[name]
    if why_not:
        status: Status = "not shown" if FAULTS[name].unshown else "not in this loop"
        return RowResult(
            fault=name, cls=cls, status=status, runs=0, invalid=0, boiled=0, escapes=0, caught={},
            median_s=None, worst_s=None, deadline_s=None, margin_k=None, margin_s=None,
            worst_key="", why=why_not,
        )
    store, of = tried.store, ((name,), tried.drawn[name])
    runs = store.count(*of, where="fired = 1")
    boiled = store.count(*of, where="fired = 1 AND boil_s IS NOT NULL")
    escapes = store.count(*of, where="escaped = 1")
    worst = store.worst(*of)
    status, why = _status(tried, name, runs, boiled, escapes, worst)
    return RowResult(
        fault=name,
        cls=cls,
        status=status,
        runs=runs,
        invalid=tried.drawn[name] - runs,
        boiled=boiled,
        escapes=escapes,
        caught=store.caught(*of),
        median_s=store.median_caught_s(*of),
        worst_s=store.extreme("max(caught_s)", *of),
        deadline_s=_deadline_s(tried, name),
        margin_k=store.extreme("min(margin_k)", *of),
        margin_s=store.extreme("min(margin_s)", *of),
        worst_key="" if worst is None else worst.key,
        why=why,
    )


def _deadline_s(tried: Tried, name: str) -> float | None:
    """The longest that any phase of its allows."""
    fault, bench = FAULTS[name], tried.stage.bench
    due = [fault.due_s(tried.stage.loop, bench.derived, phase) for phase in fault.phases]
    return max((each for each in due if each is not None), default=None)


def _status(
    tried: Tried, name: str, runs: int, boiled: int, escapes: int, worst: Outcome | None
) -> tuple[Status, str]:
    """The verdict on one fault, and why where it is no pass."""
    cls = tried.stage.cls((name,))
    if escapes and worst is not None:
        return "escaped", f"{escapes} of {runs}: {violated(worst)}"
    if runs < tried.wanted:
        return "invalid", f"the fault acted in {runs} of {tried.drawn[name]} cases only"
    if cls in PROMISING:
        return "passed", ""
    if cls == "nothing helps":
        return "not survivable", f"no logic and no hardware of this loop holds it: {boiled} boil"
    if cls == "hardware only":
        if boiled:
            return "boils", f"the hardware that should hold it does not: {boiled} of {runs} boil"
        return "held by hardware", "no logic holds it, the loop's hardware does"
    counted = f"{boiled} of {runs} boil: the open vent only lets the steam out, nothing prevents it"
    none = f"none of {runs} boiled, but nothing fitted would prevent it; the vent lets steam out"
    return "lets the steam out", counted if boiled else none


def violated(outcome: Outcome) -> str:
    """What a case violated, in words."""
    words = {
        "deadline": "no row told in time",
        "first-boil": "the coil boiled",
        "latch-kept": "a latch went without a reset",
        "air-kept-off": "the damper stood open where no fire belongs",
        **{f"told-{name}": f"{name} did not tell in time" for name in ASKED},
    }
    return ", ".join(words.get(name, name.replace("-", " ") + " broken") for name in outcome.missed)


def _pairs(tried: Tried) -> tuple[int, list[PairEscape], list[PairLeftOut]]:
    """Pairs that were had, those that escaped, and those that never acted together."""
    run, escapes, unfired = 0, [], []
    for pair, drawn in tried.pairs.items():
        valid = [each for each in tried.store.outcomes(pair, drawn) if each.fired]
        if not valid:
            why = f"they did not act together in {drawn} tries"
            unfired.append(PairLeftOut(*pair, why))
            continue
        run += 1
        escapes += [
            PairEscape(*pair, tried.stage.cls(pair), violated(each), each.key)
            for each in valid if each.escaped
        ]
    return run, escapes, unfired
