"""The one table of messages: what may stand on the wire between a plant and a logic.

Two sides talk. The side called *plant* has thermometers, pulses and outputs; the side called
*logic* decides. A board without logic is the plant of a computer that decides; a board that
carries the logic is the logic of a computer that plays the plant to it. `digest` is a hash of
this table: sides whose tables differ refuse to talk.
"""

from __future__ import annotations

import hashlib
from typing import Literal, NamedTuple

from coilward.controller.debounce import PLANES
from coilward.controller.types import Requests
from coilward.hil.tick import FIELDS, PARTS

Kind = Literal["float", "whole", "flag", "word"]
Side = Literal["plant", "logic"]

VERSION = "cw1"
"""First word of every line."""
LONGEST = 2048
"""Bytes in a line, with its end."""


class Field(NamedTuple):
    """One number or word of a message."""

    name: str
    """With its unit last."""
    kind: Kind
    words: str


class Message(NamedTuple):
    """One kind of line."""

    name: str
    sent_by: tuple[Side, ...]
    words: str
    fields: tuple[Field, ...]
    needed: tuple[str, ...] = ()
    """Fields without which the line is refused; any other may be left out: it is not known."""

    @property
    def by_name(self) -> dict[str, Field]:
        """The fields by their names."""
        return {field.name: field for field in self.fields}


def _switch(name: str, words: str) -> Field:
    return Field(name, "flag", words)


def _thermometer(name: str, words: str) -> tuple[Field, Field]:
    return (
        Field(f"{name}_c", "float", words),
        Field(f"{name}_ohm", "float", f"{words}, as a thermistor's resistance"),
    )


HELLO = Message(
    "hello", ("plant", "logic"), "Who is there. The plant's gives the session a number; the "
    "logic's answers with the same one.", (
        Field("table", "word", "hash of the table of messages: talk ends where it differs"),
        Field("side", "word", "plant or logic"),
        Field("opened", "whole", "the session's number, 1 to 65535"),
        Field("constants", "whole", "checksum of the constants that the side runs on; 0 for none"),
        Field("tick_s", "float", "seconds between two ticks"),
        Field("program", "word", "what runs there, and its version"),
        Field("outlet_most_c", "float", "over this a board without logic trips by itself"),
        Field("tank_most_c", "float", "the same of the tank"),
    ), ("table", "side", "opened", "constants", "tick_s", "program"),
)  # fmt: skip
COIL = Message(
    "coil", ("plant",), "Thermometers at the coil and in the flue.", (
        *_thermometer("coil_outlet_a", "coil outlet"),
        *_thermometer("coil_outlet_b", "coil outlet, second thermometer"),
        *_thermometer("coil_metal", "metal of the coil"),
        *_thermometer("flue", "flue"),
    ),
)  # fmt: skip
HOUSE = Message(
    "house", ("plant",), "Thermometers of tank, radiator, room and pipes.", (
        *_thermometer("tank", "tank, at the pump's suction"),
        *_thermometer("radiator_inlet", "radiator inlet"),
        *_thermometer("radiator_outlet", "radiator outlet"),
        *_thermometer("room", "room"),
        *_thermometer("line_min", "coldest outdoor pipe"),
    ),
)  # fmt: skip
WATER = Message(
    "water", ("plant",), "The flow meter's pulses, and switches that water moves.", (
        Field("pulses", "whole", "pulses since the plant's start"),
        Field("pulse_period_s", "float", "between the last two pulses; inf before the second"),
        Field("pulse_age_s", "float", "since the last pulse"),
        _switch("flow_switch", "1 while water moves"),
        _switch("level_low", "1 while the tank is low"),
        _switch("level_low_low", "1 while the tank is nearly empty"),
        _switch("vent_wet", "1 while vent or relief discharge"),
    ),
)  # fmt: skip
POWER = Message(
    "power", ("plant",), "Currents, supply, contacts and alarms.", (
        Field("pump_a", "float", "pump current"),
        Field("fan_a", "float", "current of all fans"),
        Field("supply_v", "float", "supply at the board"),
        Field("co_ppm", "float", "carbon monoxide"),
        _switch("pump_contact", "1 while the pump's contactor is closed"),
        _switch("damper_shut", "1 while the damper is shut"),
        _switch("smoke", "1 while heat or smoke is seen outside the firebox"),
    ),
)  # fmt: skip
MOMENT = Message(
    "moment", ("plant",), "The last line of a tick: time, the board itself, and buttons.", (
        Field("time_s", "float", "monotonic time of the tick"),
        Field("outage_s", "float", "how long the board was off before its last start"),
        _switch("constants_ok", "1 where the board's own constants and program are sound"),
        *(_switch(name, "1 while asked for by a person") for name in Requests._fields),
    ),
)  # fmt: skip
TICK_PARTS = (COIL, HOUSE, WATER, POWER, MOMENT)
"""Lines of one tick from the plant. A tick is whole when all of them are there."""

