"""Numbers made small without losing a bit, and made whole again.

From tick to tick most numbers stay, or go on by the same step. So each is stored as its
difference to the one before, as whole numbers of 64 bits that wrap around; the bytes of equal
weight are put side by side; and zlib does the rest.
"""

from __future__ import annotations

import hashlib
import zlib
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from coilward.hil.journal.layout import Words

LEVEL: Final = 6
HASH_BYTES: Final = 16


class Damaged(ValueError):  # noqa: N818 - said of a file, not of the program
    """What was read is not what was written."""


def shrunk(words: Words) -> bytes:
    """A block of numbers as few bytes. The block has at least one tick."""
    steps: NDArray[Any] = np.empty(words.shape, np.int64)
    steps[:, 0] = words[:, 0].view(np.int64)
    np.subtract(words[:, 1:], words[:, :-1], out=steps[:, 1:].view(np.uint64))
    # Small steps down become small numbers, too: the sign goes to the lowest bit.
    folded = (steps << 1) ^ (steps >> 63)
    planes = folded.view(np.uint8).reshape(len(words), -1, 8).transpose(0, 2, 1)
    return zlib.compress(np.ascontiguousarray(planes).tobytes(), LEVEL)


def grown(blob: bytes, columns: int, ticks: int) -> Words:
    """The block that `shrunk` made small. Raises Damaged where it can't be one."""
    try:
        raw = zlib.decompress(blob)
    except zlib.error as error:
        raise Damaged(f"the numbers can't be unpacked ({error})") from None
    if len(raw) != 8 * columns * ticks:
        raise Damaged(f"{len(raw)} bytes, not {8 * columns * ticks}")
    planes: NDArray[np.uint8] = np.frombuffer(raw, np.uint8).reshape(columns, 8, ticks)
    folded = np.ascontiguousarray(planes.transpose(0, 2, 1)).view(np.uint64)
    folded = folded.reshape(columns, ticks)
    steps: Words = (folded >> np.uint64(1)) ^ (-(folded & np.uint64(1)).view(np.int64)).view(
        np.uint64
    )
    return np.cumsum(steps, axis=1, dtype=np.uint64, out=steps)


def fingerprint(*blocks: Words) -> bytes:
    """Hash over numbers as they are: equal bits, equal hash."""
    digest = hashlib.blake2b(digest_size=HASH_BYTES)
    for words in blocks:
        digest.update(np.ascontiguousarray(words).data)
    return digest.digest()
