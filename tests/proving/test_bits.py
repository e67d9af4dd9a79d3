"""Bits against plain lists of flags."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from coilward.proving import bits


def patterns():
    random = Random(6)
    for _ in range(150):
        count, stays = random.randint(1, 70), random.choice((0.0, 0.5, 0.9, 1.0))
        flags = [random.random() < 0.5]
        while len(flags) < count:
            flags.append(flags[-1] if random.random() < stays else random.random() < 0.5)
        yield random, flags


def held(flags):
    return bits.packed(np.array(flags))


def listed(found, count):
    assert 0 <= found <= bits.all_bits(count)
    return bits.unpacked(found, count).tolist()


def test_packing_and_back():
    for _, flags in patterns():
        assert listed(held(flags), len(flags)) == flags


@pytest.mark.parametrize("window", [(0, 0), (0, 1), (1, 1), (0, 6), (3, 9), (69, 69), (0, 300)])
def test_spread(window):
    begin, end = window
    for _, flags in patterns():
        count = len(flags)
        past = [any(flags[max(0, i - end) : max(0, i - begin + 1)]) for i in range(count)]
        ahead = [any(flags[i + begin : i + end + 1]) for i in range(count)]
        everywhere = bits.all_bits(count)
        assert listed(bits.spread(held(flags), begin, end, everywhere), count) == past
        assert listed(bits.spread_back(held(flags), begin, end), count) == ahead


def test_from_first_and_up_to_last():
    for _, flags in patterns():
        count = len(flags)
        everywhere = bits.all_bits(count)
        after = [any(flags[: i + 1]) for i in range(count)]
        before = [any(flags[i:]) for i in range(count)]
        assert listed(bits.from_first(held(flags), everywhere), count) == after
        assert listed(bits.up_to_last(held(flags)), count) == before


def test_flooded():
    for random, flags in patterns():
        seeds = [flag and random.random() < 0.3 for flag in flags]
        expected, wet = [], False
        for flag, seed in zip(flags, seeds, strict=True):
            wet = flag and (wet or seed)
            expected.append(wet)
        assert listed(bits.flooded(held(flags), held(seeds)), len(flags)) == expected


@pytest.mark.parametrize("samples", [1, 2, 3, 7, 8, 40, 100])
def test_lasting(samples):
    for _, flags in patterns():
        expected, run = [], 0
        for flag in flags:
            run = run + 1 if flag else 0
            expected.append(run >= samples)
        assert listed(bits.lasting(held(flags), samples), len(flags)) == expected


def test_one_run():
    assert bits.one_run(0b0011100) == (2, 5)
    assert bits.one_run(0b1) == (0, 1)
    assert bits.one_run(0) is None
    assert bits.one_run(0b101) is None