COMMANDS = Message(
    "commands", ("logic",), "What the outputs shall do.", (
        _switch("pump", "1: the pump runs"),
        Field("valve", "float", "stroke, 0 shut to 1 open"),
        Field("fans", "float", "0 off to 1 full"),
        _switch("damper_open", "1: the damper is held open"),
        _switch("dump_open", "1: the dump is open"),
        Field("horn", "whole", "0 silent, 1 beep, 2 intermittent, 3 continuous"),
        _switch("may_light", "1: the lamp that permits a fire"),
    ), ("pump", "valve", "fans", "damper_open", "dump_open", "horn", "may_light"),
)  # fmt: skip
DECIDED = Message(
    "decided", ("logic",), "What the logic holds true after the tick.", (
        Field("phase", "whole", "number of the phase"),
        Field("fire", "whole", "0 no, 1 yes, 2 unknown"),
        Field("coil", "whole", "0 cold, 1 wet, 2 at risk, 3 may be dry"),
        Field("raised", "whole", "mask of the rows that count"),
        Field("latched", "whole", "mask of the rows that stay until reset"),
        Field("first_out", "whole", "row that came first, -1 for none"),
        Field("digest", "whole", "CRC-32 over the whole state and the commands"),
        Field("silent", "whole", "times in this session that a bench board heard nothing for 2 s"),
    ), ("phase", "fire", "coil", "raised", "latched", "first_out", "digest", "silent"),
)  # fmt: skip
SILENT = Message(
    "silent", ("logic",), "On the bench alone: nothing was heard for 2 s, and the outputs went "
    "where this line says.", (
        Field("count", "whole", "of the silences in this session"), *COMMANDS.fields,
    ), ("count", *COMMANDS.needed),
)  # fmt: skip
AGAIN = Message(
    "again", ("logic",), "Lines of this tick that did not arrive.", (
        Field("parts", "whole", "mask: bit 0 for coil, 1 house, 2 water, 3 power, 4 moment"),
    ), ("parts",),
)  # fmt: skip
REFUSE = Message(
    "refuse", ("plant", "logic"), "No talk, and why.", (
        Field("reason", "word", "other-table, same-side, other-tick or no-bench"),
    ), ("reason",),
)  # fmt: skip
RESTART = Message(
    "restart", ("plant",), "On the bench alone: the logic restarts as a board does.", (
        Field("count", "whole", "of this session; each is done once"),
    ), ("count",),
)
DONE = Message(
    "done", ("logic",), "A state was taken over, or a restart done.", (
        Field("count", "whole", "of the last restart in this session, 0 before any"),
        Field("digest", "whole", "CRC-32 over the state as it is now, with all commands 0"),
    ), ("count", "digest"),
)  # fmt: skip
BYE = Message(
    "bye", ("logic",), "Nobody decides from here on. A board takes it only where the last decision "
    "held that there is no fire; its outputs then stay as they are, without its dead-man.", (),
)  # fmt: skip


def _memory() -> tuple[Message, ...]:
    """The lines of a whole state, one a part of it: on the bench alone."""
    names = [part for part, _ in PARTS] + ["counters"]
    found = []
    for part in names:
        fields = tuple(
            Field(name, "float" if kind is float else "flag" if kind is bool else "whole",
                  "as the logic remembers it")
            for name, kind in FIELDS
            if name.startswith(f"{part}_") or (part == "counters" and name in ("raised", "seen"))
        )  # fmt: skip
        words = f"Part of the state that the logic shall go on from: {part}."
        needed = tuple(field.name for field in fields if field.kind != "float")
        found.append(Message(f"set_{part}", ("plant",), words, fields, needed))
    return tuple(found)


MEMORY = _memory()
MESSAGES: dict[str, Message] = {
    message.name: message
    for message in (
        HELLO, *TICK_PARTS, COMMANDS, DECIDED, AGAIN, REFUSE, SILENT, RESTART, DONE, BYE, *MEMORY,
    )
}  # fmt: skip
RAW = tuple(
    field.name for part in TICK_PARTS for field in part.fields
    if field.name not in Requests._fields
)  # fmt: skip
"""Names of what a plant's tick carries besides the buttons, in order."""


def table_text() -> str:
    """The table as the text that is hashed."""
    lines = [f"{VERSION} crc32 {PLANES}"]
    for message in MESSAGES.values():
        fields = " ".join(f"{each.name}:{each.kind}" for each in message.fields)
        sent_by, needed = ",".join(message.sent_by), ",".join(message.needed)
        lines.append(f"{message.name} {sent_by} {fields} needs {needed}")
    return "\n".join(lines)


def table_hash() -> str:
    """Eight hexadecimal digits that differ where tables do."""
    return hashlib.sha256(table_text().encode()).hexdigest()[:8]


TABLE = table_hash()
