"""`coilward check`: what is wrong with a loop as built, and the numbers that follow from it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from coilward.desk.cautions import CAUTIONS
from coilward.desk.console import heading, item, lead, out
from coilward.desk.files import claim, deliver
from coilward.loop.errors import InputRefused
from coilward.loop.units import System, show

if TYPE_CHECKING:
    from rich.console import Console

    from coilward.desk.findings import Findings
    from coilward.loop.explain import Line
    from coilward.loop.layout import Finding


def check_loop(loop_name: str, *, today: date, json_name: str | None, units: System | None) -> int:
    """Print the findings in order of gravity, then the derived numbers; 1 where one forbids a fire.

    Raises InputRefused for a bad loop file or output.
    """
    claim({"--json": json_name}, [loop_name])
    from coilward.desk.findings import findings_on
    from coilward.desk.reading import limit_faults
    from coilward.desk.report_json import check_json
    from coilward.loop.derived import derive
    from coilward.loop.document import read_loop
    from coilward.loop.explain import explain

    loop = read_loop(loop_name)
    refused = limit_faults(loop_name, loop, today)
    if refused and json_name:
        raise InputRefused(refused)
    system = units or loop.units
    derived = derive(loop, today)
    found = findings_on(loop, derived, today, system)
    lines = explain(loop, derived)
    if json_name and deliver({json_name: check_json(loop, found, lines)}):
        return 1 if found.stops else 0
    _say(out(), loop.name, found, lines, system)
    if refused:
        raise InputRefused(refused)
    return 1 if found.stops else 0


def _say(
    console: Console, name: str, found: Findings, lines: Sequence[Line],
    system: System,
) -> None:  # fmt: skip
    heading(console, name)
    item(console, "The file: nothing is wrong with it.")
    _findings(console, "Layout", found.forbidden, "nothing forbidden is seen.")
    _findings(console, "Passive hardware", found.missing, "all of it is fitted and proven.")
    _findings(console, "Soundness", found.unsound, "every condition of a sound loop holds.")
    heading(console, "Derived numbers")
    for line in lines:
        value = f"{line.name}: {show(line.value, line.unit, system)}"
        item(console, value, style="bold")
        item(console, f"= {line.formula}", indent=6)
        item(console, line.reason, indent=6)
    heading(console, "Take care")
    for caution in CAUTIONS:
        lead(console, "-", caution, width=1)
    console.print()
    item(console, found.conclusion, indent=0, style="bold")


def _findings(console: Console, title: str, findings: Sequence[Finding], none: str) -> None:
    heading(console, f"{title}: {none}" if not findings else title)
    for finding in findings:
        lead(console, finding.severity, finding.text, width=max(len(f.severity) for f in findings))
