"""`coilward prove`: every fault of the catalogue, tried many times, and what that shows."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from coilward.desk.console import counted, out, say_files
from coilward.desk.files import claim, deliver
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.units import System

if TYPE_CHECKING:
    from coilward.desk.proving import Asked
    from coilward.desk.tripping import Setting
    from coilward.proving.proof import Proof
    from coilward.simulator.logic import Logic


class Wanted(NamedTuple):
    """What is to be tried, as typed."""

    faults: str | None
    """Names with commas between; None means all."""
    runs: int | None
    confidence: float | None
    pairs: bool
    seed: int
    workers: int
    cluster: str | None
    logic: str | None
    store: str | None


def prove_loop(
    loop_name: str, wanted: Wanted, *, today: date, json_name: str | None, page_name: str | None,
    units: System | None,
) -> int:  # fmt: skip
    """Run what is not yet run, tell all of it, write the files.

    1 where a fault of a class that can pass did not, the run leaves something unclear, or
    something forbids a fire on this loop whatever its logic does.
    Raises InputRefused for a bad loop, fault, logic, store or output before anything runs.
    """
    claim({"--json": json_name, "--page": page_name}, [loop_name])
    names = _names(wanted)
    from coilward.controller.constants import constants_for
    from coilward.desk.classes import stands
    from coilward.desk.proving import Asked, forbids
    from coilward.desk.reading import checked_loop
    from coilward.desk.tripping import Setting
    from coilward.loop.derived import derive
    from coilward.proving.campaign import prove

    loop = checked_loop(loop_name, today)
    logic = _logic(wanted.logic)
    store = _store(wanted.store)
    try:
        with counted(f"{loop.name}: faults tried") as show_count:
            proof = prove(
                loop, faults=names, runs=wanted.runs, confidence=wanted.confidence,
                pairs=wanted.pairs, seed=wanted.seed, workers=wanted.workers,
                cluster=wanted.cluster, logic=logic, today=today, store=store,
                progress=show_count,
            )  # fmt: skip
    except RuntimeError as error:
        option = "--cluster" if wanted.cluster else "--workers"
        typed = wanted.cluster or str(wanted.workers)
        raise InputRefused([_refused(
            option, typed, str(error), "workers that this machine, or the cluster, can have",
        )]) from error  # fmt: skip
    except KeyboardInterrupt:
        sys.stderr.write(
            f"\nStopped. Every case that was finished is kept in {store}; type the same command "
            "again to go on.\n"
        )
        return 130
    derived = derive(loop, today)
    here = Setting(loop, derived, constants_for(loop, derived), units or loop.units)
    asked = Asked(loop_name, today, wanted.logic, units)
    _tell(proof, here, asked, json_name, page_name)
    return 0 if stands(proof) and not forbids(here, today) else 1


def _logic(typed: str | None) -> Logic | None:
    """The person's own decision function; None for ours."""
    if typed is None:
        return None
    from coilward.simulator.foreign import load

    return load(typed)


def _tell(
    proof: Proof, here: Setting, asked: Asked, json_name: str | None, page_name: str | None
) -> None:
    from coilward.desk.page.proof import proof_page
    from coilward.desk.proof_json import proof_json
    from coilward.desk.proving import say_proof

    texts: dict[str, str] = {}
    if json_name:
        texts[json_name] = proof_json(proof, here, asked)
    if page_name:
        texts[page_name] = proof_page(proof, here, asked)
    if deliver(texts):
        return
    console = out()
    say_proof(console, proof, here, asked)
    say_files(console, texts)


def _names(wanted: Wanted) -> Sequence[str] | None:
    """The faults asked for, in catalogue order; None where none is named."""
    if wanted.runs is not None and wanted.confidence is not None:
        raise InputRefused([_refused(
            "--confidence", str(wanted.confidence), "--runs is given as well",
            "one of the two: the number of runs follows from the confidence",
        )])  # fmt: skip
    if wanted.cluster is not None and wanted.workers != 1:
        raise InputRefused([_refused(
            "--workers", str(wanted.workers), "--cluster is given as well",
            "one of the two: the machines of the cluster bring their own workers",
        )])  # fmt: skip
    from coilward.desk.reading import named_faults

    return named_faults(wanted.faults)


def _refused(option: str, typed: str, problem: str, accepted: str) -> Fault:
    return Fault(option, None, "", typed, problem, accepted)


def _store(typed: str | None) -> Path:
    """The folder in which finished cases are kept."""
    from coilward.simulator.engine import user_cache

    path = Path(typed) if typed else user_cache() / "proofs"
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputRefused([_refused(
            "--store", f'"{path}"', f"this can't be a folder ({(error.strerror or '').lower()})",
            "the name of a folder that can be written to",
        )]) from error  # fmt: skip
    return path
