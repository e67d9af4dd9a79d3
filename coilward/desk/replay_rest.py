"""What is said of the simulated rest of a replayed night, and with which error."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from coilward.desk.times import clock, span

if TYPE_CHECKING:
    from coilward.desk.replay import Answer
    from coilward.hil.replay.fitted import Misfit
    from coilward.hil.replay.follower import Outcome
    from coilward.hil.replay.rest import Rest

SIMULATED: Final = "simulated"
PLANTS: Final = {False: "the loop file's plant", True: "the plant that was learned from this log"}
POOR: Final = (
    "THIS PLANT DOES NOT FOLLOW THE LOG. What is simulated with it is a story, and no estimate; no "
    "margin is told."
)
ESTIMATE: Final = (
    "A simulated estimate, no more: it holds where fire, people and what broke would have been the "
    "same, and it is no proof that a coil would have been spared."
)


def rest_said(answer: Answer) -> list[str]:
    """All sentences about the rest, the moment and the error first; none where nothing parts."""
    if answer.no_rest:
        return [f"The rest is not simulated: {answer.no_rest}."]
    rest = answer.rest
    if rest is None:
        return []
    told = [_from_when(rest), _error(rest)]
    if rest.fitted.poor:
        told.append(POOR)
    told.append(_result(rest))
    if rest.broken:
        broken = "; ".join(f"{clock(at_s)} {words}" for at_s, words in rest.broken)
        told.append(f"Taken over from the log: {broken}.")
    return [*told, ESTIMATE]


def headline(rest: Rest) -> str:
    """The rest in one sentence."""
    began = f"From {clock(rest.from_s)} on an output is told another thing, and the rest is"
    if rest.fitted.poor:
        return f"{began} simulated; but the plant does not follow this log: no estimate."
    now, then = outcome_said(rest.outcome, False), outcome_said(rest.fitted.as_logged, False)
    same = "Under the logged commands the same plant does likewise" if now == then else (
        f"The same plant under the logged commands: {then}"
    )  # fmt: skip
    return f"{began} a simulated estimate: {now}. {same}."


def _from_when(rest: Rest) -> str:
    ends = "where the board was away" if rest.cut_short else "the end of the log"
    return (
        f"Simulated from {clock(rest.from_s)} to {clock(rest.until_s)}, {ends}: the new logic on "
        f"{PLANTS[rest.fitted.learned]}, begun from what was read, with the heat that the log's "
        "fire gave."
    )


def _error(rest: Rest) -> str:
    before, after = rest.fitted.before, rest.fitted.after
    if math.isnan(before.outlet_k) or math.isnan(before.tank_k):
        head = "How well this plant follows the log before that is not known: too little is there."
    else:
        head = (f"Left to itself under the logged commands, for {span(before.lasts_s)} before "
                f"that, this plant is {_off(before)} (root mean square).")  # fmt: skip
    return f"{head} From there to the end, likewise under the logged commands: {_off(after)}."


def _off(misfit: Misfit) -> str:
    return f"{_kelvin(misfit.outlet_k)} off at the outlet, {_kelvin(misfit.tank_k)} at the tank"


def _kelvin(off_k: float) -> str:
    return "not known how far" if math.isnan(off_k) else f"{off_k:.1f} K"


def _result(rest: Rest) -> str:
    poor, sides = rest.fitted.poor, (rest.outcome, rest.fitted.as_logged)
    boils = any(each.boiled_s is not None for each in sides)
    return (
        f"In the simulated rest {outcome_said(rest.outcome, poor)}. The same plant under the "
        f"logged commands: {outcome_said(rest.fitted.as_logged, poor)}."
        + (" After a first boil nothing is a margin." if boils else "")
    )


def outcome_said(outcome: Outcome, poor: bool) -> str:
    """Whether it boils, and else the margins; a poor plant has none."""
    if outcome.boiled_s is not None:
        return f"the coil boils at {clock(outcome.boiled_s)}"
    if poor:
        return "the coil does not boil"
    still = "" if math.isinf(outcome.boil_margin_s) else (
        f", and {span(outcome.boil_margin_s)} if the water had stood"
    )  # fmt: skip
    return f"the coil does not boil; least margin {outcome.boil_margin_k:.0f} K{still}"


def rest_json(answer: Answer) -> dict[str, Any]:
    """The same as data; temperatures in degC, a row a second."""
    rest = answer.rest
    if rest is None:
        return {"simulated_from_s": None, "not_simulated": answer.no_rest or None, "rest": None}
    poor = rest.fitted.poor
    return {"simulated_from_s": rest.from_s, "not_simulated": None, "rest": {
        "until_s": rest.until_s, "board_away_at_end": rest.cut_short,
        "plant_learned_from_log": rest.fitted.learned, "poor": poor,
        "misfit_before": rest.fitted.before._asdict(), "misfit_after": rest.fitted.after._asdict(),
        "outcome": _outcome(rest.outcome, poor),
        "same_plant_as_logged": _outcome(rest.fitted.as_logged, poor),
        "broken": [{"time_s": at_s, "words": words} for at_s, words in rest.broken],
        "curves": {"time_s": rest.time_s.tolist(),
                   **{name: each.tolist() for name, each in rest.curves.items()}},
    }}  # fmt: skip


def _outcome(outcome: Outcome, poor: bool) -> dict[str, float | None]:
    known = not poor and outcome.boiled_s is None
    return {
        "boiled_s": outcome.boiled_s,
        "boil_margin_k": outcome.boil_margin_k if known else None,
        "boil_margin_s": outcome.boil_margin_s if known else None,
    }
