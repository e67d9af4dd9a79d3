"""What `coilward journal` does: listing, checking, and keeping a note."""

from __future__ import annotations

import sqlite3
import time
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final

from coilward.controller.interlocks import ROWS
from coilward.controller.phases import PHASES
from coilward.desk.console import heading, item, lead, out, say_files
from coilward.desk.files import claim, deliver
from coilward.desk.report_json import plain_json
from coilward.desk.times import clock, span
from coilward.hil.journal.reader import Reader
from coilward.hil.journal.store import refused
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.fields import printable
from coilward.loop.units import SECONDS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from coilward.hil.journal.rows import Note, Trip
    from coilward.hil.journal.session import Session

SHOWN: Final = 20
LONGEST_NOTE: Final = 2000


def list_journal(name: str, *, json_name: str | None) -> int:
    """Tell what is in it. Raises InputRefused where it is no journal."""
    claim({"--json": json_name}, [name])
    with Reader(name) as reader:
        sessions = reader.sessions()
        spans = [reader.span(session) for session in sessions]
        trips = [reader.trips(session) for session in sessions]
        notes, events = reader.notes(), reader.events()
    if json_name:
        told = [
            {
                **session._asdict(), "layout": None, "loop_text": None,
                "first_tick": ends[0] if ends else None, "last_tick": ends[1] if ends else None,
                "trips": [trip._asdict() for trip in found],
            }
            for session, ends, found in zip(sessions, spans, trips, strict=True)
        ]  # fmt: skip
        texts = {json_name: plain_json({
            "sessions": told, "notes": [note._asdict() for note in notes],
            "events": [event._asdict() for event in events],
        })}  # fmt: skip
        if deliver(texts):
            return 0
    _say_list(name, sessions, spans, trips)
    for title, lines in (("Notes", notes), ("What the writer said", events)):
        if lines:
            heading(out(), title)
            for line in lines[-SHOWN:]:
                lead(out(), _when(line), line.words, width=20)
    say_files(out(), [json_name] if json_name else [])
    return 0


def check_journal(name: str) -> int:
    """Tell what is damaged or missing; 1 where anything is."""
    from coilward.hil.journal.check import check

    found = check(name)
    console = out()
    item(console, f"{found.ticks:,} ticks are there and whole"
                  + (f", {found.thinned:,} rows of thinned ones." if found.thinned else "."))
    for fault in found.faults:  # fmt: skip
        item(console, fault)
    return 1 if found.faults else 0


def note_in_journal(name: str, words: str) -> int:
    """Keep a note. Raises InputRefused for a bad journal or an empty note."""
    from coilward.hil.journal.noting import add_note

    if not words.strip() or len(words) > LONGEST_NOTE:
        problem = "this note is empty" if not words.strip() else "this note is too long"
        raise InputRefused([Fault("WORDS", None, "", f'"{printable(words.strip(), 40)}"', problem,
                                  f"at most {LONGEST_NOTE} letters")])  # fmt: skip
    try:
        add_note(name, words.strip(), time.time())
    except sqlite3.Error as error:
        raise refused(name, f"the note can't be kept ({error})", "a file that can be written"
                      ) from None  # fmt: skip
    item(out(), "Kept.")
    return 0


def seconds(option: str, typed: str | None) -> float | None:
    """A time of an option. Raises InputRefused for anything but a time that isn't negative."""
    if typed is None:
        return None
    wanted = "a time since the beginning of the session, such as '90 s', '30 min' or '2 h'"
    try:
        at_s = SECONDS.parse(typed)
    except ValueError as error:
        raise InputRefused([Fault(option, None, "", f'"{printable(typed, 60)}"', str(error),
                                  wanted)]) from None  # fmt: skip
    if at_s < 0.0:
        raise InputRefused([Fault(option, None, "", f'"{typed}"', "this is before the beginning",
                                  wanted)])  # fmt: skip
    return at_s


def _say_list(
    name: str, sessions: Sequence[Session], spans: Sequence[tuple[int, int] | None],
    trips: Sequence[list[Trip]],
) -> None:  # fmt: skip
    console = out()
    heading(console, f"Sessions of {name}")
    if not sessions:
        item(console, "none")
    for session, ends, found in zip(sessions, spans, trips, strict=True):
        lasts = "no tick" if ends is None else span((ends[1] + 1) * session.tick_s)
        began = datetime.fromtimestamp(session.began_s, UTC).strftime("%Y-%m-%d %H:%M")
        about = session.about or "without a name"
        lead(console, str(session.number), f"{began} UTC, {session.kind}, {about}: {lasts}; "
             f"loop {session.loop_id}, logic {session.code}", width=3)
        for trip in found[:SHOWN]:
            rows = " ".join(row.name for place, row in enumerate(ROWS) if trip.rows >> place & 1)
            phase = PHASES[trip.phase] if 0 <= trip.phase < len(PHASES) else "?"
            at = clock(trip.number * session.tick_s)
            lead(console, at, f"trip: {rows or 'no new row'}, {phase}", width=9, indent=6)
        if len(found) > SHOWN:
            item(console, f"and {len(found) - SHOWN} trips more", indent=6)


def _when(note: Note) -> str:
    try:
        return datetime.fromtimestamp(note.wall_s, UTC).strftime("%Y-%m-%d %H:%M:%S")
    except (OverflowError, OSError, ValueError):
        return "at no known time"
