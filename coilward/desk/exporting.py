"""`coilward journal export`: ticks as a table, or a session as an MCAP file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilward.desk.console import item, out, say_files
from coilward.desk.files import STANDARD_OUTPUT, claim, deliver, write_whole
from coilward.desk.journal import seconds
from coilward.desk.replay import chosen_session
from coilward.hil.journal.layout import FACTS, HEAD, WHOLE_NUMBERS
from coilward.hil.journal.packing import Damaged
from coilward.hil.journal.reader import Reader
from coilward.hil.journal.store import refused
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.fields import nearest, printable

if TYPE_CHECKING:
    from coilward.hil.journal.session import Session


def export_journal(
    name: str, csv_name: str | None, mcap_name: str | None, *, session: int | None,
    begin: str | None, end: str | None, columns: str | None,
) -> int:  # fmt: skip
    """Write ticks into the files that are named.

    Raises InputRefused for a bad journal, range, name or output, and for an MCAP file without the
    library that writes it.
    """
    _check(csv_name, mcap_name, columns)
    claim({"--csv": csv_name, "--mcap": mcap_name}, [name])
    from_s, to_s = seconds("--from", begin), seconds("--to", end)
    with Reader(name) as reader:
        chosen = chosen_session(name, reader, session)
        names = _columns(chosen, columns)
        first, last = (None if at_s is None else round(at_s / chosen.tick_s)
                       for at_s in (from_s, to_s))  # fmt: skip
        try:
            text, ticks = _csv(reader, chosen, names, first, last) if csv_name else ("", 0)
            packed, ticks = _mcap(reader, chosen, first, last) if mcap_name else (b"", ticks)
        except Damaged as damaged:
            raise refused(name, str(damaged), "a whole journal; `coilward journal check` tells "
                          "what is left of it") from None  # fmt: skip
    if not ticks:
        raise refused(name, "there are no ticks in this range", "a range of the session")
    if mcap_name:
        write_whole(mcap_name, packed)
    if not deliver({csv_name: text} if csv_name else {}):
        item(out(), f"{ticks:,} ticks of session {chosen.number}.")
        say_files(out(), [each for each in (csv_name, mcap_name) if each])
    return 0


def _check(csv_name: str | None, mcap_name: str | None, columns: str | None) -> None:
    """Raises InputRefused for outputs that make no sense."""
    if csv_name is None and mcap_name is None:
        raise _no("export", "", "nothing is to be written", "--csv FILE or --mcap FILE")
    if mcap_name == STANDARD_OUTPUT:
        raise _no("--mcap", '"-"', "this is no text for a console", "the name of a file")
    if columns is not None and csv_name is None:
        raise _no("--columns", f'"{printable(columns, 60)}"', "an MCAP file has all of them",
                  "--columns with --csv alone")  # fmt: skip


def _csv(
    reader: Reader, session: Session, names: list[str], first: int | None, last: int | None
) -> tuple[str, int]:
    table = reader.columns(session, names, first, last)
    cells = [[_cell(each, value) for value in table[each].tolist()] for each in names]
    rows = [",".join(row) for row in zip(*cells, strict=True)]
    return "\n".join([",".join(names), *rows]) + "\n", len(rows)


def _mcap(
    reader: Reader, session: Session, first: int | None, last: int | None
) -> tuple[bytes, int]:
    from coilward.hil.journal.as_mcap import as_mcap

    try:
        return as_mcap(reader, session, first, last)
    except ImportError:
        raise _no("--mcap", "", "the library that writes such files is not installed",
                  "pip install 'coilward[mcap]', or --csv") from None  # fmt: skip


def _no(file: str, value: str, problem: str, accepted: str) -> InputRefused:
    return InputRefused([Fault(file, None, "", value, problem, accepted)])


def _columns(session: Session, typed: str | None) -> list[str]:
    layout = session.layout
    if typed is None:
        return [name for name in (*layout.inputs, *layout.facts) if not name.startswith("counters")]
    if typed.strip() == "all":
        return list(layout.names)
    names = [name.strip() for name in typed.split(",") if name.strip()]
    faults = []
    for name in names:
        if name not in layout.names:
            near = nearest(name, list(layout.names))
            wanted = near or ", ".join([*HEAD, *FACTS[:2], "tank_c"])
            faults.append(Fault("--columns", None, "", f'"{printable(name, 60)}"',
                                "there is no such column", wanted))  # fmt: skip
    if faults or not names:
        raise InputRefused(faults or [Fault("--columns", None, "", f'"{typed}"',
                                            "no column is named", "number,tank_c")])  # fmt: skip
    return names


def _cell(name: str, value: float) -> str:
    if name in WHOLE_NUMBERS:
        return str(value)
    return "" if value != value else repr(value)
