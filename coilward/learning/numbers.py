"""The numbers that a log may tell, with what is believed of each before it is read.

Before the log there is the loop file. How far it may be off is common practice without a source:
wide for what is guessed (conductances, masses), narrow for what a good maker tells. A number is
told only where the log narrows that belief well.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from coilward.learning.log import Log
from coilward.loop.model import Loop, Thermometer
from coilward.simulator import slots as at

TOLD_SHARE: Final = 0.35
"""A number is told where the log leaves less than this of the spread that it had before."""


class Number(NamedTuple):
    """One number of the fit."""

    key: str
    """As in the loop file; where the file has no such key, a name of our own."""
    words: str
    unit: str
    guess: float
    spread: float
    """Standard deviation of what is believed before the log."""
    least: float
    """Nothing under this is possible."""


def thermometer(loop: Loop, name: str) -> Thermometer | None:
    """The loop file's thermometer behind a channel of the log."""
    found: Thermometer | None = getattr(
        loop.sensors, "coil_outlet_a" if name == "coil_outlet" else name
    )
    return found


def sensor_key(name: str) -> str:
    """How the loop file calls the thermometer of a channel."""
    return "coil_outlet_a" if name == "coil_outlet" else name


def numbers(loop: Loop, log: Log, p: list[float]) -> list[Number]:
    """What is fitted downstream of the coil, for what this loop has and this log holds."""
    found = []
    if loop.radiator is not None:
        on, off = loop.radiator.fans_on_w_k, loop.radiator.fans_off_w_k
        found += [
            Number("radiator.fans_on", "radiator, fans on", "w_k", on, on, 0.02 * on),
            Number("radiator.fans_off", "radiator, fans off", "w_k", off, max(off, 20.0), 0.0),
            Number("radiator.fill", "radiator's heat capacity, over the file's", "", 1.0, 0.3, 0.1),
        ]
    hot_w_k = p[at.HOT_W_K] * at.LINE_CELLS
    water_l, loss_w_k = loop.tank.water_l, loop.tank.loss_w_k
    found += [
        Number("tank.water", "water in the tank", "l", water_l, 0.5 * water_l, 0.05 * water_l),
        Number("tank.loss", "loss of the tank", "w_k", loss_w_k, max(loss_w_k, 2.0), 0.0),
        Number("lines.hot.loss", "loss of the hot leg", "w_k", hot_w_k, max(hot_w_k, 0.5), 0.0),
        Number("lines.hot.fill", "delay of the hot leg, over the file's", "", 1.0, 0.3, 0.1),
    ]
    for name in ("coil_outlet", "radiator_inlet", "radiator_outlet", "tank", "room"):
        sensor = thermometer(loop, name)
        if sensor is None or not log.has(name):
            continue
        key = f"sensors.{sensor_key(name)}"
        found.append(Number(f"{key}.offset", f"offset of {name.replace('_', ' ')}", "k",
                            sensor.offset_k, 0.5 * sensor.error_k, -1e9))  # fmt: skip
        if name != "room":
            found.append(Number(f"{key}.lag", f"lag of {name.replace('_', ' ')}", "s",
                                sensor.lag_s, max(0.3 * sensor.lag_s, 1.0), 0.0))  # fmt: skip
    return found
