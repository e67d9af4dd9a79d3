"""`coilward interlocks`: cause and effect and the phase machine with one loop's numbers."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from coilward.desk.cautions import CAUTIONS
from coilward.desk.console import heading, item, lead, out, say_files
from coilward.desk.files import claim, deliver
from coilward.loop.units import System

if TYPE_CHECKING:
    from rich.console import Console

    from coilward.desk.tripping import Setting


def show_interlocks(
    loop_name: str, *, today: date, json_name: str | None, page_name: str | None,
    form_name: str | None, card_name: str | None, picture_name: str | None,
    units: System | None,
) -> int:  # fmt: skip
    """Print both tables and write the files that are asked for; always 0.

    Raises InputRefused for a bad loop or output before anything is written.
    """
    claim(
        {
            "--json": json_name, "--page": page_name, "--form": form_name,
            "--card": card_name, "--picture": picture_name,
        },
        [loop_name],
    )  # fmt: skip
    from coilward.controller.constants import constants_for
    from coilward.desk.reading import checked_loop
    from coilward.desk.report_json import plain_json
    from coilward.desk.tripping import Setting
    from coilward.loop.derived import derive

    loop = checked_loop(loop_name, today)
    derived = derive(loop, today)
    here = Setting(loop, derived, constants_for(loop, derived), units or loop.units)

    texts: dict[str, str] = {}
    if json_name:
        texts[json_name] = plain_json(as_data(here))
    if page_name:
        from coilward.desk.page.effects import interlocks_page

        texts[page_name] = interlocks_page(here)
    if form_name:
        from coilward.desk.page.form import form_page

        texts[form_name] = form_page(here)
    if card_name:
        from coilward.desk.page.card import card_page

        texts[card_name] = card_page(here)
    if picture_name:
        from coilward.desk.page.ladder import ladder
        from coilward.desk.page.paper import picture

        texts[picture_name] = picture(ladder(here))
    if deliver(texts):
        return 0
    console = out()
    say_interlocks(console, here)
    say_files(console, texts)
    return 0


def as_data(here: Setting) -> dict[str, Any]:
    """Both tables as plain values."""
    from coilward.desk.moving import changes
    from coilward.desk.provoking import procedure
    from coilward.desk.tripping import absent, effects, every, limit_s, trip, waits_s
    from coilward.loop.document import loop_id

    return {
        "loop_id": loop_id(here.loop),
        "interlocks": [
            {
                "name": row.name,
                "cause": trip(row, here),
                "debounce_s": waits_s(row, here),
                "limit_s": limit_s(row, here),
                "effects": dict(effects(row)),
                "latch": row.latch,
                "next": row.next,
                "rank": row.rank,
                "tier": row.tier,
                "absent": absent(row, here),
                "provoke": procedure(row.name).how,
                "never_with_fire": procedure(row.name).never_with_fire,
            }
            for row in every()
        ],
        "phases": [
            {
                "from": change.sources, "to": change.target, "why": change.why,
                "when": change.when,
            }
            for change in changes(here)
        ],
    }  # fmt: skip


def say_interlocks(console: Console, here: Setting) -> None:
    """Both tables on the console."""
    from coilward.desk.moving import changes, leads_to
    from coilward.desk.report import RANKS
    from coilward.desk.tripping import LATCHES, absent, effects, every, limit, trip, waits_s

    heading(console, f"{here.loop.name}: cause and effect")
    item(console, "The limit runs from the true cause to the moving actuator; a thermometer's own "
                  "lag comes on top. Where rows clash, the higher tier wins.")  # fmt: skip
    for row in every():
        console.print()
        lead(console, row.name, trip(row, here), width=4)
        lacks = absent(row, here)
        if lacks:
            lead(console, "", f"Not at work in this loop: no {lacks} is measured.", width=4)
        told = ", ".join(f"{name} {code}" for name, code in effects(row))
        lead(
            console, "",
            f"After {waits_s(row, here):g} s, at most {limit(row, here)}: {told}.", width=4,
        )  # fmt: skip
        lead(
            console, "",
            f"Leads to: {leads_to(row.next)}. Stays: {LATCHES[row.latch]}. "
            f"Alarm: {RANKS[row.rank]} (rank {row.rank}).", width=4,
        )  # fmt: skip
    heading(console, f"{here.loop.name}: phases")
    item(console, "The first row that matches wins; no row means staying.")
    for number, change in enumerate(changes(here), start=1):
        sources = ", ".join(change.sources)
        lead(console, str(number), f"{sources} -> {change.target}: {change.why}", width=3)
        lead(console, "", f"when: {change.when}", width=3, indent=4)
    heading(console, "Take care")
    for caution in CAUTIONS:
        lead(console, "-", caution, width=1)
