"""The cause-and-effect table and the phase machine on paper, with one loop's numbers."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Final

from coilward.controller.interlocks import TIERS
from coilward.desk.moving import changes, leads_to
from coilward.desk.page.ladder import ladder
from coilward.desk.page.paper import drawing, paper, table
from coilward.desk.tripping import ACTUATORS, HORN, absent, every, limit, trip, waits_s
from coilward.loop.document import loop_id

if TYPE_CHECKING:
    from coilward.controller.interlocks import Row
    from coilward.desk.tripping import Setting

LATCH: Final = {"no": "no", "person": "yes", "dry": "dry"}


def interlocks_page(here: Setting) -> str:
    """Both tables and the picture."""
    return paper(
        f"{here.loop.name}: cause and effect",
        "interlocks and phases",
        [cause_and_effect(here), "<h2>Phases</h2>", drawing(ladder(here)), when(here)],
        f"Loop {loop_id(here.loop)}. The numbers follow from the loop; none is typed.",
    )


def cause_and_effect(here: Setting) -> str:
    """The whole table, one row an interlock."""
    heads = [
        ("row", 28, False), ("cause, with this loop's numbers", 198, False), ("after", 46, True),
        ("limit", 62, True), ("pump", 32, False), ("valve", 34, False), ("fans", 31, False),
        ("damper", 45, False), ("dump", 34, False), ("horn", 68, False), ("latch", 36, False),
        ("leads to", 74, False), ("rank", 30, True),
    ]  # fmt: skip
    note = (
        "The limit runs from the true cause to the moving actuator; a thermometer's own lag comes "
        "on top. A blank leaves the actuator alone; hold beats every other row. Pump on means: "
        "unless the coil may be dry. Latch yes: until a person resets it; dry: also fire out, "
        "metal cold, coil full. Clashes go to the higher tier: " + ", ".join(TIERS) + "."
    )
    rows = [_row(row, here) for row in every()]
    return f"<p>{escape(note)}</p>{table(heads, rows, 'effects')}"


def _row(row: Row, here: Setting) -> list[str]:
    lacks = absent(row, here)
    cause = escape(trip(row, here))
    if lacks:
        cause += f"<small>not at work here: no {escape(lacks)} is measured</small>"
    codes = [getattr(row, name) for name in ACTUATORS]
    return [
        f"<b>{row.name}</b>", cause, f"{waits_s(row, here):g} s", escape(limit(row, here)),
        *("" if code == "=" else code for code in codes),
        HORN[row.horn] if row.horn else "", LATCH.get(row.latch, row.latch),
        escape(leads_to(row.next)), str(row.rank),
    ]  # fmt: skip


def when(here: Setting) -> str:
    """When each change of phase comes, in words and numbers, numbered as in the picture."""
    heads = [
        ("", 22, True), ("from", 190, False), ("to", 84, False), ("why", 150, False),
        ("when", 272, False),
    ]  # fmt: skip
    rows = [
        [str(number), escape(", ".join(each.sources)), escape(each.target), escape(each.why),
         escape(each.when)]
        for number, each in enumerate(changes(here), start=1)
    ]  # fmt: skip
    return table(heads, rows, "phases")
