"""Writes the table of messages for C: `python -m coilward.hil.firmware.writing`.

`messages.h` and `messages.c` hold what the table, a state and the converter hold in Python, in the
same order; nothing of it is typed a second time. A test keeps them equal.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Final

from coilward.controller.debounce import PLANES
from coilward.controller.types import Commands, Requests
from coilward.hil.converting import LEAST_OHM, MOST_OHM, SAME, THERMOMETERS, ohm_name
from coilward.hil.dead_man import CONTINUOUS, SILENT_S
from coilward.hil.frames import LARGEST
from coilward.hil.messages import LONGEST, MEMORY, MESSAGES, TABLE, TICK_PARTS, VERSION, Message
from coilward.hil.tick import FIELDS, PARTS

HERE: Final = Path(__file__).parent
MOST_BYTES: Final = {"float": 40, "whole": 20, "flag": 1, "word": 40}
MASK_BITS: Final = 32
"""Fields of one message that a frame can hold."""


def header() -> str:
    """The text of messages.h. Raises ValueError for a message with too many fields."""
    most = max(len(message.fields) for message in MESSAGES.values())
    if most > MASK_BITS:
        raise ValueError(f"a message has {most} fields; accepted: {MASK_BITS}")
    parts = [
        "#ifndef MESSAGES_H", "#define MESSAGES_H", "", "#include <stdbool.h>",
        "#include <stdint.h>", "",
        f'#define WIRE_VERSION "{VERSION}"', f'#define WIRE_TABLE "{TABLE}"',
        f"#define LONGEST_LINE {LONGEST}", f"#define LONGEST_SENT {longest_sent()}",
        f"#define LARGEST_WHOLE INT64_C({LARGEST})", f"#define MOST_FIELDS {most}",
        f"#define SILENT_MS {round(1000 * SILENT_S)}",
        f"#define HORN_CONTINUOUS_TOLD {CONTINUOUS}",
        f"#define LEAST_OHM {LEAST_OHM!r}", f"#define MOST_OHM {MOST_OHM!r}", "",
        *_enum("msg_", [*MESSAGES, "count"]), "",
        *_enum("", ["kind_float", "kind_whole", "kind_flag", "kind_word"]), "",
    ]
    for message in MESSAGES.values():
        if message.fields:
            parts += [*_enum(f"{message.name}_", [field.name for field in message.fields]), ""]
    parts += [
        "/* Place of every number of a tick, part by part. */",
        *_enum("at_", [*_tick(), "count"]), "",
        _family("TICK", TICK_PARTS), _family("MEMORY", MEMORY),
        f"enum {{ STATE_FIELDS = {len(FIELDS)} }};", "",
        "typedef struct {", "    const char *name;", "    uint8_t kind;", "    bool needed;",
        "} Field;", "",
        "typedef struct {", "    const char *name;", "    const Field *fields;",
        "    uint8_t count;",
        "    uint8_t first; /* of its fields: in a tick, or in a state */", "} Message;", "",
        "extern const Message MESSAGES[MSG_COUNT];", "",
        "/* Members of a state, in the order in which they are sent and digested. */",
        *_listed("STATE_MEMBERS", (f"{_macro(kind)}({name})" for name, kind in _members()),
                 "FLOAT, WHOLE, FLAG"), "",
        "/* Readings that are sent as they are: member, place. */",
        *_listed("SAME_READINGS", (f"SAME({name}, AT_{name.upper()})" for name in SAME), "SAME"),
        "", "/* Thermometers: place in the loop's table, member, place in degC, place in ohm. */",
        *_listed("THERMOMETERS", (
            f"THERMOMETER({place}, {name}, AT_{name.upper()}, AT_{ohm_name(name).upper()})"
            for place, name in enumerate(THERMOMETERS.values())
        ), "THERMOMETER"),
        f"enum {{ THERMOMETER_COUNT = {len(THERMOMETERS)} }};", "",
        *_listed("REQUEST_MEMBERS", (
            f"REQUEST({name}, AT_{name.upper()})" for name in Requests._fields
        ), "REQUEST"), "",
        *_listed("COMMAND_MEMBERS", (_command(name) for name in Commands._fields),
                 "FLOAT, WHOLE, FLAG"), "",
        "#endif", "",
    ]  # fmt: skip
    return "\n".join([_top(), *parts])


def longest(message: Message) -> int:
    """Bytes that a line of this message can have at most, with its end."""
    head = len(f"{VERSION} ffff {message.name} {10**10 - 1} -{10**10 - 1}*FFFFFFFF\n")
    return head + sum(2 + len(field.name) + MOST_BYTES[field.kind] for field in message.fields)


def longest_sent() -> int:
    """Bytes of the longest line that a logic sends."""
    return max(longest(each) for each in MESSAGES.values() if "logic" in each.sent_by)


def source() -> str:
    """The text of messages.c."""
    parts = [_top(), '#include "messages.h"', "", "#include <stddef.h>", ""]
    for message in MESSAGES.values():
        if message.fields:
            parts += [f"static const Field {message.name.upper()}_FIELDS[] = {{"]
            parts += [
                f'    {{"{field.name}", KIND_{field.kind.upper()}, '
                f"{str(field.name in message.needed).lower()}}},"
                for field in message.fields
            ]
            parts += ["};"]
    parts += ["", "const Message MESSAGES[MSG_COUNT] = {"]
    parts += [_row(message) for message in MESSAGES.values()]
    return "\n".join([*parts, "};", ""])


def _top() -> str:
    return (
        "/* Written by `python -m coilward.hil.firmware.writing` from coilward/hil/messages.py;\n"
        "   don't edit. */"
    )


def _enum(prefix: str, names: Iterable[str]) -> list[str]:
    return ["enum {", *(f"    {prefix.upper()}{name.upper()}," for name in names), "};"]


def _family(name: str, family: tuple[Message, ...]) -> str:
    return f"enum {{ {name}_FIRST = MSG_{family[0].name.upper()}, {name}_PARTS = {len(family)} }};"


def _listed(name: str, rows: Iterable[str], arguments: str) -> list[str]:
    rows = list(rows)
    return [f"#define {name}({arguments}) \\", *(f"    {row} \\" for row in rows[:-1]),
            f"    {rows[-1]}"]  # fmt: skip


def _tick() -> list[str]:
    return [field.name for part in TICK_PARTS for field in part.fields]


def _members() -> list[tuple[str, type]]:
    """Members of a state as C names them: the same tree."""
    names = [f"{part}.{name}" for part, kind in PARTS for name in kind._fields]
    names += [f"counters.at[{plane}]" for plane in range(PLANES)]
    names += ["raised", "seen"]
    return [(name, kind) for name, (_, kind) in zip(names, FIELDS, strict=True)]


def _macro(kind: type) -> str:
    return "FLOAT" if kind is float else "FLAG" if kind is bool else "WHOLE"


def _command(name: str) -> str:
    kind = MESSAGES["commands"].by_name[name].kind
    return f"{kind.upper()}({name}, COMMANDS_{name.upper()}, SILENT_{name.upper()})"


def _row(message: Message) -> str:
    first = 0
    for family in (TICK_PARTS, MEMORY):
        if message in family:
            first = sum(len(each.fields) for each in family[: family.index(message)])
    fields = f"{message.name.upper()}_FIELDS" if message.fields else "NULL"
    return f'    {{"{message.name}", {fields}, {len(message.fields)}, {first}}},'


def written() -> dict[str, str]:
    """Text by file name."""
    return {"messages.h": header(), "messages.c": source()}


def main() -> None:
    """Write both files."""
    for name, text in written().items():
        (HERE / name).write_text(text, "utf-8")


if __name__ == "__main__":
    main()
