"""The firmware's own doubles against this computer's hardware, bit for bit.

IEEE 754 binary64 is what both follow; the bits of what is not a number mean nothing to either.
"""

from __future__ import annotations

import ctypes
import shutil
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from coilward.controller.firmware import ARITHMETIC
from coilward.hil.host_core import build

SOURCES = sorted(ARITHMETIC.glob("*.c"))
DRIVER = Path(__file__).with_name("doubles_many.c")
RECKONINGS = {
    "dadd": np.add, "dsub": np.subtract, "dmul": np.multiply, "ddiv": np.divide,
}  # fmt: skip
COMPARISONS = {
    "dcmpeq": np.equal, "dcmplt": np.less, "dcmple": np.less_equal, "dcmpge": np.greater_equal,
    "dcmpgt": np.greater, "dcmpun": lambda a, b: np.isnan(a) | np.isnan(b),
}  # fmt: skip
COUNT = 1_000_000
"""Pairs of each kind."""
EDGES = (0, 1, 2, 3, 0x7FFFF, 0x80000, (1 << 51) - 1, 1 << 51, (1 << 51) + 1, (1 << 52) - 2,
         (1 << 52) - 1)  # fmt: skip
"""Fractions at the ends, and in the middle."""
EXPONENTS = (0, 1, 2, 51, 52, 53, 54, 55, 1000, 1022, 1023, 1024, 1075, 1076, 1077, 1078, 2032,
             2033, 2045, 2046, 2047)  # fmt: skip


def library(sources, folder, *more):
    """The operations on many pairs, made from these sources."""
    path = folder / "doubles.so"
    rules = ("-std=c99", "-O2", "-Wall", "-Wextra", "-Wconversion", "-Werror", *more)
    build([DRIVER, *sources], {}, path, "gcc", (*rules, f"-I{sources[0].parent}"))
    return ctypes.CDLL(str(path))


@pytest.fixture(scope="module")
def ours(tmp_path_factory):
    return library(SOURCES, tmp_path_factory.mktemp("doubles"))


def made_of(signs, exponents, fractions):
    return (signs << 63 | exponents << 52 | fractions).astype(np.uint64).view(np.float64)


