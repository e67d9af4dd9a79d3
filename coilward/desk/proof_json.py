"""A proof as JSON. Nothing in it depends on the machine, the day's load or the workers."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

from coilward.desk.classes import bound_sentence, one_in, stands, verdict_sentence
from coilward.desk.proving import attends, forbids
from coilward.desk.report_json import plain_json
from coilward.desk.sizes import hanging_on, needs

if TYPE_CHECKING:
    from coilward.desk.proving import Asked
    from coilward.desk.tripping import Setting
    from coilward.proving.proof import Proof


def proof_json(proof: Proof, here: Setting, asked: Asked) -> str:
    """The whole proof, with the commands that show the worst cases."""
    data = asdict(proof)
    for row in data["rows"]:
        row["again"] = asked.again(row["worst_key"]) if row["worst_key"] else ""
    for pair in data["pair_escapes"]:
        pair["again"] = asked.again(pair["key"])
    return plain_json(
        {
            "stands": stands(proof),
            "forbidden": forbids(here, asked.today),
            "attended_only": attends(here, asked.today),
            "verdict": verdict_sentence(proof),
            "bound": bound_sentence(proof),
            "fewer_than_one_in": 0
            if any(row.escapes for row in proof.rows)
            else one_in(proof.runs),
            "needs": [
                {**asdict(need), "hanging": hanging_on(need, here)} for need in needs(here)
            ],
            **data,
        }
    )
