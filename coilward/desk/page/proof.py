"""The page of a proof: first what no logic survives, then what was tried and what it shows."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Final

from coilward.desk.classes import (
    CLASSES,
    TRIED,
    WORDS,
    bound_sentence,
    failed,
    stands,
    verdict_sentence,
)
from coilward.desk.page.effects import cause_and_effect
from coilward.desk.page.margins import margins_pictures
from coilward.desk.page.paper import drawing, paper, table
from coilward.desk.page.sheet import SHAPES
from coilward.desk.proving import (
    applies_to,
    attends,
    caught,
    forbids,
    headline,
    margin,
    seconds,
    words_of,
)
from coilward.desk.sizes import NEVER, hanging_on, needs
from coilward.desk.verdict import ALWAYS

if TYPE_CHECKING:
    from datetime import date

    from coilward.desk.proving import Asked
    from coilward.desk.sizes import Need
    from coilward.desk.tripping import Setting
    from coilward.proving.proof import Proof, RowResult

CSS: Final = """
.sheet .verdict p { color: #16202c; }
.held { font-weight: 700; white-space: nowrap; }
table.faults code, table.pairs code { font-size: 8.5px; overflow-wrap: anywhere; }
tr.class td { border-bottom: 1.5px solid #16202c; padding-top: 7px; }
"""


def proof_page(proof: Proof, here: Setting, asked: Asked) -> str:
    """The page as one HTML text."""
    pictures = margins_pictures(proof, here.system)
    told = "; ".join(f"{label} {escape(text)}" for label, text in applies_to(proof))
    return paper(
        f"{here.loop.name}: every fault tried",
        f"proof of {proof.logic_name}",
        [
            _needs(here), _classes(), _verdict(proof, here, asked.today),
            _faults(proof, here, asked),
            "<h2>Worst margins to boiling</h2>" if pictures else "",
            *(drawing(each) for each in pictures), _pairs(proof, asked),
            "<h2>Cause and effect</h2>", cause_and_effect(here), _rest(proof),
        ],
        f"This applies to: {told}.",
        CSS,
    )  # fmt: skip


def _needs(here: Setting) -> str:
    heads = [
        ("", 54, False), ("what no logic survives", 148, False),
        ("what has to be there, for this loop", 336, False), ("here", 180, False),
    ]  # fmt: skip
    rows = [
        [f'<span class="held">{"have" if need.held else "LACK &#9650;"}</span>',
         escape(need.trouble), escape(need.what) + _hanging(need, here), escape(need.here)]
        for need in needs(here)
    ]  # fmt: skip
    never = "".join(f"<li>{escape(each)}</li>" for each in NEVER)
    return (
        f"<h2>What no logic survives</h2>{table(heads, rows, 'needs')}"
        f"<p><b>On every loop, whatever is fitted:</b></p><ul>{never}</ul>"
    )


def _hanging(need: Need, here: Setting) -> str:
    found = hanging_on(need, here)
    return f"<small>Faults that hang on it: {escape(', '.join(found))}.</small>" if found else ""


def _classes() -> str:
    listed = "".join(
        f"<li><b>{escape(cls)}:</b> {escape(words)}</li>" for cls, words in CLASSES.items()
    )
    return f"<h2>What the classes mean</h2><ul>{listed}</ul>"


def _verdict(proof: Proof, here: Setting, today: date) -> str:
    against = forbids(here, today)
    good = stands(proof) and not against
    # Held is not the same as "may be lit": the shape is that of a fire with a person beside it.
    shape = SHAPES["attended only" if good else "do not light"]
    word = headline(proof, against)
    said = [*against, *attends(here, today)]
    reasons = "".join(f"<li>{escape(text)}</li>" for text in said) + "".join(
        f"<li>{escape(row.fault)}: {escape(row.why or WORDS[row.status].word)}</li>"
        for row in failed(proof)
    )
    return (
        f'<h2>What was shown</h2><div class="verdict"><svg viewBox="0 0 46 46" '
        f'aria-hidden="true">{shape}</svg><div><strong>{escape(word)}</strong>'
        f"<ul>{reasons}</ul><p>{escape(verdict_sentence(proof))}</p>"
        f"<p>{escape(bound_sentence(proof))}</p><p>{escape(ALWAYS)}</p></div></div>"
    )


def _faults(proof: Proof, here: Setting, asked: Asked) -> str:
    heads = [
        ("fault, and the command that shows its worst case", 318, False), ("runs", 40, True),
        ("caught by", 76, False), ("median", 44, True), ("worst", 44, True), ("limit", 44, True),
        ("worst margin", 76, False), ("verdict", 76, False),
    ]  # fmt: skip
    found = []
    for cls in CLASSES:
        rows = [row for row in proof.rows if row.cls == cls and row.status in TRIED]
        if rows:
            found.append(f"<h2>{escape(cls.capitalize())}</h2>")
            found.append(table(heads, [_row(row, here, asked) for row in rows], "faults"))
    return "".join(found)


def _row(row: RowResult, here: Setting, asked: Asked) -> list[str]:
    word = WORDS[row.status]
    about = f"<b>{escape(row.fault)}</b> {escape(words_of(row.fault))}"
    if row.why:
        about += f"<small>{escape(row.why)}</small>"
    if row.worst_key:
        about += f"<small><code>{escape(asked.again(row.worst_key))}</code></small>"
    said = escape(word.word)
    return [
        about, f"{row.runs:,}", escape(caught(row)), seconds(row.median_s),
        seconds(row.worst_s), seconds(row.deadline_s), escape(margin(row, here.system)),
        f"<b>{said}</b>" if word.finding else said,
    ]  # fmt: skip


def _pairs(proof: Proof, asked: Asked) -> str:
    if not proof.pairs_run:
        return "<h2>Pairs of faults</h2><p>None was tried.</p>"
    told = f"<p>{proof.pairs_run:,} pairs were tried; {len(proof.pair_escapes):,} escape"
    if proof.pairs_left_out:
        told += f". Pairs that cannot be had at once: {len(proof.pairs_left_out):,} (see the JSON)"
    head = f"<h2>Pairs of faults</h2>{told}.</p>"
    if not proof.pair_escapes:
        return head
    heads = [("two faults at once", 300, False), ("class", 170, False), ("what", 248, False)]
    rows = [
        [f"<b>{escape(pair.first)}</b> with <b>{escape(pair.second)}</b>"
         f"<small><code>{escape(asked.again(pair.key))}</code></small>",
         escape(pair.cls), escape(pair.what)]
        for pair in proof.pair_escapes
    ]  # fmt: skip
    return head + table(heads, rows, "pairs")


def _rest(proof: Proof) -> str:
    rest = [row for row in proof.rows if row.status not in TRIED]
    if not rest:
        return ""
    heads = [("fault", 260, False), ("", 100, False), ("why", 358, False)]
    rows = [
        [f"<b>{escape(row.fault)}</b> {escape(words_of(row.fault))}", WORDS[row.status].word,
         escape(row.why)]
        for row in rest
    ]  # fmt: skip
    return f"<h2>Not tried, and why</h2>{table(heads, rows, 'rest')}"
