"""The picture of a replay's simulated rest beside what was read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from coilward.desk.page import palette as ink
from coilward.desk.page.lines import Drawn, Mark, picture
from coilward.desk.page.palette import Stroke
from coilward.desk.page.paper import drawing

if TYPE_CHECKING:
    from coilward.hil.replay.rest import Rest

DASH: Final = (5, 3)
DOTS: Final = (2, 2)
LONGEST_S: Final = 3600.0
"""Of the rest no more is drawn: what matters lies at its beginning."""

CSS: Final = """
@media screen and (max-width: 640px) {
  body { font-size: 14px; }
  .sheet { width: auto; margin: 0; padding: 12px; box-shadow: none; }
  header { display: block; }
  .sheet > p { max-width: none; }
  .drawing { overflow-x: auto; }
  .cautions, footer, table.rows th { font-size: 12px; }
  table.rows, table.rows tbody, table.rows td { display: block; }
  table.rows thead { display: none; }
  table.rows tr { display: grid; grid-template-columns: 52px 1fr; padding: 3px 0;
    border-bottom: 1px solid #b9c1c8; }
  table.rows td, table.rows td.n { border: 0; padding: 1px 0; text-align: left; }
  table.rows td:nth-child(n+3) { grid-column: 2; }
  table.pairs td:nth-child(3)::before { content: "in the journal "; }
  table.pairs td:nth-child(4)::before { content: "now "; }
  table.sides tr { display: block; }
}
"""
"""On a phone: words of a size to be read, pictures to be pushed along, a row of a table as a few
lines."""
PHONE: Final = "width=device-width, initial-scale=1"


def rest_picture(rest: Rest) -> str:
    """Temperatures and flow: read lines whole, simulated ones dashed and called so."""
    begin_s = float(rest.logged_time_s[0])
    end_s = min(rest.until_s, rest.from_s + LONGEST_S)
    marks = [Mark(rest.from_s, "simulated from here")]
    if rest.outcome.boiled_s is not None:
        marks.append(Mark(rest.outcome.boiled_s, "simulated: boils"))
    read_s, made_s = rest.logged_time_s, rest.time_s
    until = made_s <= end_s
    shown = read_s <= end_s

    def pair(name: str, words: str, colour: str) -> list[Drawn]:
        return [
            Drawn(f"{words} read", read_s[shown], rest.logged[name][shown], Stroke(colour, 1.6)),
            Drawn(f"{words} simulated", made_s[until], rest.curves[name][until],
                  Stroke(colour, 1.6, DASH)),
        ]  # fmt: skip

    water = Drawn("coil water simulated", made_s[until],
                  rest.curves["coil_water_c"][until], Stroke(ink.AMBER, 1.4, DOTS))  # fmt: skip
    boiling = Drawn("boiling", read_s[shown], np.full(int(shown.sum()), rest.boil_c),
                    Stroke(ink.INK, 1.6))  # fmt: skip
    temperatures = picture(
        "Water, °C",
        [*pair("coil_outlet_c", "outlet", ink.EMBER), water,
         *pair("tank_c", "tank", ink.NAVY), boiling],
        210, begin_s=begin_s, marks=marks,
    )  # fmt: skip
    flow = picture("Flow, L/min", pair("flow_lpm", "flow", ink.TEAL), 110, begin_s=begin_s,
                   marks=[each._replace(words="") for each in marks])  # fmt: skip
    return drawing(temperatures) + drawing(flow)
