"""What hardware would have helped in the night: what prevents boiling, what only lets steam out.

Nothing that only relieves counts as help against boiling, and neither does a device that is
past its proof or that was not shown to carry the whole fire.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from coilward.desk.story import Happened, happened
from coilward.loop.passive import PURPOSES, WHOLE_FIRE, prevents_boiling_without_pump

if TYPE_CHECKING:
    from coilward.loop.model import Device
    from coilward.simulator.run import Run

PREVENTS: Final = "prevents boiling"


@dataclass(frozen=True)
class Help:
    """One device, and the troubles in which it is spoken of."""

    device: str
    """Key of the loop file's passive section."""
    words: str
    effect: str
    against: frozenset[Happened]


_WATER: Final[frozenset[Happened]] = frozenset({"water stood", "supply lost"})
_HOT: Final[frozenset[Happened]] = _WATER | {"too hot"}
_ANY: Final[frozenset[Happened]] = _HOT | {"valve stuck"}
_SUPPLY: Final[frozenset[Happened]] = frozenset({"supply lost"})
_VALVE: Final[frozenset[Happened]] = frozenset({"valve stuck"})
_PURPOSE: Final = {purpose.name: purpose for purpose in PURPOSES}


def _help(device: str, against: frozenset[Happened]) -> Help:
    if device in WHOLE_FIRE:
        words = device.replace("_", " ") + " for the whole fire"
        return Help(device, words, PREVENTS, against)
    purpose = _PURPOSE[device]
    return Help(device, purpose.words, purpose.does, against)


HELPS: Final[tuple[Help, ...]] = (
    _help("quench_coil", _HOT),
    _help("gravity_dump", _HOT),
    _help("pump_battery", _SUPPLY),
    _help("no_volt_release", _SUPPLY),
    _help("valve_stop", _VALVE),
    _help("open_vent", _ANY),
    _help("relief_valve", _ANY),
    _help("gravity_damper", _ANY),
    _help("fusible_link", _ANY),
    _help("horn_battery", _ANY),
)
"""A dead pump is not brought back by a battery: against still water only what carries heat by
itself prevents boiling."""
TOGETHER: Final = frozenset({"pump_battery", "no_volt_release"})
"""Neither helps without the other."""


@dataclass(frozen=True)
class Fitted:
    """One device as it stands in this loop."""

    words: str
    effect: str
    counts: bool
    state: str
    """In words: proven when, or why it does not count."""


@dataclass(frozen=True)
class Hardware:
    """The block on passive hardware: what it is about, the list, and what follows."""

    about: str
    fitted: tuple[Fitted, ...]
    prevents: bool
    """Whether something fitted prevents boiling in each trouble of the night."""
    conclusion: str


_ABOUT: Final[dict[Happened, str]] = {
    "water stood": "the water stood with a fire in",
    "supply lost": "the supply failed",
    "too hot": "the loop got more heat than it could shed",
    "valve stuck": "the valve did not answer",
}


def hardware(run: Run) -> Hardware:
    """What is needed for what happened in the run; for a night without trouble, for still water."""
    troubles = happened(run)
    asked: frozenset[Happened] = troubles or frozenset({"water stood"})
    about = " and ".join(words for name, words in _ABOUT.items() if name in asked)
    about = f"For what happened: {about}." if troubles else f"If it ever happened that {about}:"
    fitted = tuple(_fitted(help_, run) for help_ in HELPS if help_.against & asked)
    # Each trouble needs its own: a battery that helps in a power cut does not help a dead pump.
    prevents = all(_prevents(run, trouble) for trouble in asked)
    conclusion = _conclusion(asked, prevents, run.first_boil_s is not None)
    return Hardware(about, fitted, prevents, conclusion)


def _prevents(run: Run, trouble: Happened) -> bool:
    """Whether a device that counts prevents boiling in that trouble."""
    counted = run.derived.passive
    if trouble == "valve stuck":
        return "valve_stop" in counted or run.loop.valve.bypass_lpm > 0
    if trouble == "supply lost" and counted >= TOGETHER:
        return True
    return prevents_boiling_without_pump(run.loop, counted)


def _conclusion(asked: frozenset[Happened], prevents: bool, boiled: bool) -> str:
    if prevents and boiled:
        return (
            "What is fitted to prevent boiling did not prevent it here. What lets the steam out "
            "is never counted as a pass."
        )
    if prevents:
        return "What is fitted prevents boiling in this case, as long as its proof holds."
    if asked & _WATER:
        return (
            "Nothing fitted prevents boiling without the pump. A vent or a relief valve only lets "
            "the steam out, and a shut damper gains seconds; neither is counted as a pass."
        )
    return (
        "Nothing fitted prevents boiling in this case without the logic. A vent or a relief "
        "valve only lets the steam out; that is never counted as a pass."
    )


def _fitted(help_: Help, run: Run) -> Fitted:
    device: Device | None = getattr(run.loop.passive, help_.device)
    if device is None:
        return Fitted(help_.words, help_.effect, False, "not fitted")
    if help_.device not in run.derived.passive:
        return Fitted(help_.words, help_.effect, False, f"proof of {device.proven} does not hold")
    if help_.device in WHOLE_FIRE and (device.carries_kw or 0) < run.loop.fire.largest_kw:
        return Fitted(help_.words, help_.effect, False, "carries less than the largest fire")
    return Fitted(help_.words, help_.effect, True, f"proven {device.proven}")
