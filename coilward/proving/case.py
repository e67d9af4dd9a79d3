"""A case: which faults, and a number. Its key alone gives all that is drawn for it."""

from __future__ import annotations

import hashlib
import re
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from coilward.loop.model import Loop
from coilward.proving.scenes import PRELUDES, possible
from coilward.simulator.faults import FAULTS, Fault
from coilward.simulator.tolerances import TOLERANCES

_KEY: Final = re.compile(
    r"([^+/@]+)(?:\+([^+/@]+))?/(\d+)@(\d+)(=(?:\d+:\d{1,3}(?:,\d+:\d{1,3})*)?)?"
)

DRAWN: Final = (
    "onset", "size", "second size", "second after", "fire", "charge", "lively", "moisture",
    "first reload", "pace", "outdoor",
)  # fmt: skip
"""What the first numbers of a case stand for; one for each row of TOLERANCES follows."""
DIMENSIONS: Final = len(DRAWN) + len(TOLERANCES)
MIDDLE: Final = 500
"""Thousandths; a tolerance is at its nominal number there."""

FireKind = Literal["held nominal", "held largest", "burn"]
SECOND_AFTER_S: Final = 60.0
HELD_NOMINAL, HELD_LARGEST = 0.35, 0.6
"""Up to these numbers a fire is held at its nominal heat, at its largest, else burns freely."""
WARMER_K: Final = 20.0
"""Nights are up to this much warmer than the loop's design night."""


@dataclass(frozen=True)
class Case:
    """One night to try."""

    faults: tuple[str, ...]
    """One name, or two that are there together."""
    index: int
    seed: int
    placed: tuple[tuple[int, int], ...] | None = None
    """Which of the numbers are where, in thousandths, the others in the middle: a case that was
    searched for. None: all are drawn from the key."""

    @property
    def key(self) -> str:
        """As people type it: ``pump-stalls/17@1``, or ``pump-stalls+meter-dead/0@1``.

        One that was searched for has its places behind it: ``pump-stalls/17@1=0:125,4:900``.
        """
        placed = self.placed
        places = "" if placed is None else "=" + ",".join(f"{n}:{each}" for n, each in placed)
        return f"{'+'.join(self.faults)}/{self.index}@{self.seed}{places}"


def parse_case(text: str) -> Case:
    """The case of a key.

    Raises ValueError for a text that is no key.
    """
    found = _KEY.fullmatch(text)
    if found is None:
        raise ValueError(f'"{text}" is no case; one looks like pump-stalls/17@1')
    first, second, index, seed, places = found.groups()
    placed = None if places is None else _places(text, places.removeprefix("="))
    faults = (first,) if second is None else (first, second)
    return Case(faults, int(index), int(seed), placed)


def _places(text: str, places: str) -> tuple[tuple[int, int], ...]:
    pairs = [each.split(":") for each in places.split(",") if each]
    found = {int(number): int(thousandths) for number, thousandths in pairs}
    if len(found) < len(pairs) or any(number >= DIMENSIONS for number in found):
        raise ValueError(
            f'"{text}" is no case; places are 0 to {DIMENSIONS - 1}, each once, as in =0:125,4:900'
        )
    return tuple(sorted(found.items()))


def place(case: Case, u: Sequence[float]) -> Case:
    """The case with its numbers at these places, to the next thousandth."""
    nearest = [min(max(round(1000.0 * each), 0), 999) for each in u]
    return replace(
        case, placed=tuple((n, each) for n, each in enumerate(nearest) if each != MIDDLE)
    )


def draw(case: Case) -> tuple[float, ...]:
    """DIMENSIONS numbers from 0 up to 1, from the key alone, alike on every machine."""
    if case.placed is not None:
        found = dict(case.placed)
        return tuple(found.get(number, MIDDLE) / 1000.0 for number in range(DIMENSIONS))
    digest = hashlib.shake_256(case.key.encode()).digest(8 * DIMENSIONS)
    words = (int.from_bytes(digest[n : n + 8], "big") for n in range(0, len(digest), 8))
    return tuple((word >> 11) * 2.0**-53 for word in words)


