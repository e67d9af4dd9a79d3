"""A small algebra of temporal formulas over sampled signals, and how far each is from breaking.

A formula has a robustness at every sample: positive where it holds, negative where it is broken,
in the unit of its signals; about durations, in samples. Windows are in samples. The semantics are
the usual quantitative ones of signal temporal logic in discrete time (Donze and Maler, 2010, from
memory): "and" is the lesser, "always" the least over its window. Two parts go beyond them:

``sure(f)`` is infinitely true where f's robustness is at least 0, and infinitely false elsewhere.
It lets a condition in one unit switch a requirement in another without masking its margin.

``lasts(f, n)`` is the number of samples, this one included, for which f has held without a break,
less n.

Each node can be reckoned in two ways. ``_values`` follows the definition, sample by sample.
``_holds``, ``_least`` and ``_at`` answer the narrower questions that a verdict needs (where does it
hold, what is its least, what is it at some samples) and skip what can't change the answer;
tests hold them equal to ``_values``.
"""

from __future__ import annotations

import math
from functools import reduce

import numpy as np

from coilward.proving.bits import (
    Bits,
    flooded,
    from_first,
    lasting,
    one_run,
    packed,
    spread,
    spread_back,
    unpacked,
    up_to_last,
)
from coilward.proving.recording import Recording
from coilward.proving.windows import (
    Extreme,
    Floats,
    Places,
    lengths_at,
    running,
    sliding,
)

DENSE = 8
"""One sample in so many: from there on it is quicker to look at all than to pick."""


class Formula:
    """A formula at every sample. Built by the functions below and by ``&``, ``|``, ``~``."""

    def _values(self, recording: Recording) -> Floats:
        """Robustness at every sample, by the definition."""
        raise NotImplementedError

    def _holds(self, recording: Recording, strict: bool) -> Bits:
        """Where the robustness is at least 0, or over 0."""
        return recording.where(self._values(recording), strict)

    def _negated(self) -> Formula:
        """Its opposite."""
        return Opposite(self)

    def _parts(self) -> tuple[Formula, ...]:
        """The formulas that it is made of."""
        return ()

    def _at(self, recording: Recording, places: Places) -> Floats:
        """Robustness at some samples."""
        return self._values(recording)[places]

    def _least(self, recording: Recording, where: Bits) -> float:
        """Least robustness over the samples that are flagged; infinite over none."""
        if where == recording.everywhere:
            return float(self._values(recording).min())
        return float(self._at(recording, recording.places(where)).min(initial=math.inf))

    def _first(self, recording: Recording) -> float:
        """Robustness at the first sample: that of the run."""
        return float(self._at(recording, np.zeros(1, np.intp))[0])

    def values(self, recording: Recording) -> Floats:
        """Robustness at every sample, by the definition."""
        return self._values(recording)

    def first(self, recording: Recording) -> float:
        """Robustness at the first sample: that of the run."""
        return self._first(recording)

    def parts(self) -> tuple[Formula, ...]:
        """The formulas that it is made of."""
        return self._parts()

    def __and__(self, other: Formula) -> Formula:
        return All(self, other)

    def __or__(self, other: Formula) -> Formula:
        return Any(self, other)

    def __invert__(self) -> Formula:
        return self._negated()


class Level(Formula):
    """A signal over a bound, or under it; the margin is in the signal's unit."""

    def __init__(self, name: str, bound: float, over: bool) -> None:
        if not math.isfinite(bound):
            raise ValueError(f"the bound of {name!r} has to be a finite number, not {bound}")
        self.name, self.bound, self.over = name, bound, over

    def _values(self, recording: Recording) -> Floats:
        return self._margin(recording.signal(self.name))

    def _margin(self, signal: Floats) -> Floats:
        return signal - self.bound if self.over else self.bound - signal

    def _holds(self, recording: Recording, strict: bool) -> Bits:
        name, bound, over = self.name, self.bound, self.over
        starts = recording.starts_at(name)
        # One pass decides a signal that stays on the side on which it starts.
        if starts >= bound:
            if recording.low(name) > bound:
                return recording.everywhere if over else 0
        elif recording.high(name) < bound:
            return 0 if over else recording.everywhere
        signal = recording.signal(name)
        if over:
            return packed(signal > bound if strict else signal >= bound)
        return packed(signal < bound if strict else signal <= bound)

    def _negated(self) -> Formula:
        return Level(self.name, self.bound, not self.over)

    def _at(self, recording: Recording, places: Places) -> Floats:
        return self._margin(recording.signal(self.name)[places])

    def _least(self, recording: Recording, where: Bits) -> float:
        # Rounding keeps order: the least of the differences is the difference of the extreme.
        if where == recording.everywhere:
            if self.over:
                return recording.low(self.name) - self.bound
            return self.bound - recording.high(self.name)
        pieces = recording.signal(self.name)
        if (run := one_run(where)) is not None:
            pieces = pieces[run[0] : run[1]]
        elif where.bit_count() > recording.count // DENSE:
            other = math.inf if self.over else -math.inf
            pieces = np.where(unpacked(where, recording.count), pieces, other)
        else:
            pieces = pieces[unpacked(where, recording.count)]
        if self.over:
            return float(pieces.min(initial=math.inf) - self.bound)
        return float(self.bound - pieces.max(initial=-math.inf))


