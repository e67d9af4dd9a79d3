"""Colours, dashes and hatches: told apart by colour-blind eyes and on a grey print."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from coilward.simulator.run import OWN_LOGIC

INK: Final = "#16202c"
FAINT: Final = "#5c6773"
RULE: Final = "#c9d0d6"
PAPER: Final = "#ffffff"

NAVY: Final = "#12355b"
TEAL: Final = "#1d8a86"
EMBER: Final = "#c2410c"
AMBER: Final = "#d9902f"
SKY: Final = "#3f83c4"
SLATE: Final = "#7b8794"


@dataclass(frozen=True)
class Stroke:
    """How one line is drawn, in the chart and in its legend."""

    colour: str
    width: float
    dash: tuple[int, ...] = ()


@dataclass(frozen=True)
class Fill:
    """How one phase is drawn in the ribbon."""

    colour: str
    hatch: str = " "
    """One of bokeh's hatch patterns; a blank is none."""
    text: str = INK


PHASE_FILLS: Final[dict[str, Fill]] = {
    "boot": Fill("#ffffff", "."),
    "standby": Fill("#edf0f2"),
    "cold start": Fill("#d3e3f2", "-"),
    "warm-up": Fill("#f8e7c1"),
    "run": Fill("#c5e3d6"),
    "overheat dump": Fill("#f4bd97", "/"),
    "no-flow fault": Fill("#ee8f73", "x"),
    "dry lock-out": Fill("#26303b", text="#ffffff"),
    "shutdown": Fill("#d5cfe3", "|"),
    "freeze guard": Fill("#b4d9f2", "-"),
    "degraded run": Fill("#ecdc86", "."),
    "maintenance": Fill("#e6d9c6", "/"),
    OWN_LOGIC: Fill("#ffffff", "-"),
}
