"""A session of a journal as one MCAP file (mcap.dev), for viewers that read such files.

Every channel is JSON with a schema of its own. The log time of a message is the beginning of the
session and the tick's number times its length, so that a wall clock that jumped moves nothing; the
publish time is the wall clock as it was. A number that wasn't known is null.
"""

from __future__ import annotations

import io
import json
import math
from collections.abc import Iterator, Mapping
from typing import Any, Final, NamedTuple

import numpy as np

from coilward.controller.interlocks import ROWS
from coilward.controller.phases import PHASES
from coilward.controller.types import Commands, Readings
from coilward.hil.journal.layout import WHOLE_NUMBERS
from coilward.hil.journal.reader import Columns, Reader
from coilward.hil.journal.session import Session

NUMBER: Final[Mapping[str, Any]] = {"type": ["number", "null"]}
WHOLE: Final[Mapping[str, Any]] = {"type": "integer"}
TEXT: Final[Mapping[str, Any]] = {"type": "string"}
NAMES: Final[Mapping[str, Any]] = {"type": "array", "items": TEXT}
MASKS: Final = ("mode_phase", "raised", "mode_latched", "mode_first_out")
CHANNELS: Final[Mapping[str, Mapping[str, Mapping[str, Any]]]] = {
    "readings": {"number": WHOLE, **dict.fromkeys(Readings._fields, NUMBER)},
    "commands": {"number": WHOLE, **{
        name: WHOLE if name in WHOLE_NUMBERS else NUMBER for name in Commands._fields
    }},
    "state": {"number": WHOLE, "phase": TEXT, "raised": NAMES, "latched": NAMES,
              "first_out": TEXT},
    "causes": {"number": WHOLE, "row": TEXT, "words": TEXT, "first_out": {"type": "boolean"},
               "latched": {"type": "boolean"}},
    "notes": {"number": WHOLE, "words": TEXT},
    "frames": {"number": WHOLE, "line": TEXT},
}  # fmt: skip
"""Fields by channel. A unit is the last word of a name; a line of a wire is in Latin-1, so that
each of its bytes is one letter, also where it was spoilt."""
PREFIX: Final = "/coilward/"


class _Message(NamedTuple):
    """One message before it is written."""

    number: int
    wall_s: float
    channel: str
    fields: dict[str, Any]


def as_mcap(
    reader: Reader, session: Session, first: int | None = None, last: int | None = None
) -> tuple[bytes, int]:
    """The file's bytes, and how many ticks are in it, of a range of ticks.

    Raises ModuleNotFoundError without the library, Damaged as `Reader.columns`.
    """
    from mcap.writer import Writer

    names = ("number", "wall_s", *Readings._fields, *Commands._fields, *MASKS)
    table = reader.columns(session, names, first, last)
    stream = io.BytesIO()
    writer: Any = Writer(stream)
    writer.start(profile="", library="coilward")
    writer.add_metadata("session", _about(session))
    ids = {}
    for name, fields in CHANNELS.items():
        schema = writer.register_schema(
            f"coilward.{name}", "jsonschema", json.dumps(_schema(name, fields)).encode()
        )
        ids[name] = writer.register_channel(PREFIX + name, "json", schema)
    for place, message in enumerate(sorted(_messages(reader, session, table), key=_number)):
        writer.add_message(
            ids[message.channel], _log_ns(session, message.number),
            json.dumps(message.fields, allow_nan=False).encode(), round(1e9 * message.wall_s),
            place,
        )  # fmt: skip
    writer.finish()
    return stream.getvalue(), len(table["number"])


def _number(message: _Message) -> int:
    return message.number


def _log_ns(session: Session, number: int) -> int:
    return round(1e9 * session.began_s) + round(1e9 * session.tick_s * number)


def _about(session: Session) -> dict[str, str]:
    return {
        "kind": session.kind, "about": session.about, "loop_id": session.loop_id,
        "logic": session.code, "day": session.day, "tick_s": f"{session.tick_s:g}",
        "loop": session.loop_text,
    }  # fmt: skip


def _schema(name: str, fields: Mapping[str, Mapping[str, Any]]) -> dict[str, Any]:
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": name,
            "type": "object", "properties": fields, "required": list(fields)}  # fmt: skip


def _messages(reader: Reader, session: Session, table: Columns) -> Iterator[_Message]:
    numbers = table["number"].tolist()
    if not numbers:
        return
    wall_s = table["wall_s"].tolist()
    for channel, names in (("readings", Readings._fields), ("commands", Commands._fields)):
        for row in zip(numbers, wall_s, *(table[name].tolist() for name in names), strict=True):
            fields = {"number": row[0], **dict(zip(names, map(_plain, row[2:]), strict=True))}
            yield _Message(row[0], row[1], channel, fields)
    yield from _changes(table)
    walls = dict(zip(numbers, wall_s, strict=True))
    for frame in reader.frames(session, numbers[0], numbers[-1]):
        fields = {"number": frame.number, "line": frame.line.decode("latin-1")}
        yield _Message(frame.number, walls.get(frame.number, 0.0), "frames", fields)
    for note in reader.notes():
        if note.session == session.number and numbers[0] <= note.number <= numbers[-1]:
            fields = {"number": note.number, "words": note.words}
            yield _Message(note.number, note.wall_s, "notes", fields)


def _changes(table: Columns) -> Iterator[_Message]:
    """State and causes, at the first tick and whenever any of them changes."""
    masks = np.array([table[name] for name in MASKS])
    moved = np.concatenate(([True], (masks[:, 1:] != masks[:, :-1]).any(axis=0)))
    before = 0
    for at in np.flatnonzero(moved).tolist():
        number, wall_s = int(table["number"][at]), float(table["wall_s"][at])
        phase, raised, latched, first_out = masks[:, at].tolist()
        yield _Message(number, wall_s, "state", {
            "number": number, "phase": PHASES[phase], "raised": _rows(raised),
            "latched": _rows(latched), "first_out": ROWS[first_out].name if first_out >= 0 else "",
        })  # fmt: skip
        for place, row in enumerate(ROWS):
            if raised & ~before & 1 << place:
                yield _Message(number, wall_s, "causes", {
                    "number": number, "row": row.name, "words": row.cause,
                    "first_out": first_out == place, "latched": bool(latched >> place & 1),
                })  # fmt: skip
        before = raised


def _rows(mask: int) -> list[str]:
    return [row.name for place, row in enumerate(ROWS) if mask >> place & 1]


def _plain(value: float) -> float | None:
    return value if math.isfinite(value) else None