class Opposite(Formula):
    """Not: of the parts that can't be turned round by themselves."""

    def __init__(self, part: Formula) -> None:
        self.part = part

    def _values(self, recording: Recording) -> Floats:
        return -self.part._values(recording)

    def _holds(self, recording: Recording, strict: bool) -> Bits:
        return recording.everywhere ^ recording.holds(self.part, not strict)

    def _negated(self) -> Formula:
        return self.part

    def _parts(self) -> tuple[Formula, ...]:
        return (self.part,)

    def _at(self, recording: Recording, places: Places) -> Floats:
        return -self.part._at(recording, places)

    def _least(self, recording: Recording, where: Bits) -> float:
        if where == recording.everywhere and isinstance(self.part, Lasts):
            return float(self.part.samples - recording.longest(self.part.part))
        return super()._least(recording, where)


class All(Formula):
    """And: the least of its parts. Those that rule out most come first: the rest is skipped."""

    def __init__(self, *members: Formula) -> None:
        self.members = members

    def _values(self, recording: Recording) -> Floats:
        return reduce(np.minimum, (part._values(recording) for part in self.members))

    def _holds(self, recording: Recording, strict: bool) -> Bits:
        held = recording.everywhere
        for part in self.members:
            held &= recording.holds(part, strict)
            if not held:
                break
        return held

    def _negated(self) -> Formula:
        return Any(*(~part for part in self.members))

    def _parts(self) -> tuple[Formula, ...]:
        return self.members

    def _at(self, recording: Recording, places: Places) -> Floats:
        return reduce(np.minimum, (part._at(recording, places) for part in self.members))

    def _least(self, recording: Recording, where: Bits) -> float:
        return min(part._least(recording, where) for part in self.members)

    def _first(self, recording: Recording) -> float:
        return min(part._first(recording) for part in self.members)


class Any(Formula):
    """Or: the greatest of its parts."""

    def __init__(self, *members: Formula) -> None:
        self.members = members

    def _values(self, recording: Recording) -> Floats:
        return reduce(np.maximum, (part._values(recording) for part in self.members))

    def _holds(self, recording: Recording, strict: bool) -> Bits:
        held = 0
        for part in self.members:
            held |= recording.holds(part, strict)
            if held == recording.everywhere:
                break
        return held

    def _negated(self) -> Formula:
        return All(*(~part for part in self.members))

    def _parts(self) -> tuple[Formula, ...]:
        return self.members

    def _at(self, recording: Recording, places: Places) -> Floats:
        return reduce(np.maximum, (part._at(recording, places) for part in self.members))

    def _least(self, recording: Recording, where: Bits) -> float:
        # Where a sure part holds the whole is infinite: only the other samples count.
        rest = []
        for part in self.members:
            if _is_sure(part):
                where &= recording.everywhere ^ recording.holds(part)
                if not where:
                    return math.inf
            else:
                rest.append(part)
        if not rest:
            return -math.inf if where else math.inf
        if len(rest) == 1:
            return rest[0]._least(recording, where)
        return Formula._least(Any(*rest), recording, where)

    def _first(self, recording: Recording) -> float:
        return max(part._first(recording) for part in self.members)


