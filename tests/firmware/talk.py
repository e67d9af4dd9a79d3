"""The reference and the emulated board hear the same lines, and have to say the same bytes."""

from __future__ import annotations

import math
import random
from collections import deque

from coilward import __version__
from coilward.controller.state import first_state
from coilward.controller.types import Readings
from coilward.hil.frames import encode
from coilward.hil.link import Link
from coilward.hil.logic_side import LogicSide, greeting
from coilward.hil.messages import MEMORY, TICK_PARTS
from coilward.hil.tick import FIELDS, flat
from tests.firmware.boards import board
from tests.hil.pairs import BEING, CONSTANTS, CONVERT, Memory


class Reference:
    """The reference side that carries the logic, on the clock of the test."""

    def __init__(self, processor):
        self.said, self.comes, self.now_ms = deque(), deque(), 0
        self.side = LogicSide(
            Link(Memory(self.comes, self.said)), CONVERT, CONSTANTS, first_state(CONSTANTS),
            program=f"coilward-{processor.name}-{__version__}", bench=True, told=None,
        )  # fmt: skip
        self.side.clock = lambda: self.now_ms / 1000

    def hear(self, data):
        self.comes.append(data)
        self.side.serve()
        said = b"".join(self.said)
        self.said.clear()
        return said


class Talk:
    """Lines to both, and the answers side by side."""

    def __init__(self, processor, seed):
        self.reference, (self.machine, _) = Reference(processor), board(processor)
        self.chance = random.Random(seed)
        self.sequence, self.session = 0, 0
        self.answers = 0

    def line(self, name, tick, values, session=None):
        self.sequence += 1
        session = self.session if session is None else session
        return encode(session, name, self.sequence, tick, values)

    def hear(self, data, passes_ms=None):
        """Time passes in eighths of a second, which are exact in seconds, too."""
        if passes_ms is None:
            passes_ms = self.chance.choice((0, 0, 0, 0, 125))
        self.machine.now_ms += passes_ms
        self.reference.now_ms += passes_ms
        self.machine.come += data
        self.machine.run()
        ours = self.reference.hear(data)
        assert bytes(self.machine.gone).decode() == ours.decode()
        self.machine.gone.clear()
        self.answers += ours.count(b"\n")
        return ours

    def greet(self, session, **change):
        told = {**greeting("plant", session, BEING), **change}
        self.hear(self.line("hello", 0, told, session=0))
        if not change:
            self.session = session

    def remember(self, state):
        floats, wholes = (iter(row) for row in flat(state))
        values = {name: next(floats) if kind is float else next(wholes) for name, kind in FIELDS}
        for part in MEMORY:
            self.hear(self.line(part.name, 0, {key: values[key] for key in part.by_name}))

    def tick(self, number, readings, requests):
        """A tick's lines, lost, doubled, spoilt and out of order, until both have answered."""
        values = dict(CONVERT.raw(readings, number))
        values |= {name: 1 for name, held in requests._asdict().items() if held}
        parts = [
            (part.name, {key: values[key] for key in part.by_name if key in values})
            for part in TICK_PARTS
        ]
        chance, said = self.chance, b""
        while b" decided " not in said:
            lines = [self.line(name, number, told) for name, told in parts]
            if chance.random() < 0.1:
                lines.insert(chance.randrange(5), self.line("coil", number - 1, {}))
            if chance.random() < 0.1:
                chance.shuffle(lines)
            for line in lines:
                if chance.random() < 0.05:
                    continue
                if chance.random() < 0.05:
                    line = bytearray(line)
                    line[chance.randrange(len(line) - 1)] ^= 1 << chance.randrange(8)
                said += self.hear(bytes(line) * chance.choice((1, 1, 1, 2)))


KINDS = {field.name: field.kind for part in TICK_PARTS for field in part.fields}


def wild(chance, readings):
    """Readings of a loop that runs, with some of them lost or at an end."""
    change = {}
    for name in Readings._fields:
        if KINDS.get(name) == "flag":
            if chance.random() < 0.05:
                change[name] = chance.choice((math.nan, 0.0, 1.0))
        elif chance.random() < 0.02:
            change[name] = chance.choice((math.nan, math.inf, -math.inf, 0.0, -1.0, 1e300, 5e-324))
        elif chance.random() < 0.3:
            change[name] = getattr(readings, name) * chance.uniform(0.7, 1.4)
    return readings._replace(**{**change, "time_s": readings.time_s})