def near_ties(draw):
    """Products and quotients that all but stand in the middle between two doubles."""
    found = []
    for _ in range(COUNT // 20):
        one, two = (int(each) | 1 for each in draw.integers(1 << 52, 1 << 53, 2))
        most = 1 << int(draw.integers(1, 30))
        off = int(draw.integers(-most, most))
        low = int(draw.integers(51, 53))
        factor = ((1 << low) + off) * pow(one, -1, 2 << low) % (2 << low)
        found.append((one, (factor & ((1 << 52) - 1)) | 1 << 52))
        odd = -off * pow(two, -1, 1 << 54) % (1 << 54)
        found.append(((odd * two + off) >> 54, two))
    return tuple(np.array(each, np.float64) for each in zip(*found, strict=True))


@cache
def pairs(kind):
    """Always the same pairs for a kind."""
    draw = np.random.default_rng(list(kind.encode()))
    if kind == "edges":
        sign, exponent, fraction = (
            each.ravel() for each in np.meshgrid((0, 1), EXPONENTS, EDGES)
        )
        numbers = made_of(sign, exponent, fraction)
        return np.repeat(numbers, len(numbers)), np.tile(numbers, len(numbers))
    if kind == "near ties":
        return near_ties(draw)
    a = draw.integers(0, 1 << 64, COUNT, np.uint64).view(np.float64)
    if kind == "any":
        return a, draw.integers(0, 1 << 64, COUNT, np.uint64).view(np.float64)
    if kind == "readings":
        quarters = draw.integers(-4000, 4000, COUNT) / 4.0
        decimals = np.round(draw.normal(0.0, 60.0, COUNT), 2)
        return quarters, np.where(draw.random(COUNT) < 0.5, decimals, draw.permutation(quarters))
    signs, fractions = (draw.integers(0, most, (2, COUNT)) for most in (2, 1 << 52))
    ones = (1 << 52) - (1 << draw.integers(0, 53, (2, COUNT)))
    powers = 1 << draw.integers(0, 52, (2, COUNT))
    choice = draw.integers(0, 4, (2, COUNT))
    fractions = np.choose(choice, [fractions, ones, powers, (ones ^ powers) & ((1 << 52) - 1)])
    first = draw.integers(0, 2047, COUNT)
    second = {
        "near": first + draw.integers(-60, 61, COUNT),
        "tiny products": 1023 - first + draw.integers(-60, 4, COUNT),
        "tiny quotients": first + 1022 + draw.integers(-4, 60, COUNT),
        "huge products": 3069 - first + draw.integers(-3, 4, COUNT),
        "tiny": draw.integers(0, 4, COUNT),
    }[kind]
    if kind == "tiny":
        first = draw.integers(0, 60, COUNT)
    return tuple(
        made_of(sign, np.clip(exponent, 0, 2046), fraction)
        for sign, exponent, fraction in zip(signs, (first, second), fractions, strict=True)
    )


KINDS = ("edges", "any", "readings", "near", "tiny products", "huge products", "tiny quotients",
         "tiny", "near ties")  # fmt: skip


def some_of(kind, most):
    """Of the pairs of a kind no more than about so many, from all over them."""
    every = max(1, len(pairs(kind)[0]) // most)
    return tuple(np.ascontiguousarray(each[::every]) for each in pairs(kind))


def outcome(found, table, name, a, b, kind):
    """What the C makes of pairs: of doubles as bits, of comparisons as truths."""
    out = np.empty(len(a), kind)
    places = [ctypes.c_void_p(each.ctypes.data) for each in (a, b, out)]
    call = found.reckoned if table is RECKONINGS else found.compared
    call(list(table).index(name), ctypes.c_size_t(len(a)), *places)
    return out


def differing(found, name, kind):
    """How many pairs have another outcome than the hardware's, and the first of them."""
    a, b = some_of(kind, len(pairs(kind)[0]))
    with np.errstate(all="ignore"):
        if name in COMPARISONS:
            theirs = COMPARISONS[name](a, b).astype(np.int32)
            wrong = outcome(found, COMPARISONS, name, a, b, np.int32) != theirs
        else:
            theirs = RECKONINGS[name](a, b)
            got = outcome(found, RECKONINGS, name, a, b, np.float64)
            both = np.isnan(got) & np.isnan(theirs)
            wrong = (got.view(np.uint64) != theirs.view(np.uint64)) & ~both
    at = int(np.argmax(wrong))
    return int(wrong.sum()), (float(a[at]).hex(), float(b[at]).hex())


def wholes_differing(found):
    """The same of whole numbers of every length, and of those about them."""
    draw = np.random.default_rng(5)
    powers = np.uint64(1) << np.arange(64, dtype=np.uint64)
    beside = [powers + np.uint64(by % (1 << 64)) for by in (-3, -2, -1, 0, 1, 2, 3)]
    random = draw.integers(0, 1 << 64, COUNT, np.uint64) >> draw.integers(0, 64, COUNT, np.uint64)
    whole = np.concatenate([*beside, random, ~random])
    out = np.empty((len(whole), 4))
    found.counted(ctypes.c_size_t(len(whole)), *(ctypes.c_void_p(each.ctypes.data)
                                                 for each in (whole, out)))  # fmt: skip
    kinds = (np.int64, np.uint64, np.int32, np.uint32)
    theirs = np.array([whole.astype(kind).astype(np.float64) for kind in kinds]).T
    return int((out.view(np.uint64) != theirs.copy().view(np.uint64)).sum())


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", [*RECKONINGS, *COMPARISONS])
def test_every_bit_is_the_hardwares(ours, name, kind):
    many, first = differing(ours, name, kind)
    assert many == 0, first


def test_every_whole_number_becomes_the_hardwares_double(ours):
    assert wholes_differing(ours) == 0


MISTAKES = (
    ("adding.c", "places < 64U", "places < 53U", "dadd", "near"),
    ("adding.c", "(lost >> 1) | (lost & 1U)", "(lost >> 1)", "dadd", "near"),
    ("adding.c", "(needed < room)", "(needed <= room)", "dsub", "tiny"),
    ("adding.c", "exponent_of(next) == TOP", "exponent_of(total) > TOP", "dadd", "edges"),
    ("adding.c", "top ^ (TOP + 1U)", "top", "dsub", "edges"),
    ("double_parts.h", "number & 1U", "1U", "dadd", "near"),
    ("double_parts.h", "lost < 0x80000000U", "lost <= 0x80000000U", "dadd", "near"),
    ("scaling.c", "(low(lowest) != 0U)", "(low(lowest) == 1U)", "dmul", "near ties"),
    ("scaling.c", "places > 53U", "places > 52U", "dmul", "edges"),
    ("scaling.c", "high(out) | more", "high(out) + (more & 0U)", "dmul", "tiny products"),
    ("scaling.c", ">= (TOP - 1U)", "> (TOP - 1U)", "dmul", "huge products"),
    ("scaling.c", "(rest >= divisor)", "(rest > divisor)", "ddiv", "edges"),
    ("scaling.c", "step < 3", "step < 2", "ddiv", "any"),
    ("scaling.c", "(rest != 0U) ? 1U", "(rest != 0U) ? 0U", "ddiv", "near ties"),
    ("comparing.c", "usual(a) && usual(b)", "usual(a) || usual(b)", "dcmplt", "any"),
    ("comparing.c", "0x7F000000U", "0x7FF00000U", "dcmplt", "edges"),
    ("comparing.c", "is_zero(a | b)", "is_zero(a & b)", "dcmpeq", "edges"),
    ("from_whole.c", "low(number) << 21", "low(number) << 22", None, None),
    ("from_whole.c", "SIGN |", "0U |", None, None),
)
"""File, what stands there, what comes in its place, and where it shows; None for whole numbers."""


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda one: f"{one[0]}: {one[2]}")
def test_a_mistake_shows(mistake, tmp_path):
    file, was, becomes, name, kind = mistake
    folder = shutil.copytree(SOURCES[0].parent, tmp_path / "arithmetic")
    text = (folder / file).read_text("utf-8")
    assert was in text
    (folder / file).write_text(text.replace(was, becomes), "utf-8")
    found = library(sorted(folder.glob("*.c")), tmp_path)
    many = wholes_differing(found) if name is None else differing(found, name, kind)[0]
    assert many > 0
