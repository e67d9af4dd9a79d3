"""What a person reads in the folder of a board's program: README.md, and how it is told."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING

from coilward import __version__
from coilward.desk.cautions import CAUTIONS
from coilward.hil.converting import THERMOMETERS
from coilward.hil.flashing.boards import AMPLIFIED
from coilward.loop.document import loop_id

if TYPE_CHECKING:
    from coilward.desk.tripping import Setting
    from coilward.hil.flashing.boards import Board

BENCH_ONLY = (
    "**For the bench alone.** This loop must not be lit: see `coilward check`. Without the bench's "
    "jumper the program moves nothing and sounds the horn."
)


def readme(here: Setting, board: Board, day: date, *, bench_only: bool) -> str:
    """The README.md of a folder."""
    outputs = [pin for pin in board.pins if pin.dead]
    inputs = [pin for pin in board.pins if not pin.dead]
    zig = f"-mcpu={board.processor.cpu}"
    parts = [
        f"# {here.loop.name}: program for {board.words}", "",
        f"Loop {loop_id(here.loop)}, constants {here.constants.checksum:08x} of "
        f"{day.isoformat()}, coilward {__version__}. Void when the loop or its logic changes: "
        "make it anew.", "",
        *([BENCH_ONLY, ""] if bench_only else []),
        *(f"- {caution}" for caution in CAUTIONS), "",
        "## What is in here", "",
        "| folder | what |", "|---|---|",
        "| `core/` | the decisions, one file for each of the parts they were proved as |",
        "| `arithmetic/` | the processor's doubles, bit for bit those of a computer |",
        "| `wire/` | the lines to a computer, the tick, its own checks, the dead-man, and "
        "`board.h`: what is needed of a board, one function for each pin or device |",
        "| `loop/` | this loop's constants, and how its readings are made |",
        f"| `board/` | `board.h` filled in for {board.words} |",
        "| `selftest/` | ticks of this loop, and what has to follow |",
        "| `card.html` | print it, and hang it at the burner |", "",
        "## In this order", "",
        "1. `make check`: the self-test on this computer.",
        f"2. Build: {_build(board)}",
        "3. Put what you measured into `board/yours.h`. Read the rest of `board/` line by line "
        "against your own wiring, and change it where yours is another. It compiles; it has never "
        "run on your board.",
        "4. With the bench's jumper in and no relay, servo or pump connected: "
        "`coilward bench LOOP --port PORT`, whole. Repeat it after every change.",
        "5. Connect outputs one by one, and see each in its fail state: pull the board's plug.",
        "6. Prove every interlock by hand, cold: `coilward interlocks LOOP --form FILE`.",
        "7. Take the jumper out. Only then does the board decide by its own pins.", "",
        f"The same sources as machine code, through whole faulted nights: "
        f"`coilward flash LOOP --verify`. With the compiler of the package ziglang: "
        f"`make CC='python -m ziglang cc -target thumb-freestanding-eabi' CPU={zig}`.", "",
        "## Outputs, and what they do when the board is dead", "",
        *_table(
            ("output", "pin", "board dead"), ((pin.what, pin.pin, pin.dead) for pin in outputs)
        ),
        "", "## Inputs", "", *_table(("input", "pin"), ((pin.what, pin.pin) for pin in inputs)), "",
        f"In this loop these are not fitted; leave the pin open: {_not_fitted(here)}.",
        *_undriven(here), "",
        "## Beside the chip", "", *(f"- {part}" for part in board.outside), "",
        "The emergency button's own contacts break the damper's magnet and the dump's coil, by "
        "wire, before any program hears of it. The horn has its own battery. None of this makes a "
        "fire safe; it is what a program leans on.", "",
    ]  # fmt: skip
    return "\n".join(parts)


def _build(board: Board) -> str:
    if board.link:
        return "`make`, with `arm-none-eabi-gcc`. It gives `board.elf`."
    return "with the chip maker's development kit, as `CMakeLists.txt` says."


def _table(heads: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> list[str]:
    lines = [f"| {' | '.join(heads)} |", f"|{'---|' * len(heads)}"]
    return [*lines, *(f"| {' | '.join(row)} |" for row in rows)]


def _not_fitted(here: Setting) -> str:
    sensors, fitted = here.loop.sensors, here.constants.fitted
    missing = [name for name in THERMOMETERS if not getattr(sensors, name)]
    missing += [name for name in ("level", "current", "co", "smoke", "vent", "damper_switch")
                if not getattr(fitted, name)]  # fmt: skip
    return ", ".join(name.replace("_", " ") for name in missing) or "none"


def _undriven(here: Setting) -> list[str]:
    """Thermometers that the filled-in layer can't read."""
    sensors = here.loop.sensors
    found = []
    for name in THERMOMETERS:
        fitted = getattr(sensors, name)
        amplified = fitted and fitted.kind == "thermocouple" and name in AMPLIFIED
        if fitted and fitted.ntc is None and not amplified:
            kind = "a thermistor without a curve" if fitted.kind == "ntc" else fitted.kind
            found.append(f"{name.replace('_', ' ')} ({kind})")
    if not found:
        return []
    return [
        "",
        "**Not read yet.** The filled-in layer reads thermistors whose curve is in the loop file "
        "(`coilward calibrate thermometer`), and thermocouples of coil metal and flue. These of "
        "this loop need their curve, or a driver of yours in `board_thermometer_c()`; until then "
        f"they are lost: {', '.join(found)}. A loop that has lost its outlet is never permitted to "
        "be lit.",
    ]
