"""Self-test: what a loop's logic is given, and what it has to answer, tick by tick."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Final, NamedTuple

from coilward.controller.firmware.translating.files import literal
from coilward.controller.firmware.translating.kinds import FLOAT
from coilward.controller.state import State
from coilward.hil.recording_night import recorded
from coilward.hil.tick import Tick, asked, digest, flat
from coilward.loop.document import read_text
from coilward.loop.model import Loop
from coilward.simulator.bench import Bench
from coilward.simulator.night import NIGHT_RULES, Night
from coilward.simulator.rehearsal import Rehearsal

LASTS_S: Final = 60
SCENES: Final = {
    "the check before a fire": 'start = "cold"\n[[moment]]\nat = "2 s"\ndo = "prepare"\n',
    "the pump dies": 'start = "running"\n[[moment]]\nat = "8 s"\ndo = "fault"\n'
    'fault = "pump-dies"\n',
    "an outlet thermometer breaks": 'start = "running"\n[[moment]]\nat = "5 s"\ndo = "fault"\n'
    'fault = "outlet-a-open"\n',
    "the meter dies": 'start = "running"\n[[moment]]\nat = "5 s"\ndo = "fault"\n'
    'fault = "meter-dead"\n',
    "the supply is away for a while": 'start = "running"\n[[moment]]\nat = "5 s"\ndo = "fault"\n'
    'fault = "supply-returns"\nsize = 20\n',
}
"""Nights that any loop can have."""


class Scene(NamedTuple):
    """Some ticks that follow each other from a state."""

    words: str
    begin: State
    ticks: list[Tick]


def scenes(loop: Loop, today: date) -> list[Scene]:
    """Every scene of a loop, rehearsed now; a restart of the board begins a new one."""
    return [scene for words in SCENES for scene in _played(loop, today, words)]


def _played(loop: Loop, today: date, words: str) -> Iterator[Scene]:
    text = f'coilward = 1\nname = "{words}"\nduration = "{LASTS_S} s"\n{SCENES[words]}'
    night = read_text(text, Night, file=words, sample=text, rules=NIGHT_RULES)
    found: list[Scene] = []

    def listen(tick: Tick, begun: State | None) -> None:
        if begun is not None:
            found.append(Scene(words, begun, []))
        found[-1].ticks.append(tick)

    bench = Bench(loop, today, "interpreted", recorded(listen, began_s=0.0))
    Rehearsal(bench, night, bench.start(night), 1).play(None)
    yield from found


def vectors_file(found: list[Scene]) -> str:
    """``vectors.c``: readings, requests, and the digest over state and commands that follow."""
    parts = [
        "/* Made from one loop; don't edit. What each tick is given, and the CRC-32 over the state",
        "   and the commands that have to follow: see wire/memory.h. */", '#include "selftest.h"',
        "", '#include "numbers.h"', "",
    ]  # fmt: skip
    for number, scene in enumerate(found):
        floats, wholes = flat(scene.begin)
        parts += [
            f"static const Step STEPS_{number}[] = {{", *(_step(tick) for tick in scene.ticks),
            "};", "",
            f"static const double FLOATS_{number}[STATE_FLOATS] = {{{_row(floats)}}};",
            f"static const int64_t WHOLES_{number}[STATE_WHOLES] = "
            f"{{{', '.join(f'INT64_C({each})' for each in wholes)}}};", "",
        ]  # fmt: skip
    parts += ["const Scene SCENES[] = {"]
    parts += [
        f'    {{"{scene.words}", FLOATS_{number}, WHOLES_{number}, STEPS_{number}, '
        f"{len(scene.ticks)}}},"
        for number, scene in enumerate(found)
    ]
    return "\n".join([*parts, "};", f"const size_t SCENES_COUNT = {len(found)};", ""])


def _step(tick: Tick) -> str:
    told = digest(tick.state, tick.commands)
    return (
        f"    {{{{{_row(tick.readings)}}}, UINT64_C({asked(tick.requests)}), "
        f"UINT32_C(0x{told:08X})}},"
    )


def _row(values: tuple[float, ...] | list[float]) -> str:
    return ", ".join(
        value.hex() if value - value == 0.0 else literal(value, FLOAT)
        for value in map(float, values)
    )
