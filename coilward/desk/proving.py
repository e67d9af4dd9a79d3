"""What a proof says on the console, row by row, and the command that shows a case again."""

from __future__ import annotations

import shlex
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final

from coilward.desk.cautions import CAUTIONS
from coilward.desk.classes import (
    CLASSES,
    TRIED,
    WORDS,
    bound_sentence,
    failed,
    stands,
    verdict_sentence,
)
from coilward.desk.console import heading, item, lead, to_copy
from coilward.desk.findings import findings_on
from coilward.desk.sizes import NEVER, hanging_on, needs
from coilward.desk.times import span
from coilward.desk.verdict import ALWAYS
from coilward.loop.findings import Severity
from coilward.loop.units import System, show
from coilward.simulator.faults import FAULTS

if TYPE_CHECKING:
    from rich.console import Console

    from coilward.desk.tripping import Setting
    from coilward.proving.proof import Proof, RowResult

NOT_KNOWN: Final = "-"


@dataclass(frozen=True)
class Asked:
    """How the proof was asked for: what has to be typed to see one of its cases again."""

    loop_name: str
    today: date
    logic_name: str | None
    units: System | None

    def again(self, key: str) -> str:
        """The command that shows one case, with its page."""
        logic = f" --logic {shlex.quote(self.logic_name)}" if self.logic_name else ""
        shown = f" --units {self.units}" if self.units else ""
        return (
            f"coilward rehearse {shlex.quote(self.loop_name)} --case {shlex.quote(key)} "
            f"--on {self.today.isoformat()}{logic}{shown} --page worst.html"
        )


def words_of(fault: str) -> str:
    """Number in the catalogue and what a person would say had happened."""
    return f"{FAULTS[fault].number}, {FAULTS[fault].words}" if fault in FAULTS else fault


def caught(row: RowResult) -> str:
    """Which interlocks told, the most frequent first, as in "C02 (290), C01 (10)", none last."""
    told = sorted(row.caught.items(), key=lambda pair: (not pair[0], -pair[1], pair[0]))
    return ", ".join(f"{name or 'none'} ({count})" for name, count in told) or NOT_KNOWN


def seconds(value: float | None) -> str:
    """A time that may not be known."""
    return NOT_KNOWN if value is None else span(value)


def margin(row: RowResult, system: System) -> str:
    """The worst margin, in kelvin and in seconds of still water."""
    if row.boiled:
        return f"boils in {row.boiled:,} of {row.runs:,}"
    if row.margin_k is None:
        return "never hot"
    kelvin = show(row.margin_k, "k", system)
    return kelvin if row.margin_s is None else f"{kelvin}, {span(row.margin_s)}"


def say_proof(console: Console, proof: Proof, here: Setting, asked: Asked) -> None:
    """Everything, the hardware first."""
    _say_needs(console, here)
    heading(console, "The faults")
    for cls, meaning in CLASSES.items():
        rows = [row for row in proof.rows if row.cls == cls and row.status in TRIED]
        if rows:
            console.print()
            item(console, f"{cls.capitalize()}. {meaning}", style="bold")
            console.print(_line("fault", "caught by", "median", "worst", "limit", "margin", ""),
                          soft_wrap=True)  # fmt: skip
        for row in rows:
            _say_row(console, row, here.system, asked)
    _say_rest(console, proof)
    _say_pairs(console, proof, asked)
    against = forbids(here, asked.today)
    good = stands(proof) and not against
    heading(console, "Verdict")
    shape = WORDS["passed" if good else "escaped"].shape
    word = headline(proof, against)
    item(console, f"{shape}  {word.upper()}", style="bold green" if good else "bold red")
    for text in [*against, *attends(here, asked.today)]:
        lead(console, "-", text, width=1, indent=4)
    item(console, verdict_sentence(proof), indent=4)
    item(console, bound_sentence(proof), indent=4)
    item(console, ALWAYS, indent=4)
    for row in failed(proof):
        lead(console, "-", f"{row.fault}: {row.why or WORDS[row.status].word}", width=1, indent=4)
    heading(console, "What it applies to")
    for label, text in applies_to(proof):
        lead(console, label, text, width=8)
    heading(console, "Take care")
    for caution in CAUTIONS:
        lead(console, "-", caution, width=1)


