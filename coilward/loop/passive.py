"""Hardware that works with the supply dead: what is absent, and what it would do."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import NamedTuple

from coilward.loop.derived import derive, passive_now
from coilward.loop.findings import Finding, Severity
from coilward.loop.model import Loop
from coilward.loop.units import show


class Purpose(NamedTuple):
    """What one device is for."""

    name: str
    words: str
    does: str
    why: str
    severity: Severity


PURPOSES = (
    Purpose(
        "open_vent", "open vent", "only lets the steam out",
        "Without it a coil that boils bursts a joint or a hose.", "stop",
    ),
    Purpose(
        "valve_stop", "stop or bypass of the valve", "prevents boiling from a shut valve",
        "Without it a slipped or jammed valve can stop the water.", "attend",
    ),
    Purpose(
        "gravity_damper", "damper that falls shut by itself", "slows the fire",
        "Without it the fire burns on at full heat when the supply fails.", "attend",
    ),
    Purpose(
        "no_volt_release", "no-volt release of the pump",
        "keeps the pump on while the board is dead, and off when the supply comes back",
        "Without it cold water can meet red copper.", "attend",
    ),
    Purpose(
        "pump_battery", "battery behind the pump", "prevents boiling when the supply fails",
        "Without it every failure of the supply is a loss of flow. It does nothing for a pump "
        "that is itself dead.", "attend",
    ),
    Purpose(
        "horn_battery", "horn with its own battery", "calls a person",
        "Without it a dead supply is silent.", "attend",
    ),
    Purpose(
        "relief_valve", "relief valve at the coil's outlet", "only lets the steam out",
        "It is the second way out where the vent is blocked.", "note",
    ),
    Purpose(
        "fusible_link", "fusible link on the damper", "slows the fire",
        "It lets the damper fall when magnet or board hold it open.", "note",
    ),
    Purpose(
        "fan_thermostat", "thermostat in parallel to the fans' output",
        "keeps the tank from heating up when the board is dead",
        "It runs the fans by the heat of the pipe alone.", "note",
    ),
)  # fmt: skip

BATTERY_H = 1.0
"""For which half of the battery must run pump and board: a fire burns down in about that time."""
WHOLE_FIRE = ("quench_coil", "gravity_dump")
"""Devices that cool a still coil, if they carry the whole fire."""


def _state(loop: Loop, name: str, today: date) -> str:
    """Why a device does not count, in words."""
    device = getattr(loop.passive, name)
    if device is None:
        return "is not fitted"
    if device.proven > today:
        return f"is said to be proven on {device.proven}, which has not come yet"
    due = device.proven + timedelta(days=device.proof_interval_days)
    return f"was last proven on {device.proven}; its proof ran out on {due}"


def _needless(loop: Loop, name: str) -> bool:
    """A bypass replaces the stop; a loop without a radiator has no fans."""
    if name == "valve_stop":
        return loop.valve.bypass_lpm > 0
    return name == "fan_thermostat" and loop.radiator is None


def _devices(loop: Loop, today: date, counted: frozenset[str]) -> Iterator[Finding]:
    for purpose in PURPOSES:
        if purpose.name in counted or _needless(loop, purpose.name):
            continue
        yield Finding(
            purpose.name.replace("_", "-"),
            f"The {purpose.words} {_state(loop, purpose.name, today)}, and does not count. "
            f"It {purpose.does}. {purpose.why} Fit it, and prove it by test.",
            purpose.severity,
        )


def _vent_too_small(loop: Loop, counted: frozenset[str]) -> Iterator[Finding]:
    vent, largest_kw = loop.passive.open_vent, loop.fire.largest_kw
    if "open_vent" not in counted or vent is None or vent.carries_kw is None:
        return
    if vent.carries_kw < largest_kw:
        yield Finding(
            "open-vent-small",
            f"The open vent carries the steam of {show(vent.carries_kw, 'kw', loop.units)}, and "
            f"the largest fire makes {show(largest_kw, 'kw', loop.units)}. It only lets the steam "
            "out, and not all of it; pressure builds up. Widen it.",
            "stop",
        )


def _battery_too_small(loop: Loop, counted: frozenset[str]) -> Iterator[Finding]:
    lasts_h = loop.power.battery_ah / 2 / (loop.pump.current_a + loop.power.board_a)
    if "pump_battery" in counted and lasts_h < BATTERY_H:
        yield Finding(
            "pump-battery-small",
            f"Half of the battery runs pump and board for {show(lasts_h, 'h', loop.units)}; the "
            f"fire needs at least {show(BATTERY_H, 'h', loop.units)} to burn down. It prevents "
            "boiling only for so long. Fit a larger one.",
            "attend",
        )


def prevents_boiling_without_pump(loop: Loop, counted: frozenset[str]) -> bool:
    """Whether a device that counts carries the whole largest fire with the water standing."""
    return any(
        name in counted and (getattr(loop.passive, name).carries_kw or 0) >= loop.fire.largest_kw
        for name in WHOLE_FIRE
    )


def _whole_fire(loop: Loop, counted: frozenset[str]) -> Iterator[Finding]:
    if prevents_boiling_without_pump(loop, counted):
        return
    fitted = [name.replace("_", " ") for name in WHOLE_FIRE if name in counted]
    have = f"The {' and the '.join(fitted)} does not carry" if fitted else "Nothing here carries"
    yield Finding(
        "nothing-prevents-boiling",
        f"{have} the largest fire, {show(loop.fire.largest_kw, 'kw', loop.units)}, when the pump "
        "is dead. The coil will boil; the vent only lets the steam out, and shutting the damper "
        "gains a few seconds. A quench coil or a gravity dump of that size prevents boiling.",
        "attend",
    )


def _second_proof(loop: Loop, today: date) -> Iterator[Finding]:
    if loop.sensors.flow_switch or derive(loop, today).rule13_in_window:
        return
    yield Finding(
        "no-second-proof-of-flow",
        "The pulse meter is the only proof of flow that is quick enough. When the meter dies with "
        "water flowing, the logic must take the coil for dry and stop the pump: the run ends in "
        "the dry lock-out. Fit a flow switch.",
        "attend",
    )


def missing(loop: Loop, today: date) -> list[Finding]:
    """Passive hardware that is absent, past its proof or too small, most needed first."""
    counted = passive_now(loop, today)
    return [
        *_devices(loop, today, counted),
        *_vent_too_small(loop, counted),
        *_battery_too_small(loop, counted),
        *_whole_fire(loop, counted),
        *_second_proof(loop, today),
    ]
