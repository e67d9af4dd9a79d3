"""A made-up proof: every status and every class, with numbers that no campaign gave."""

from __future__ import annotations

from dataclasses import replace

from coilward.proving.proof import PairEscape, PairLeftOut, Proof, RowResult

ALONE = "logic alone"
PREVENTS = "logic plus hardware that prevents boiling"
STEAMS = "logic plus hardware that only lets the steam out"
HARDWARE = "hardware only"
NOTHING = "nothing helps"


def row(fault, cls=ALONE, status="passed", **changed):
    base = RowResult(
        fault=fault, cls=cls, status=status, runs=299, invalid=0, boiled=0, escapes=0,
        caught={"C02": 280, "C01": 19}, median_s=1.5, worst_s=2.25, deadline_s=3.0, margin_k=11.3,
        margin_s=14.0, worst_key=f"{fault}/17@1", why="",
    )  # fmt: skip
    return replace(base, **changed)


STEAMING = row(
    "pump-dies", STEAMS, "lets the steam out", boiled=299, margin_k=0.0, margin_s=0.0,
    why="The coil boils; the vent lets the steam out.",
)  # fmt: skip
NOT_SHOWN = row(
    "meter-dead", NOTHING, "not shown", runs=0, caught={}, median_s=None, worst_s=None,
    deadline_s=None, margin_k=None, margin_s=None, worst_key="",
    why="No model can show what a person does.",
)  # fmt: skip


def proof(*rows, **changed):
    """A proof that stands, with a row of every kind that does not speak against it."""
    rows = rows or (
        row("fans-fail", margin_k=7.25),
        row("outlet-a-open", caught={"C13": 299}, margin_k=None, margin_s=None),
        row("supply-lost", PREVENTS, margin_k=9.5, margin_s=31.0),
        STEAMING,
        row("line-frozen", HARDWARE, "held by hardware", caught={"": 299}, median_s=None,
            worst_s=None, deadline_s=None, why="The gravity dump alone holds it."),
        row("board-reboots", NOTHING, "not survivable", boiled=200, why="Nothing holds it."),
        NOT_SHOWN,
    )  # fmt: skip
    base = Proof(
        loop_name="greenhouse", loop_hash="0123456789ab", logic_hash="ba9876543210",
        logic_name="coilward", model_hash="c0ffee000000", seed=1, rows=tuple(rows),
        pairs_run=0, pair_escapes=(), pairs_left_out=(), runs=sum(each.runs for each in rows),
        confidence=0.99,
    )  # fmt: skip
    return replace(base, **changed)


def with_pairs():
    return proof(
        pairs_run=66,
        pair_escapes=(
            PairEscape("fans-fail", "dump-stuck", STEAMS, "boils", "fans-fail+dump-stuck/0@1"),
        ),
        pairs_left_out=(PairLeftOut("pump-dies", "pump-stalls", "one pump"),),
    )


def escaped():
    return proof(
        row("fans-fail"),
        row("pump-weak", status="escaped", escapes=1, margin_k=-1.0,
            why="C07 told after 21 s, and 15 s were given."),
        STEAMING,
    )  # fmt: skip