def forbids(here: Setting, today: date) -> list[str]:
    """What forbids a fire on this loop, whatever its logic does."""
    return _found(here, today, "stop")


def attends(here: Setting, today: date) -> list[str]:
    """What leaves no fire on this loop without a person beside it, each with that word."""
    return [f"Attended only: {text}" for text in _found(here, today, "attend")]


def _found(here: Setting, today: date, severity: Severity) -> list[str]:
    found = findings_on(here.loop, here.derived, today, here.system)
    return [finding.text for finding in found.every if finding.severity == severity]


def headline(proof: Proof, against: list[str]) -> str:
    """The verdict in a few words."""
    if against:
        return "Do not light"
    return "Every fault that logic can hold was held" if stands(proof) else "Not proven"


def applies_to(proof: Proof) -> list[tuple[str, str]]:
    """Loop, logic, model and seed: the proof is void when one of them changes."""
    return [
        ("loop", f"{proof.loop_name}, {proof.loop_hash}"),
        ("logic", f"{proof.logic_name}, {proof.logic_hash}"),
        ("model", f"plant, faults and requirements, {proof.model_hash}"),
        ("seed", f"{proof.seed}"),
        ("void", "when any of these changes"),
    ]


def _say_needs(console: Console, here: Setting) -> None:
    heading(console, f"What no logic survives on {here.loop.name}, and what has to be there")
    for need in needs(here):
        lead(console, "have" if need.held else "LACK", need.trouble, width=4)
        lead(console, "", f"Holds it: {need.what}", width=4)
        lead(console, "", f"Here: {need.here}.", width=4)
        hanging = hanging_on(need, here)
        if hanging:
            lead(console, "", f"Faults that hang on it: {', '.join(hanging)}.", width=4)
    item(console, "On every loop:")
    for never in NEVER:
        lead(console, "-", never, width=1)


def _line(fault: str, by: str, median: str, worst: str, limit: str, least: str, word: str) -> str:
    return f"  {fault:22} {by:14} {median:>7} {worst:>7} {limit:>7}  {least:16} {word}".rstrip()


def _say_row(console: Console, row: RowResult, system: System, asked: Asked) -> None:
    word = WORDS[row.status]
    most = caught(row).split(",")[0]
    line = _line(
        row.fault, most, seconds(row.median_s), seconds(row.worst_s), seconds(row.deadline_s),
        margin(row, system), f"{word.shape} {word.word}",
    )  # fmt: skip
    console.print(line, soft_wrap=True, style="bold red" if word.finding else "")
    item(console, f"{words_of(row.fault)}; {row.runs:,} runs.", indent=6)
    if row.why:
        item(console, row.why, indent=6)
    if row.worst_key:
        to_copy(console, asked.again(row.worst_key), indent=6)


def _say_rest(console: Console, proof: Proof) -> None:
    rest = [row for row in proof.rows if row.status not in TRIED]
    if not rest:
        return
    heading(console, "Not tried, and why")
    for row in rest:
        lead(console, row.fault, f"{WORDS[row.status].word}: {row.why or words_of(row.fault)}",
             width=22)  # fmt: skip


def _say_pairs(console: Console, proof: Proof, asked: Asked) -> None:
    if not proof.pairs_run:
        heading(console, "Pairs of faults: none tried (--pairs)")
        return
    found = proof.pair_escapes
    heading(console, f"Pairs of faults: {proof.pairs_run:,} tried, {len(found):,} escape")
    for pair in found:
        lead(console, "-", f"{pair.first} with {pair.second} ({pair.cls}): {pair.what}", width=1)
        to_copy(console, asked.again(pair.key), indent=6)
    if proof.pairs_left_out:
        left_out = len(proof.pairs_left_out)
        item(console, f"Pairs that cannot be had at once: {left_out:,}. The JSON says why.")
