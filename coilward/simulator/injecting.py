"""How each fault of the catalogue acts on the plant, and how to tell that it did."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from coilward.simulator import slots as at
from coilward.simulator.faults import FAULTS
from coilward.simulator.sensors import BAD_FRAME, FROZEN, OPEN, WORKS

BAD_FRAME_S = 1.0
"""Digital thermometers are read once a second: one bad frame lasts for one reading."""
UNDER_MARK = 0.05
FIRE_LARGER_MOST = 0.9
"""Share of the release that a coil can catch at the very most."""


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


def _constant(number: float) -> Callable[[Scene], float]:
    return lambda _: number


def _size(scene: Scene) -> float:
    return scene.size


def _channel(channel: int, mode: float) -> Effect:
    return Effect(at.MODE_ + channel, _constant(mode))


def _jam(scene: Scene) -> float:
    return scene.size if scene.size == scene.size else float(scene.y[at.STROKE])


def _caught(scene: Scene) -> float:
    """Factor on the coil's conductance that multiplies its share of the release by the size."""
    share = float(scene.p[at.NOMINAL_W] / scene.p[at.RELEASE_W])
    wanted = min(scene.size * share, FIRE_LARGER_MOST)
    return wanted / (1.0 - wanted) * (1.0 - share) / share


EFFECTS: Final[dict[str, tuple[Effect, ...]]] = {
    "pump-dies": (Effect(at.PUMP_SHARE, _constant(0.0), asked_s=at.PUMP_RUN_S),),
    "pump-stalls": (Effect(at.PUMP_STALLED, _constant(1.0), asked_s=at.PUMP_RUN_S),),
    "pump-weak": (Effect(at.PUMP_SHARE, _size, asked_s=at.PUMP_RUN_S),),
    "fans-fail": (Effect(at.FAN_SHARE, _constant(0.0), asked_s=at.FANS_RUN_S),),
    "fan-fails": (
        Effect(at.FAN_SHARE, lambda scene: 1.0 - 1.0 / scene.fans, asked_s=at.FANS_RUN_S),
    ),
    "valve-jams": (Effect(at.JAMMED, _jam, asked_s=at.VALVE_ASKED_S),),
    "outlet-a-open": (_channel(at.OUTLET_A, OPEN),),
    "outlet-a-frozen": (_channel(at.OUTLET_A, FROZEN),),
    "outlet-b-open": (_channel(at.OUTLET_B, OPEN),),
    "outlet-b-frozen": (_channel(at.OUTLET_B, FROZEN),),
    "outlet-b-bad-frame": (_channel(at.OUTLET_B, BAD_FRAME),),
    "tank-open": (_channel(at.TANK, OPEN),),
    "meter-dead": (Effect(at.METER_FACTOR, _constant(0.0), asked_s=at.FLOW_S),),
    "meter-high": (Effect(at.METER_FACTOR, _size, asked_s=at.FLOW_S),),
    "meter-low": (Effect(at.METER_FACTOR, _size, asked_s=at.FLOW_S),),
    "current-lost": (Effect(at.CURRENT_WIRE, _constant(0.0), fitted=at.SENSES_CURRENT),),
    "supply-lost": (
        Effect(at.SUPPLY_OPEN_V, _constant(0.0)), Effect(at.PUMP_BATTERY, _constant(0.0)),
    ),
    "supply-low": (Effect(at.SUPPLY_OPEN_V, _size),),
    "charger-lost": (Effect(at.CHARGER, _constant(0.0)),),
    "fire-larger": (
        Effect(at.AIR_FACTOR, _size, asked_s=at.HEAT_S),
        Effect(at.CAUGHT_FACTOR, _caught),
    ),
    "damper-stuck": (
        Effect(
            at.DAMPER_STUCK, lambda scene: float(scene.y[at.TOLD_DAMPER]),
            asked_s=at.DAMPER_ASKED_S,
        ),
    ),
    "dump-stuck": (
        Effect(at.DUMP_STUCK, lambda scene: float(scene.y[at.TOLD_DUMP]), asked_s=at.DUMP_ASKED_S),
    ),
    "level-low": (
        Effect(
            at.LEVEL, lambda scene: float(scene.p[at.LEVEL_LOW]) - UNDER_MARK,
            fitted=at.SENSES_LEVEL,
        ),
    ),
    "level-low-low": (
        Effect(
            at.LEVEL, lambda scene: float(scene.p[at.LEVEL_LOW_LOW]) - UNDER_MARK,
            fitted=at.SENSES_LEVEL,
        ),
    ),
    "board-reboots": (),
    "radiator-outlet-open": (_channel(at.RADIATOR_OUTLET, OPEN),),
    "metal-open": (_channel(at.METAL, OPEN),),
    "flow-switch-open": (Effect(at.SWITCH_WIRE, _constant(0.0), fitted=at.SENSES_SWITCH),),
    "line-frozen": (Effect(at.LINE_BLOCKED, _constant(1.0), asked_s=at.PUMP_RUN_S),),
}  # fmt: skip
"""By name of the fault. A board that restarts is no matter of the plant."""


class Injector:
    """Sets and clears faults; where two meet in one parameter, the later one counts."""

    def __init__(self, y: Any, p: Any, fans: int) -> None:
        """Faults act on this state and these parameters, which are still sound."""
        self._y, self._p, self._fans = y, p, fans
        self._sound = [float(value) for value in p]
        self._active: list[tuple[object, int, float]] = []
        self._acted: dict[object, tuple[str, Effect | None, float]] = {}
        self.fired: dict[str, bool] = {}
        """Whether every fault of a name took effect, once it has been cleared or `finish`ed."""

    def begin(self, name: str, size: float | None) -> object:
        """Set a fault. Returns a key to clear it with."""
        if size is None:
            size = FAULTS[name].default_size
        scene = Scene(self._y, self._p, float("nan") if size is None else size, self._fans)
        key = object()
        set_now = [(effect.slot, effect.value(scene)) for effect in EFFECTS[name]]
        for slot, value in set_now:
            self._active.append((key, slot, value))
            self._p[slot] = value
        first = EFFECTS[name][0] if EFFECTS[name] else None
        asked_s = 0.0
        if first is not None and first.asked_s is not None:
            asked_s = float(self._y[first.asked_s])
        self._acted[key] = (name, first, asked_s)
        return key

    def clear(self, key: object) -> None:
        """Undo a fault, unless another one still holds its parameters."""
        self._note(key)
        slots = {slot for owner, slot, _ in self._active if owner is key}
        self._active = [entry for entry in self._active if entry[0] is not key]
        for slot in slots:
            held = [value for _, taken, value in self._active if taken == slot]
            self._p[slot] = held[-1] if held else self._sound[slot]

    def finish(self) -> None:
        """Tell of the faults that are still there when the night ends."""
        for key in list(self._acted):
            self._note(key)

    def _note(self, key: object) -> None:
        name, effect, asked_s = self._acted.pop(key)
        self.fired[name] = self.fired.get(name, True) and self._took(effect, asked_s)

    def _took(self, effect: Effect | None, asked_s: float) -> bool:
        if effect is None:
            return True
        if effect.asked_s is not None:
            return bool(self._y[effect.asked_s] > asked_s)
        if effect.fitted is not None:
            return bool(self._sound[effect.fitted] > 0.0)
        if at.MODE_ <= effect.slot < at.SOURCE_:
            return self._sound[effect.slot] == WORKS
        return bool(self._p[effect.slot] != self._sound[effect.slot])
