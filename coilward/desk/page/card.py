"""The card that hangs at the burner: what the horn means, what to do, and what never to do."""

from __future__ import annotations

from collections import defaultdict
from html import escape
from typing import TYPE_CHECKING, Final

from coilward.desk.page.paper import paper
from coilward.desk.times import span
from coilward.desk.tripping import HORN, absent, every
from coilward.loop.document import loop_id
from coilward.loop.passive import PURPOSES

if TYPE_CHECKING:
    from coilward.desk.tripping import Setting

CSS: Final = """
.sheet { font-size: 13px; }
.sheet h1 { font-size: 24px; }
.sheet > .sentence { font-size: 17px; font-weight: 700; line-height: 1.2; margin: 4px 0; }
.sheet h2 { font-size: 15.5px; margin: 5px 0 1px; border-bottom: 1.5px solid #16202c; }
.never { border: 3px solid #16202c; padding: 2px 12px; margin: 5px 0; font-size: 15.5px;
  font-weight: 700; }
.never p { margin: 2px 0; }
.sound { break-inside: avoid; }
.sound dt { font-size: 13.5px; font-weight: 700; margin-top: 3px; }
.sound dd { margin: 0 0 1px 14px; font-size: 12px; }
.sound dl { margin: 1px 0; }
.sound.less dl { columns: 2; column-gap: 18px; }
.sound.less dl > div { break-inside: avoid; }
.sound.less dt { font-size: 11.5px; margin-top: 2px; }
.sound.less dd { font-size: 10.5px; margin-left: 0; }
"""
NEVERS: Final = (
    "Never pour water on the coil, or pump water into it, once it may be dry.",
    "Never cap, plug or narrow the vent.",
    "Never restart the pump by hand, and never pull a plug, while there is heat.",
    "Never reset from afar, and never twice without having found the cause.",
    "Never light without the lamp, and never leave a fire to the machine alone.",
)
SOUNDS: Final = (
    (3, "Horn without a pause: step back first"),
    (2, "Horn on and off: something is given up, add no wood"),
)


def card_page(here: Setting) -> str:
    """The card of one loop, to print and hang where the burner is fed."""
    boil_s = here.derived.boil_s.largest.peaked
    nevers = "".join(f"<p>{escape(each)}</p>" for each in NEVERS)
    return paper(
        f"{here.loop.name}: at the burner",
        "hang it where the wood is",
        [
            '<p class="sentence">The fire can\'t be switched off. If the water stops at the '
            f"largest fire, the coil boils after {escape(span(boil_s))}.</p>",
            f'<div class="never">{nevers}</div>',
            *(_sound(horn, words, here) for horn, words in SOUNDS),
            "<h2>One beep</h2><p>Add no wood before you have read what it is. It can be mended "
            "after this fire.</p>",
            "<h2>Everything is dark and silent</h2>",
            f"<p>{escape(_dark(here))}</p>",
        ],
        f"Loop {loop_id(here.loop)}. Void when the loop or its logic changes.",
        CSS,
    )


def _sound(horn: int, words: str, here: Setting) -> str:
    """One sound: what to do, and on which of this loop's causes, the gravest first."""
    by_deed: dict[str, list[str]] = defaultdict(list)
    for row in sorted(every(), key=lambda row: row.rank):
        if row.horn == horn and not absent(row, here):
            by_deed[row.person].append(row.happened)
    told = "".join(
        f"<div><dt>{escape(deed)}</dt><dd>{escape(' '.join(happened))}</dd></div>"
        for deed, happened in by_deed.items()
    )
    kind = "sound" if HORN[horn] == "continuous" else "sound less"
    return f'<div class="{kind}"><h2>{escape(words)}</h2><dl>{told}</dl></div>'


def _dark(here: Setting) -> str:
    """What is left without power: the hardware of this loop that counts, and nothing else."""
    left = [each for each in PURPOSES if each.name in here.derived.passive]
    if not left:
        return "Nothing protects this coil without power. Keep 10 m away until the fire is out."
    told = ", ".join(each.words for each in left)
    return (
        "The pump may stand, and nobody counts the seconds. Keep 10 m away from coil and vent "
        f"until the fire is out. What works without power here: {told}."
    )
