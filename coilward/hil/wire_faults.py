"""A port that carries badly: bit errors, lines lost, doubled, out of order, cut, late, or none."""

from __future__ import annotations

import random
import time
from collections import deque
from typing import NamedTuple

from coilward.hil.link import LinkLost, Port


class Wire(NamedTuple):
    """How badly a wire carries, both ways."""

    bit_errors: float = 0.0
    """Share of the bits that arrive turned."""
    lost: float = 0.0
    """Share of the pieces that do not arrive; a piece is what one write sends or one read gets."""
    doubled: float = 0.0
    swapped: float = 0.0
    """Share of the pieces that arrive after the next one."""
    cut: float = 0.0
    """Share of the pieces of which only a beginning arrives."""
    late_s: float = 0.0
    """Every piece arrives so much later."""
    chatter: float = 0.0
    """Share of the pieces before which something that nobody sent arrives."""


class BadPort:
    """A port over such a wire. `unplugged` makes every read and write fail."""

    def __init__(self, port: Port, wire: Wire, seed: int) -> None:
        """The same seed and the same pieces give the same faults."""
        self.port, self.wire = port, wire
        self.unplugged = False
        self.touched = 0
        """Pieces that did not arrive as they were sent."""
        self._random = random.Random(seed)  # noqa: S311 - faults, not secrets
        self._coming: deque[tuple[float, bytes]] = deque()
        self._going: deque[tuple[float, bytes]] = deque()
        self._held: dict[bool, bytes] = {}

    def read(self) -> bytes:
        """What arrives of what has been sent."""
        self._plugged()
        data = self.port.read()
        if data:
            self._carry(data, self._coming, going=False)
        return self._due(self._coming)

    def write(self, data: bytes) -> None:
        """Send, as the wire carries it."""
        self._plugged()
        self._carry(data, self._going, going=True)
        out = self._due(self._going)
        if out:
            self.port.write(out)

    def close(self) -> None:
        """Let go of the port."""
        self.port.close()

    def _plugged(self) -> None:
        if self.unplugged:
            raise LinkLost("unplugged")

    def _due(self, queue: deque[tuple[float, bytes]]) -> bytes:
        found = b""
        while queue and queue[0][0] <= time.monotonic():
            found += queue.popleft()[1]
        return found

    def _carry(self, data: bytes, queue: deque[tuple[float, bytes]], *, going: bool) -> None:
        due_s = time.monotonic() + self.wire.late_s
        held = self._held.pop(going, b"")
        if self._happens(self.wire.swapped):
            self._held[going] = data
            self.touched += 1
        else:
            for piece in self._pieces(data):
                queue.append((due_s, piece))
        if held:
            queue.append((due_s, held))

    def _pieces(self, data: bytes) -> list[bytes]:
        if self._happens(self.wire.lost):
            self.touched += 1
            return []
        if self._happens(self.wire.cut):
            self.touched += 1
            data = data[: self._random.randrange(len(data))]
        turned = self._turned(data)
        self.touched += turned != data
        pieces = [turned]
        if self._happens(self.wire.chatter):
            self.touched += 1
            pieces.insert(0, self._random.randbytes(self._random.randrange(1, 40)))
        if self._happens(self.wire.doubled):
            self.touched += 1
            pieces.append(turned)
        return pieces

    def _turned(self, data: bytes) -> bytes:
        share = self.wire.bit_errors
        if share <= 0.0:
            return data
        bits = 8 * len(data)
        changed = bytearray(data)
        place = self._gap(share)
        while place < bits:
            changed[place // 8] ^= 1 << place % 8
            place += 1 + self._gap(share)
        return bytes(changed)

    def _gap(self, share: float) -> int:
        """Bits until the next error, as chance has it."""
        return int(self._random.expovariate(share)) if share < 1.0 else 0

    def _happens(self, share: float) -> bool:
        return share > 0.0 and self._random.random() < share
