"""What was learned as JSON. The names and types here are kept stable."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilward.desk.report_json import plain_json
from coilward.desk.rewriting import told
from coilward.loop.document import loop_id

if TYPE_CHECKING:
    from coilward.desk.learn import Answer


def as_json(answer: Answer) -> str:
    """One log of one loop; numbers in the unit that `unit` names, the file's own before it."""
    learned = answer.learned
    return plain_json(
        {
            "loop_id": loop_id(learned.loop),
            "log": learned.log.file,
            "rows": len(learned.log.time_s),
            "every_s": learned.log.every_s,
            "numbers": [
                {
                    "key": each.key, "words": each.words, "unit": each.unit, "file": each.guess,
                    "value": each.value, "sd": each.sd, "low": each.low, "high": each.high,
                    "told": each.told, "why": each.why,
                }
                for each in learned.numbers
            ],
            "largest_w": learned.largest_w,
            "scatter_k": dict(zip(learned.plant.seen, learned.fit.spread.tolist(), strict=True)),
            "changes": [
                {"key": each.key, "was": each.was, "now": each.now} for each in answer.changes
            ],
            "less_safe": [told(each, answer.loop) for each in answer.rewrite.less_safe]
            if answer.rewrite else [],
            "refused": answer.refused,
            "written": answer.written,
            "verdict": [
                {"words": row.words, "unit": row.unit, "before": row.before, "after": row.after}
                for row in answer.verdict
            ],
            "against": answer.against,
            "tests": [
                {"key": each.experiment.key, "words": each.experiment.words, "gain": each.gain,
                 "tells": list(each.tells)}
                for each in answer.tests
            ],
        }
    )  # fmt: skip