@dataclass(frozen=True)
class Story:
    """What happens in one case, as plain numbers: each can be made simpler by itself."""

    case: Case
    phase: str
    """Of the board when the (first) fault begins."""
    onset_s: float
    second_after_s: float
    """The second fault begins so long after the first."""
    latched: bool
    """A shutdown began with the emergency button, which stays latched, not with the last load."""
    sizes: tuple[float | None, ...]
    """One a fault; None where it takes none."""
    fire: FireKind
    charge: float
    lively: float
    moisture: float
    first_reload_s: float
    """Of the wood of a fire that burns freely: charges put in, as in a night file."""
    pace: float
    """Wood is put in this much faster than it keeps the nominal heat."""
    outdoor_c: float
    deviations: tuple[float, ...]
    """One for each row of TOLERANCES: -1 to 1 is a place in its spread."""
    lasts_s: float
    """How long the night goes on after the onset."""


def phases_for(loop: Loop, faults: Sequence[Fault]) -> tuple[str, ...]:
    """Phases in which all of the faults can start on this loop."""
    return tuple(
        phase
        for phase in faults[0].phases
        if possible(phase, loop) and all(phase in fault.phases for fault in faults)
    )


def story(loop: Loop, case: Case, u: Sequence[float]) -> Story:
    """The story that DIMENSIONS numbers from 0 to 1 tell; phases take turns with the index.

    Raises KeyError for a fault that is not in the catalogue, ValueError where no phase of this
    loop lets the case start.
    """
    faults = [FAULTS[name] for name in case.faults]
    phases = phases_for(loop, faults)
    if not phases:
        raise ValueError(f"no phase of this loop lets {case.key} start")
    phase = phases[(_first_turn(case) + case.index) % len(phases)]
    told = dict(zip(DRAWN, u, strict=False))
    prelude = PRELUDES[phase]
    freely = prelude.burns or told["fire"] >= HELD_LARGEST
    fire: FireKind = "held nominal" if told["fire"] < HELD_NOMINAL else "held largest"
    latest_s = prelude.latest_s if not freely else max(prelude.latest_s, prelude.latest_burn_s)
    tick_s = loop.tick_s
    onset_s = between(prelude.earliest_s, latest_s, told["onset"])
    sizes = (told["size"], told["second size"])
    return Story(
        case=case,
        phase=phase,
        onset_s=round(onset_s / tick_s) * tick_s,
        second_after_s=round(SECOND_AFTER_S * told["second after"] / tick_s) * tick_s,
        latched=told["second after"] > 0.5,
        sizes=tuple(size_of(fault, at) for fault, at in zip(faults, sizes, strict=False)),
        fire="burn" if freely else fire,
        charge=between(0.2, 0.5, told["charge"]),
        lively=between(0.6, 1.5, told["lively"]),
        moisture=between(0.12, 0.3, told["moisture"]),
        first_reload_s=between(0.0, 600.0, told["first reload"]),
        pace=between(0.7, 1.15, told["pace"]),
        outdoor_c=between(loop.site.outdoor_c, loop.site.outdoor_c + WARMER_K, told["outdoor"]),
        deviations=tuple(2.0 * each - 1.0 for each in u[len(DRAWN) :]),
        lasts_s=max(fault.lasts_s for fault in faults) + prelude.longer_s,
    )


def _first_turn(case: Case) -> int:
    """A pair is tried once: each has a first phase of its own, or all would meet in the same."""
    return zlib.crc32("+".join(case.faults).encode()) if len(case.faults) > 1 else 0


def between(low: float, high: float, share: float) -> float:
    """A place between two numbers."""
    return low + (high - low) * share


def size_of(fault: Fault, share: float) -> float | None:
    """A size within the fault's range; None for a fault that has none."""
    if fault.lowest is None or fault.highest is None:
        return fault.default_size
    return between(fault.lowest, fault.highest, share)
