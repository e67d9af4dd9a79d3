"""Where a condition holds, as one long whole number: bit i is sample i.

Python's own integers carry tens of thousands of samples through "and", "or" and shifts in about a
microsecond each, whatever the pattern. A look back over k samples is a shift up by k.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Flags = NDArray[np.bool_]
Bits = int


def all_bits(count: int) -> Bits:
    """Set at every sample."""
    return (1 << count) - 1


def packed(flags: Flags) -> Bits:
    """The bits of flags."""
    return int.from_bytes(np.packbits(flags, bitorder="little").tobytes(), "little")


def unpacked(bits: Bits, count: int) -> Flags:
    """The flags of bits."""
    row = np.frombuffer(bits.to_bytes((count + 7) // 8, "little"), np.uint8)
    return np.unpackbits(row, bitorder="little", count=count).view(np.bool_)


def spread(bits: Bits, begin: int, end: int, everywhere: Bits) -> Bits:
    """Set where any of the samples ``begin`` to ``end`` before is."""
    count = everywhere.bit_length()
    begin, end = min(begin, count), min(end, count)
    if (run := one_run(bits)) is not None:
        return (all_bits(run[1] + end) ^ all_bits(run[0] + begin)) & everywhere
    width, reach = end - begin + 1, 1
    while 2 * reach <= width:
        bits |= bits << reach
        reach *= 2
    if reach < width:
        bits |= bits << (width - reach)
    return (bits << begin) & everywhere


def spread_back(bits: Bits, begin: int, end: int) -> Bits:
    """Set where any of the samples ``begin`` to ``end`` after is."""
    width, reach = end - begin + 1, 1
    while 2 * reach <= width and bits >> reach:
        bits |= bits >> reach
        reach *= 2
    if reach < width:
        bits |= bits >> (width - reach)
    return bits >> begin


def from_first(bits: Bits, everywhere: Bits) -> Bits:
    """Set from the first one on."""
    return everywhere ^ ((bits & -bits) - 1) if bits else 0


def up_to_last(bits: Bits) -> Bits:
    """Set up to the last one."""
    return all_bits(bits.bit_length())


def flooded(within: Bits, seeds: Bits) -> Bits:
    """From each seed on, for as long as ``within`` is set; each seed lies in it.

    Adding a seed to the run that it lies in carries through to the run's end, and so turns over
    all that is flooded; where a second seed stops the carry, the seed itself is there.
    """
    return (((within + seeds) ^ within) & within) | seeds


def lasting(bits: Bits, samples: int) -> Bits:
    """Set where this sample and those before it, ``samples`` together, all are; 1 at the least."""
    reach = 1
    while 2 * reach <= samples and bits:
        bits &= bits << reach
        reach *= 2
    return bits & bits << (samples - reach) if reach < samples else bits


def one_run(bits: Bits) -> tuple[int, int] | None:
    """First sample of the only run, and the one after it; None if there is no run, or another."""
    if not bits:
        return None
    start, end = (bits & -bits).bit_length() - 1, bits.bit_length()
    return (start, end) if bits == all_bits(end) ^ all_bits(start) else None
