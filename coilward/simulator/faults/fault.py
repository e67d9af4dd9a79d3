"""One row of the catalogue: what breaks, how it is injected, and what should come of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

from coilward.loop.derived import Derived
from coilward.loop.model import Loop

Group = Literal["sensors", "actuators", "hydraulics", "fire", "power", "people"]
Base = Literal["logic", "hardware helps", "hardware only", "nothing"]
Doing = Literal["reboot", "hang", "lose-supply", "press", "light", "reload"]

BURNING: Final = ("warm-up", "run", "overheat dump", "shutdown", "degraded run")
"""Phases in which the pump runs with a fire in."""
METERED: Final = ("warm-up", "run", "overheat dump", "shutdown")
"""Those of them to which a dead meter doesn't lead: what only the meter shows is due there."""
COLD: Final = ("standby", "cold start")
"""Phases before a fire."""
ALWAYS: Final = (*COLD, *BURNING)
PUMPING: Final = ("cold start", *BURNING)
"""Phases in which the pump is told to run."""
THROTTLING: Final = ("cold start", "warm-up", "run", "shutdown", "degraded run")
"""Phases in which the tank is under its trip, so that a stop of the valve passes enough."""
COOLING: Final = ("run", "overheat dump", "shutdown", "degraded run")
"""Phases in which the fans are told to run."""
SHEDDING: Final = ("overheat dump", "shutdown", "degraded run")
"""Phases in which the damper is told to be shut."""
WHOLE_FIRE: Final = ("quench_coil", "gravity_dump")
"""Passive devices that cool a coil in which the water stands."""
NO_WATER: Final = "Open the valve, shut the damper, sound the horn, try the pump again in time."


@dataclass(frozen=True)
class Scene:
    """The plant in the moment of a fault."""

    y: Any
    p: Any
    size: float
    """NaN where the fault takes none and none is given."""
    fans: int


@dataclass(frozen=True)
class Effect:
    """One parameter that a fault sets, and the sign that it acted."""

    slot: int
    value: Callable[[Scene], float]
    asked_s: int | None = None
    """State slot that counts how long the broken part was asked to work."""
    fitted: int | None = None
    """Parameter that is above zero where the broken part exists."""


@dataclass(frozen=True)
class Act:
    """What is no parameter of the plant: the board, the supply, a person.

    ``reboot`` takes the board away, its outputs as without power; ``hang`` freezes them until
    the watchdog restarts it; ``lose-supply`` drops everything that the supply feeds; ``press``
    holds a button or a request; ``light`` lights a fire without telling; ``reload`` puts wood in.
    """

    do: Doing
    request: str = ""
    """Field of `Requests` that is pressed."""
    after_s: float = 0.0
    """From the onset of the fault."""
    lasts_s: float | None = None
    """None lasts as long as the fault; a button is held for at least a tick."""
    every_s: float = 0.0
    """From one time to the next; 0 happens once."""
    times: int = 0
    """How often, while the fault lasts; 0 without end. Counts only with `every_s`."""
    charges: float = 0.0
    moisture: float = 0.2
    lively: float = 1.0
    """Wood that is lit or put in, as in a night file."""
    sized: Literal["", "lasts_s", "every_s", "charges"] = ""
    """Which of these the fault's size sets."""

    def of(self, size: float | None) -> Act:
        """The act with the size of its fault."""
        if size is None or not self.sized:
            return self
        if self.sized == "lasts_s":
            return replace(self, lasts_s=size)
        if self.sized == "every_s":
            return replace(self, every_s=size)
        return replace(self, charges=size)


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One fault of the plant, an instrument, the supply, the board, or of a person."""

    number: str
    """Number in the catalogue, F01 to F104; several rows may share one."""
    name: str
    group: Group
    words: str
    """What a person would say had happened."""
    response: str
    """What should happen, in one sentence."""
    base: Base
    """What can hold it: the logic alone, hardware with the logic's help, hardware alone."""
    prevents: tuple[str, ...] = ()
    """Any of these prevents boiling: a device of the loop's passive section, "valve_stop" (a
    stop or a bypass), "pump_battery" (with its no-volt release), "flow_switch" (a second proof
    of flow)."""
    alone_with: str = ""
    """Dotted path of a part with which the logic alone is enough."""
    phases: tuple[str, ...] = BURNING
    """Phases in which it can start."""
    caught_by: tuple[str, ...] = ()
    """Interlock rows of which any should be the first to tell; empty where none has to."""
    deadline_s: float | str | None = None
    """From the onset; the name of a derived number where it follows from the loop. None where
    nothing shows at once: what has to hold then is asked of the true plant."""
    due_in: tuple[str, ...] = BURNING
    """Phases of the onset in which the deadline counts."""
    counts: tuple[str, ...] = ()
    """Requirements that the board is held to where nothing has to tell and the coil may boil."""
    told_by: str = ""
    """Dotted path of the instrument without which no row can tell in time."""
    lasts_s: float = 1800.0
    """How long a trial goes on after the onset."""
    clears_s: float | Literal["size"] | None = None
    """The fault is over after this time where a night doesn't say otherwise."""
    effects: tuple[Effect, ...] = ()
    acts: tuple[Act, ...] = ()
    size_meaning: str = ""
    """What the size sets; empty for a fault that has none."""
    default_size: float | None = None
    """Used where a night gives no size; None where the fault needs none."""
    lowest: float | None = None
    highest: float | None = None
    needs: str = ""
    """What a loop must have for the fault to be possible, as a dotted path into its file."""
    unshown: str = ""
    """Why no model can show it; such a row is listed and never run."""
    wire: bool = False
    """Whether it can be injected on real wires."""

    def due_s(self, loop: Loop, derived: Derived, phase: str) -> float | None:
        """Time from an onset in this phase within which a row has to tell; None: no row has to."""
        if self.deadline_s is None or phase not in self.due_in:
            return None
        if self.told_by and not has(loop, self.told_by):
            return None
        if isinstance(self.deadline_s, str):
            return float(getattr(derived, self.deadline_s))
        return self.deadline_s


def has(loop: Loop, path: str) -> bool:
    """Whether a loop has a part, given as a dotted path into its file."""
    part: object = loop
    for name in path.split("."):
        part = getattr(part, name)
        if part is None:
            return False
    return bool(part)


def to(slot: int, number: float, asked_s: int | None = None, fitted: int | None = None) -> Effect:
    """A parameter is set to a number."""
    return Effect(slot, lambda _: number, asked_s, fitted)


def sized(slot: int, asked_s: int | None = None, fitted: int | None = None) -> Effect:
    """A parameter is set to the fault's size."""
    return Effect(slot, lambda scene: scene.size, asked_s, fitted)
