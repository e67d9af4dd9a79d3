"""Sets faults in the plant's parameters, clears them, and tells whether they acted."""

from __future__ import annotations

from typing import Any

import numpy as np

from coilward.simulator import slots as at
from coilward.simulator.faults.fault import Effect, Scene
from coilward.simulator.faults.registry import FAULTS
from coilward.simulator.sensors import WORKS


class Injector:
    """Sets and clears faults; where two meet in one parameter, the later one counts."""

    def __init__(self, y: Any, p: Any, fans: int) -> None:
        """Faults act on this state and these parameters, which are still sound."""
        self._y, self._p, self._fans = y, p, fans
        self._sound: list[float] = np.asarray(p).tolist()
        self._active: list[tuple[object, int, float]] = []
        self._acted: dict[object, tuple[str, Effect | None, float]] = {}
        self.fired: dict[str, bool] = {}
        """Whether every fault of a name took effect, once it has been cleared or `finish`ed."""
        self.asked_s: dict[str, float] = {}
        """How long the broken part was asked to work; without an entry it is always asked."""

    def begin(self, name: str, size: float | None) -> object:
        """Set a fault. Returns a key to clear it with."""
        fault = FAULTS[name]
        if size is None:
            size = fault.default_size
        scene = Scene(self._y, self._p, float("nan") if size is None else size, self._fans)
        key = object()
        set_now = [(effect.slot, float(effect.value(scene))) for effect in fault.effects]
        for slot, value in set_now:
            self._active.append((key, slot, value))
            self._p[slot] = value
        first = fault.effects[0] if fault.effects else None
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
        if effect is not None and effect.asked_s is not None:
            lasted_s = float(self._y[effect.asked_s]) - asked_s
            self.asked_s[name] = min(self.asked_s.get(name, lasted_s), lasted_s)

    def _took(self, effect: Effect | None, asked_s: float) -> bool:
        if effect is None:
            return True
        if effect.asked_s is not None:
            return bool(self._y[effect.asked_s] > asked_s)
        if effect.fitted is not None:
            return bool(self._sound[effect.fitted] > 0.0)
        channel = self._channel(effect.slot)
        if channel is not None and self._sound[at.MODE_ + channel] != WORKS:
            return False
        return bool(self._p[effect.slot] != self._sound[effect.slot])

    def _channel(self, slot: int) -> int | None:
        """The thermometer that a parameter belongs to."""
        for first in (at.MODE_, at.SOURCE_, at.NOISE_K_, at.OFFSET_K_, at.SCALE_, at.EXTRA_LAG_S_):
            if first <= slot < first + at.CHANNEL_COUNT:
                return slot - first
        return None
