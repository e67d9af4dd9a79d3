"""The boards for which a hardware layer is filled in."""

from __future__ import annotations

from pathlib import Path
from typing import Final, NamedTuple

from coilward.hil.emulated.building import M0_PLUS, M4, Processor

SOURCES: Final = Path(__file__).parent / "boards"
SHARED: Final = ("inputs.c", "inputs.h", "ring.h", "serial.c", "serial.h", "yours.h")
"""What either layer has in common; `yours.h` holds the numbers that a builder measures."""


class Pin(NamedTuple):
    """One wire between the board and the loop."""

    what: str
    pin: str
    dead: str = ""
    """What hangs on it does when the board is dead; outputs alone."""


class Board(NamedTuple):
    """One kind of board."""

    name: str
    words: str
    processor: Processor
    files: tuple[str, ...]
    link: str
    """What the linker is told; empty where the maker's own kit links."""
    pins: tuple[Pin, ...]
    outside: tuple[str, ...]
    """Parts beside the chip that the layer reckons with."""


_THERMOMETERS: Final = (
    "coil outlet", "coil outlet, second", "tank, at the pump's suction", "radiator inlet",
    "radiator outlet", "metal of the coil", "flue", "room", "coldest outdoor pipe",
)  # fmt: skip
AMPLIFIED: Final = ("coil_metal", "flue")
"""Thermometers for which either layer reads a thermocouple's amplifier."""
_BUTTONS: Final = (
    "prepare", "lit", "finish", "silence", "reset", "emergency", "declare out", "remote, unsafe",
    "key", "hand: pump", "hand: valve", "hand: fans", "hand: dump", "hand: damper",
)  # fmt: skip
_DEAD: Final = {
    "pump's contactor: close, break": "stays as it is by its own seal-in contact; drops when the "
    "supply is lost, and does not close again by itself",
    "servo of the valve": "keeps its angle by its own friction",
    "fans": "stop; a thermostat beside the output runs them by the pipe's heat",
    "magnet of the damper": "lets go: the damper falls shut by its weight",
    "coil of the dump": "lets go: the dump opens",
    "relay of the horn": "lets go: the horn sounds from its own battery",
    "lamp that permits a fire": "dark",
}


def _outputs(*pins: str) -> tuple[Pin, ...]:
    told = zip(_DEAD.items(), pins, strict=True)
    return tuple(Pin(what, pin, dead) for (what, dead), pin in told)


def _in_row(names: tuple[str, ...], pins: list[str]) -> tuple[Pin, ...]:
    return tuple(Pin(name, pin) for name, pin in zip(names, pins, strict=True))


STM32F407: Final = Board(
    "stm32f407", "a board with an STM32F407VG (Cortex-M4)", M4,
    ("stm32f407.c", "stm32f407.h", "stm32f407_start.c", "stm32f407.ld", *SHARED),
    "-Wl,-T,board/stm32f407.ld -Wl,-e,reset_handler -Wl,--gc-sections",
    (
        *_outputs("PB12, PB11", "PC6", "PB6", "PB13", "PB14", "PB15", "PB10"),
        *_in_row(tuple(f"thermistor: {name}" for name in _THERMOMETERS),
                 [*(f"PA{number}" for number in range(8)), "PB0"]),
        *_in_row(("pump current", "fan current", "supply", "carbon monoxide"),
                 ["PC0", "PC1", "PC2", "PC3"]),
        Pin("thermocouple amplifiers: clock, data", "PB3, PB4"),
        Pin("select of the amplifier of coil metal, of the flue", "PD4, PD5"),
        Pin("pulses of the flow meter", "PA15"),
        *_in_row(("flow switch", "level low (opens when low)", "level very low (opens when low)",
                  "vent wet", "contact of the pump's contactor", "damper shut",
                  "heat or smoke outside (opens)"),
                 ["PC8", "PC9", "PC10", "PC11", "PC12", "PD2", "PD3"]),
        *_in_row(tuple(f"button: {name}" for name in _BUTTONS),
                 [f"PE{number}" for number in range(14)]),
        Pin("jumper of the bench, to ground", "PD0"),
        Pin("wire, out and in, 115200 baud", "PA9, PA10"),
    ),
    (
        "a 32.768 kHz crystal at its own pins: the second clock, and how long the board was off",
        "a coin cell at VBAT: the memory that outlives a loss of power",
        "a resistor of 10 kOhm from 3.3 V to each thermistor",
        "two MAX31855 amplifiers, where coil metal and flue have thermocouples",
    ),
)  # fmt: skip
RP2040: Final = Board(
    "rp2040", "a board with an RP2040 (Cortex-M0+)", M0_PLUS,
    ("rp2040.c", "rp2040.h", "CMakeLists.txt", *SHARED),
    "",
    (
        *_outputs("GPIO5, GPIO15", "GPIO2", "GPIO4", "GPIO6", "GPIO7", "GPIO8", "GPIO9"),
        *_in_row(tuple(f"thermistor: {name}" for name in _THERMOMETERS),
                 [*(f"converter A, input {number}" for number in range(8)),
                  "converter B, input 0"]),
        *_in_row(("pump current", "fan current", "supply", "carbon monoxide",
                  "half of the reference, through two equal resistors"),
                 [f"converter B, input {number}" for number in range(1, 6)]),
        Pin("select of the amplifier of coil metal, of the flue", "GPIO22, GPIO26"),
        Pin("pulses of the flow meter", "GPIO3"),
        *_in_row(("flow switch", "level low (opens when low)", "level very low (opens when low)",
                  "vent wet", "contact of the pump's contactor", "damper shut",
                  "heat or smoke outside (opens)"),
                 [f"switch line {number}" for number in range(7)]),
        *_in_row(tuple(f"button: {name}" for name in _BUTTONS),
                 [f"switch line {number}" for number in range(7, 21)]),
        Pin("jumper of the bench, to ground", "GPIO14"),
        Pin("wire, out and in, 115200 baud", "GPIO0, GPIO1"),
        Pin("serial bus: in, clock, out", "GPIO16, GPIO18, GPIO19"),
        Pin("select of converter A, of B, of the memory", "GPIO17, GPIO20, GPIO21"),
        Pin("switch lines: load, clock, data", "GPIO10, GPIO11, GPIO12"),
        Pin("output of the second clock", "GPIO13"),
    ),
    (
        "two MCP3208 converters, a resistor of 10 kOhm from the reference to each thermistor",
        "two MAX31855 amplifiers, where coil metal and flue have thermocouples",
        "an SPI FRAM with 16-bit addresses: the memory that outlives a loss of power",
        "three 74HC165 in a chain: switches and buttons, each pulled up, closed to ground",
        "a clock with a 32.768 kHz output: the second clock",
    ),
)  # fmt: skip
BOARDS: Final = {each.name: each for each in (STM32F407, RP2040)}
