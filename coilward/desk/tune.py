"""`coilward tune`: the valve loop measured over its range, and settings that fit it."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Final

from coilward.desk.console import item, out, progress, say_files
from coilward.desk.files import claim, deliver
from coilward.desk.rewriting import Rewrite, plan, put, say_rewrite
from coilward.loop.units import System

if TYPE_CHECKING:

    from coilward.loop.model import Throttle
    from coilward.tuning.tuning import Judged, Tuned

SWINGS: Final = "throttle-swings"
"""The one finding that a tuning is there to end."""


def tune_loop(
    loop_name: str, *, seed: int, today: date, write: bool, json_name: str | None,
    page_name: str | None, units: System | None,
) -> int:  # fmt: skip
    """Measure, propose, tell, write the files; with ``write`` the proposal into the loop file too.

    1 where the loop is not sound, or where neither the present settings nor any others keep what
    is promised of robustness and peaks. Raises InputRefused for a bad loop or output, or a loop
    file that can't be written to, before anything runs.
    """
    claim({"--json": json_name, "--page": page_name}, [loop_name])
    from coilward.desk.page.tune import tune_page
    from coilward.desk.reading import checked_loop
    from coilward.desk.report_json import plain_json
    from coilward.desk.tuning import NOTHING, say_care, say_tuned
    from coilward.loop.derived import derive
    from coilward.loop.layout import sound
    from coilward.tuning.tuning import tune

    loop = checked_loop(loop_name, today)
    console = out()
    if loop.room.kind == "tub":
        said = {json_name: plain_json({"nothing_to_tune": NOTHING})} if json_name else {}
        if not deliver(said):
            item(console, NOTHING, indent=0)
            say_files(console, said)
        return 0
    against = [each for each in sound(loop, derive(loop, today)) if each.key != SWINGS]
    if against:
        why = against[0].text
        sys.stderr.write(f"error: nothing is tuned on a loop that is not sound: {why}\n")
        return 1
    begun = plan(loop_name, [], today=today)
    if write:
        put(begun)
    system = units or loop.units
    with progress(f"{loop.name}: tests of the valve") as show:
        tuned = tune(loop, today=today, seed=seed, progress=show)
    rewrite = rewritten(tuned.proposed.settings, begun, today) if tuned.proposed else None
    if write and rewrite:
        put(rewrite)
    written = write and rewrite is not None
    texts: dict[str, str] = {}
    if json_name:
        texts[json_name] = plain_json({**tuned_json(tuned), "written": written})
    if page_name:
        texts[page_name] = tune_page(tuned, again(loop_name, seed, today, units), system)
    if not deliver(texts):
        say_tuned(console, tuned, system)
        if rewrite:
            say_rewrite(console, rewrite, written=written)
        say_care(console)
        say_files(console, texts)
    return 0 if tuned.proposed or stands(tuned) else 1


def rewritten(settings: Throttle, begun: Rewrite, today: date) -> Rewrite:
    """The loop file with the settings in it, to be put only where it is still as it was begun."""
    from coilward.tuning.scheduling import changes

    note = f"tuned {today.isoformat()}"
    return replace(plan(begun.name, changes(settings), today=today, note=note), raw=begun.raw)


def again(loop_name: str, seed: int, today: date, units: System | None) -> str:
    """The command that shows this again."""
    import shlex

    shown = f" --units {units}" if units else ""
    return (
        f"coilward tune {shlex.quote(loop_name)} --seed {seed} --on {today.isoformat()}{shown} "
        "--page tuned.html"
    )


def stands(tuned: Tuned) -> bool:
    """Whether the present settings are robust, and their surges stay under the dump."""
    from coilward.tuning.checks import MOST_SENSITIVE

    present = tuned.present
    return all(
        each.sensitivity <= MOST_SENSITIVE for each in (*present.margins, *present.cornered)
    ) and all(each.peak_c <= tuned.derived.outlet_dump_c for each in present.trials)


def tuned_json(tuned: Tuned) -> dict[str, object]:
    """All that was measured and reckoned; names end with their unit."""
    from coilward.desk.tuning import headline
    from coilward.loop.document import loop_id
    from coilward.tuning.scheduling import keys

    def judged(side: Judged | None) -> dict[str, object] | None:
        if side is None:
            return None
        return {
            "settings": keys(side.settings),
            "margins": [each._asdict() for each in side.margins],
            "margins_in_corner": [each._asdict() for each in side.cornered],
            "corner": side.corner,
            "surges": [
                {
                    name: value
                    for name, value in each._asdict().items()
                    if name not in ("time_s", "outlet_c")
                }
                for each in side.trials
            ],
            "nights": [each._asdict() for each in side.endings],
            "error_over_fixed_gains": side.against_fixed.tolist(),
        }

    return {
        "answer": headline(tuned),
        "loop_id": loop_id(tuned.loop),
        "seed": tuned.seed,
        "slower": tuned.slower,
        "measured": [
            {
                **each.place._asdict(),
                "gain_k_lpm": each.process.gain._asdict(),
                "lag_s": each.process.lag_s._asdict(),
                "delay_s": each.process.delay_s._asdict(),
                "thermometer_s": each.process.thermometer_s,
                "relay": each.relay._asdict() if each.relay else None,
            }
            for each in tuned.measured.found
        ],
        "present": judged(tuned.present),
        "proposed": judged(tuned.proposed),
        "promises": [each._asdict() for each in tuned.checks],
    }
