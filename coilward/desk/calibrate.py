"""`coilward calibrate`: readings into constants, a certificate, and the loop file."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from coilward.desk.asking import kept_name, typed_readings
from coilward.desk.cautions import CAUTIONS
from coilward.desk.certificate import Certificate, Here, Instrument
from coilward.desk.console import heading, item, lead, out, say_files
from coilward.desk.files import claim, deliver
from coilward.desk.from_board import held
from coilward.desk.reading import checked_loop
from coilward.desk.report_json import plain_json
from coilward.desk.rewriting import Rewrite, plan, put, say_rewrite, told
from coilward.loop.derived import derive
from coilward.loop.document import loop_id, text_of
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.units import System
from coilward.measuring.readings import Reading, from_csv, header

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import Console

    from coilward.loop.model import Loop


@dataclass(frozen=True)
class Asked:
    """What was typed on the command line."""

    table: str | None
    port: str | None
    loop_name: str
    today: date
    write: bool
    even_if_less_safe: bool
    page_name: str | None
    json_name: str | None
    units: System | None


def calibrate(asked: Asked, instrument: Instrument) -> int:
    """Read, reckon, show, and write what was asked for; 1 where something speaks against the loop.

    Raises InputRefused for a bad table, loop or output, and where writing would make a limit less
    safe without a word about it; nothing is written then.
    """
    inputs = [asked.loop_name, *([asked.table] if asked.table else [])]
    claim({"--page": asked.page_name, "--json": asked.json_name}, inputs)
    loop = checked_loop(asked.loop_name, asked.today)
    here = Here(loop, derive(loop, asked.today), asked.units or loop.units, asked.today)
    readings = list(readings_for(asked, instrument, loop))
    if not readings:
        raise InputRefused([_nothing(instrument)])
    certificate = instrument.certify(readings, here)
    rewrite = plan(
        asked.loop_name, certificate.changes, today=asked.today, note=f"calibrated {asked.today}"
    )
    if asked.write:
        put(rewrite, even_if_less_safe=asked.even_if_less_safe)
    texts: dict[str, str] = {}
    if asked.json_name:
        texts[asked.json_name] = plain_json(as_data(certificate, here, rewrite, asked.write))
    if asked.page_name:
        from coilward.desk.page.certificate import certificate_page

        texts[asked.page_name] = certificate_page(certificate, here, rewrite, source(asked))
    if not deliver(texts):
        console = out()
        _say(console, certificate, rewrite, asked)
        say_files(console, texts)
    return 1 if certificate.against else 0


def readings_for(asked: Asked, instrument: Instrument, loop: Loop) -> Iterator[Reading]:
    """The readings of the table, of a connected board, or of a person at a terminal.

    Raises InputRefused where there is none of them, or both a table and a board.
    """
    columns = instrument.columns(loop)
    if asked.table and asked.port:
        raise InputRefused([
            Fault("--port", None, "", asked.port, "the readings are in a table already",
                  "a table or a board, not both")
        ])  # fmt: skip
    if asked.table:
        wanted = f"a text file (CSV) with {header(columns)} in its first line"
        file, text = text_of(asked.table, "table", (), str, wanted)
        yield from from_csv(text, columns, file)
        return
    if not sys.stdin.isatty():
        raise InputRefused([_nothing(instrument)])
    keep = kept_name(instrument.name, asked.today)
    if not asked.port:
        yield from typed_readings(columns, keep)
        return
    with held(asked.port, loop, asked.today, instrument.sensor) as board:
        yield from typed_readings(columns, keep, fills=instrument.fills(board, loop))


def source(asked: Asked) -> str:
    """Where the readings came from, for the certificate."""
    return asked.table or (f"the board at {asked.port}" if asked.port else "typed by hand")


def as_data(
    certificate: Certificate, here: Here, rewrite: Rewrite, written: bool
) -> dict[str, Any]:
    """The certificate as plain values."""
    return {
        "loop": here.loop.name,
        "loop_id": loop_id(here.loop),
        "date": str(here.today),
        "answer": certificate.answer,
        **certificate.data,
        "remarks": list(certificate.remarks),
        "against": list(certificate.against),
        "changes": {each.key: each.value for each in certificate.changes},
        "less_safe": [told(each, here.loop) for each in rewrite.less_safe],
        "written": written,
    }


def _say(console: Console, certificate: Certificate, rewrite: Rewrite, asked: Asked) -> None:
    heading(console, certificate.title)
    item(console, certificate.answer, style="bold")
    console.print()
    width = max(len(label) for label, _ in certificate.results)
    for label, text in certificate.results:
        lead(console, label, text, width=width)
    for title, texts in (
        ("Against this loop", certificate.against), ("To know", certificate.remarks),
    ):  # fmt: skip
        if texts:
            heading(console, title)
            for text in texts:
                lead(console, "-", text, width=1)
    say_rewrite(console, rewrite, written=asked.write)
    heading(console, "Take care")
    for caution in CAUTIONS:
        lead(console, "-", caution, width=1)


def _nothing(instrument: Instrument) -> Fault:
    return Fault(
        "coilward calibrate", None, "", "", f"there are no readings of a {instrument.name}",
        "a table in a CSV file, or a terminal at which they can be typed",
    )  # fmt: skip