class Window(Formula):
    """The least, or the greatest, over a window of samples after or before; no end is no bound."""

    def __init__(
        self, part: Formula, begin: int, end: int | None, *, past: bool, extreme: Extreme
    ) -> None:
        if begin < 0 or (end is None and begin > 0) or (end is not None and end < begin):
            raise ValueError(f"a window can't reach from sample {begin} to {end}")
        self.part, self.begin, self.end, self.past, self.extreme = part, begin, end, past, extreme

    def _values(self, recording: Recording) -> Floats:
        values = self.part._values(recording)
        ahead = values[::-1] if self.past else values
        if self.end is None:
            found = running(ahead, self.extreme)
        else:
            found = sliding(ahead, self.begin, self.end, self.extreme)
        return found[::-1] if self.past else found

    def _holds(self, recording: Recording, strict: bool) -> Bits:
        # "Always" is not "at some time not".
        held, everywhere = recording.holds(self.part, strict), recording.everywhere
        if self.extreme == "greatest":
            return self._somewhere(held, everywhere)
        return everywhere ^ self._somewhere(everywhere ^ held, everywhere)

    def _somewhere(self, held: Bits, everywhere: Bits) -> Bits:
        if not held:
            return 0
        if self.end is None:
            return from_first(held, everywhere) if self.past else up_to_last(held)
        if self.past:
            return spread(held, self.begin, self.end, everywhere)
        return spread_back(held, self.begin, self.end)

    def _negated(self) -> Formula:
        other: Extreme = "greatest" if self.extreme == "least" else "least"
        return Window(~self.part, self.begin, self.end, past=self.past, extreme=other)

    def _parts(self) -> tuple[Formula, ...]:
        return (self.part,)

    def _at(self, recording: Recording, places: Places) -> Floats:
        if self.begin != self.end:
            return super()._at(recording, places)
        seen = places - self.begin if self.past else places + self.begin
        inside = (seen >= 0) & (seen < recording.count)
        found = np.full(len(places), math.inf if self.extreme == "least" else -math.inf)
        found[inside] = self.part._at(recording, seen[inside])
        return found

    def _least(self, recording: Recording, where: Bits) -> float:
        # Every sample is in its own window, and no window reaches beyond the samples.
        if where == recording.everywhere and self.extreme == "least" and self.begin == 0:
            return self.part._least(recording, where)
        return super()._least(recording, where)

    def _first(self, recording: Recording) -> float:
        if self.end is None and not self.past and self.extreme == "least":
            return self.part._least(recording, recording.everywhere)
        return super()._first(recording)


class Chain(Formula):
    """Since, or until: the right part at some sample, and the left at all from there to here."""

    def __init__(self, left: Formula, right: Formula, *, past: bool) -> None:
        self.left, self.right, self.past = left, right, past

    def _values(self, recording: Recording) -> Floats:
        left, right = self.left._values(recording), self.right._values(recording)
        if not self.past:
            left, right = left[::-1], right[::-1]
        found, last = np.empty(recording.count), -math.inf
        for i, (a, b) in enumerate(zip(left.tolist(), right.tolist(), strict=True)):
            last = max(min(a, last), b)
            found[i] = last
        return found if self.past else found[::-1]

    def _holds(self, recording: Recording, strict: bool) -> Bits:
        if not self.past:
            return super()._holds(recording, strict)
        seeds = recording.holds(self.right, strict)
        return flooded(seeds | recording.holds(self.left, strict), seeds) if seeds else 0

    def _parts(self) -> tuple[Formula, ...]:
        return (self.left, self.right)


class Sure(Formula):
    """Infinitely true where its part's robustness is at least 0, infinitely false elsewhere."""

    def __init__(self, part: Formula) -> None:
        self.part = part

    def _values(self, recording: Recording) -> Floats:
        return np.where(self.part._values(recording) >= 0.0, math.inf, -math.inf)

    def _holds(self, recording: Recording, strict: bool) -> Bits:  # noqa: ARG002
        return recording.holds(self.part)

    def _parts(self) -> tuple[Formula, ...]:
        return (self.part,)

    def _at(self, recording: Recording, places: Places) -> Floats:
        flags = unpacked(recording.holds(self.part), recording.count)[places]
        return np.where(flags, math.inf, -math.inf)

    def _least(self, recording: Recording, where: Bits) -> float:
        missed = recording.everywhere ^ recording.holds(self.part)
        return -math.inf if where & missed else math.inf


class Lasts(Formula):
    """Samples, this one included, for which its part has held without a break, less a number."""

    def __init__(self, part: Formula, samples: int) -> None:
        self.part, self.samples = part, samples

    def _values(self, recording: Recording) -> Floats:
        places = np.arange(1, recording.count + 1)
        broken = np.where(self.part._values(recording) >= 0.0, 0, places)
        return (places - np.maximum.accumulate(broken) - self.samples).astype(float)

    def _holds(self, recording: Recording, strict: bool) -> Bits:
        samples = self.samples + 1 if strict else self.samples
        if samples <= 0:
            return recording.everywhere
        return lasting(recording.holds(self.part), samples)

    def _parts(self) -> tuple[Formula, ...]:
        return (self.part,)

    def _at(self, recording: Recording, places: Places) -> Floats:
        runs = recording.runs(self.part)
        return (lengths_at(runs, places) - self.samples).astype(float)


def _is_sure(part: Formula) -> bool:
    return isinstance(part, Sure) or (isinstance(part, Opposite) and isinstance(part.part, Sure))
