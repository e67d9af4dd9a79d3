"""How far a run is from breaking a formula, and the words that formulas are written in.

    runs = always(implies(sure(at_least("heat_w", 250.0)), at_least("flow_lpm", 1.0)))
    robustness(runs, {"heat_w": ..., "flow_lpm": ...})

Windows are in samples. ``&``, ``|`` and ``~`` are and, or and not. What each of them means stands
in `coilward.proving.formulas`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from coilward.proving.formulas import All, Chain, Formula, Lasts, Level, Sure, Window
from coilward.proving.recording import Recording
from coilward.proving.windows import Floats


def robustness(formula: Formula, signals: Mapping[str, Floats] | Recording) -> float:
    """Robustness of a run: that of the formula at its first sample.

    In the unit of the formula's signals, or samples; infinite where nothing asks for it. Raises
    ValueError for signals that are missing, empty, of different lengths, or NaN anywhere.
    """
    recording = signals if isinstance(signals, Recording) else Recording(signals)
    found = formula.first(recording)
    for name in names_in(formula):
        recording.vouch(name)
    return found


def robustness_by_definition(formula: Formula, signals: Mapping[str, Floats]) -> Floats:
    """Robustness at every sample, each node sample by sample: slow, and the measure of the other.

    Raises ValueError as `robustness` does.
    """
    return formula.values(Recording(signals))


def names_in(formula: Formula) -> Iterator[str]:
    """The signals that a formula is about, as often as they stand in it."""
    if isinstance(formula, Level):
        yield formula.name
    for part in formula.parts():
        yield from names_in(part)


def at_least(name: str, bound: float) -> Formula:
    """The signal is at least the bound; ValueError for a bound that is not finite."""
    return Level(name, bound, over=True)


def at_most(name: str, bound: float) -> Formula:
    """The signal is at most the bound; ValueError for a bound that is not finite."""
    return Level(name, bound, over=False)


def all_of(*parts: Formula) -> Formula:
    """And, of any number; those that rule out most come first, the rest is then skipped."""
    return All(*parts)


def implies(condition: Formula, formula: Formula) -> Formula:
    """Not the condition, or the formula."""
    return ~condition | formula


def always(part: Formula, begin: int = 0, end: int | None = None) -> Formula:
    """At each of the samples ``begin`` to ``end`` after; without an end, from here on."""
    return Window(part, begin, end, past=False, extreme="least")


def eventually(part: Formula, begin: int = 0, end: int | None = None) -> Formula:
    """At one of the samples ``begin`` to ``end`` after; without an end, from here on."""
    return Window(part, begin, end, past=False, extreme="greatest")


def historically(part: Formula, begin: int = 0, end: int | None = None) -> Formula:
    """At each of the samples ``begin`` to ``end`` before; without an end, up to here."""
    return Window(part, begin, end, past=True, extreme="least")


def once(part: Formula, begin: int = 0, end: int | None = None) -> Formula:
    """At one of the samples ``begin`` to ``end`` before; without an end, up to here."""
    return Window(part, begin, end, past=True, extreme="greatest")


def since(left: Formula, right: Formula) -> Formula:
    """The right part held at some sample, and the left one at all after it, up to here."""
    return Chain(left, right, past=True)


def until(left: Formula, right: Formula) -> Formula:
    """The right part will hold at some sample, and the left one at all from here up to it."""
    return Chain(left, right, past=False)


def sure(part: Formula) -> Formula:
    """Infinitely true where the part holds, infinitely false elsewhere."""
    return Sure(part)


def lasts(part: Formula, samples: int) -> Formula:
    """The part has held for so many samples without a break."""
    return Lasts(part, samples)
