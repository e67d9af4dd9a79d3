"""The C core as a library of this computer: the very files that a board is flashed with.

It is compiled by gcc, or by a compiler that comes as a package (`pip install coilward[firmware]`),
with every warning an error, and called in blocks of many ticks.
"""

from __future__ import annotations

import ctypes
import hashlib
import importlib.util
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any, Final, Literal

import numpy as np

from coilward.controller.constants import Constants
from coilward.controller.firmware import CORE, HOST
from coilward.controller.firmware.loop_constants import files_of
from coilward.hil.tick import FLOATS, WHOLES
from coilward.loop.errors import Fault, InputRefused
from coilward.simulator.engine import user_cache

Compiler = Literal["gcc", "zig"]
SOURCES: Final = tuple(sorted((*CORE.glob("*.c"), *HOST.glob("*.c"))))
HEADERS: Final = tuple(sorted((*CORE.glob("*.h"), *HOST.glob("*.h"))))
RULES: Final = (
    "-std=c99", "-O2", "-ffp-contract=off", "-Wall", "-Wextra", "-Wconversion", "-Wshadow",
    "-Wdouble-promotion", "-Werror",
)  # fmt: skip
"""How every file of the core is compiled, on whatever machine."""
_STATE_ROOM: Final = 8192
"""Bytes, more than a state has."""
OUT_FLOATS: Final = len(FLOATS) + 2
OUT_WHOLES: Final = len(WHOLES) + 5


def compilers() -> list[Compiler]:
    """Those that are there."""
    found: list[Compiler] = []
    if importlib.util.find_spec("ziglang") is not None:
        found.append("zig")
    if shutil.which("gcc") is not None:
        found.append("gcc")
    return found


def command_of(compiler: Compiler) -> list[str]:
    """How to call a compiler."""
    return [sys.executable, "-m", "ziglang", "cc"] if compiler == "zig" else ["gcc"]


def chosen(compiler: Compiler | None) -> Compiler:
    """The one asked for, or the first there is. Raises InputRefused where it isn't there."""
    there = compilers()
    if not there or (compiler is not None and compiler not in there):
        raise InputRefused([Fault(
            compiler or "C compiler", None, "", "", "no such compiler is there",
            "gcc, or the one of: pip install coilward[firmware]",
        )])  # fmt: skip
    return there[0] if compiler is None else compiler


def build(
    sources: Sequence[Path], made: dict[str, str], library: Path, compiler: Compiler,
    rules: Sequence[str] = RULES,
) -> None:  # fmt: skip
    """A shared library of sources and of text made here. Raises RuntimeError with what failed."""
    with tempfile.TemporaryDirectory() as folder:
        for name, text in made.items():
            (Path(folder) / name).write_text(text, "utf-8")
        own = [str(Path(folder) / name) for name in made if name.endswith(".c")]
        done = subprocess.run(  # noqa: S603 - a compiler, with files of this package
            [*command_of(compiler), *rules, "-shared", "-fPIC", f"-I{CORE}", f"-I{HOST}",
             f"-I{folder}", *map(str, sources), *own, "-o", str(library)],
            capture_output=True, text=True, check=False,
        )  # fmt: skip
    if done.returncode != 0:
        raise RuntimeError(f"{compiler} refuses the core:\n{done.stderr[-4000:]}")


def tables(came: Any, asked: Any, was_floats: Any, was_wholes: Any, *, each: bool) -> list[Any]:
    """The four tables that a block of ticks is decided from, as C wants them.

    Raises ValueError for tables of other sizes.
    """
    ticks = came.shape[1]
    shapes = [np.shape(each) for each in (asked, was_floats, was_wholes)]
    columns = ticks if each else 1
    if shapes != [(ticks,), (len(FLOATS), columns), (len(WHOLES), columns)]:
        raise ValueError("a column a tick is wanted everywhere")
    return [
        np.ascontiguousarray(came, np.float64), np.ascontiguousarray(asked, np.uint64),
        np.ascontiguousarray(was_floats, np.float64),
        np.ascontiguousarray(was_wholes, np.int64),
    ]  # fmt: skip


def _room() -> Any:
    """Where a state fits; full of ones, so that a field that nobody writes shows."""
    return ctypes.create_string_buffer(b"\1" * _STATE_ROOM)


class HostCore:
    """The core with one loop's constants."""

    def __init__(self, constants: Constants, compiler: Compiler | None = None) -> None:
        """Compiled once for each state of the sources and constants; the library is kept.

        Raises InputRefused where no compiler is there, RuntimeError where it refuses the core.
        """
        with_one = chosen(compiler)
        made = files_of("host", date.min, constants)
        digest = hashlib.sha256(repr((with_one, RULES, made)).encode())
        for path in (*SOURCES, *HEADERS):
            digest.update(path.read_bytes())
        folder = user_cache() / "core"
        folder.mkdir(parents=True, exist_ok=True)
        library = folder / f"{digest.hexdigest()[:24]}.so"
        if not library.exists():
            with tempfile.TemporaryDirectory(dir=folder) as beside:
                fresh = Path(beside) / library.name
                build(SOURCES, made, fresh, with_one)
                fresh.replace(library)
        self._load(library, "LOOP_CONSTANTS")

    @classmethod
    def of(cls, library: Path, constants: str = "LOOP_CONSTANTS") -> HostCore:
        """A library that is there already, and those of its constants that have this name."""
        core = cls.__new__(cls)
        core._load(library, constants)
        return core

    def _load(self, library: Path, constants: str) -> None:
        self._library = ctypes.CDLL(str(library))
        self._block = self._library.coil_block
        self._block.restype = None
        self._block.argtypes = [
            ctypes.c_void_p, ctypes.c_int64, ctypes.c_bool, *[ctypes.c_void_p] * 6
        ]
        for name in ("first_state", "coil_first", "coil_restart", "flat_state", "state_of"):
            getattr(self._library, name).restype = None
        self._constants = ctypes.addressof(ctypes.c_char.in_dll(self._library, constants))

    def block(
        self, came: Any, asked: Any, was_floats: Any, was_wholes: Any, *, each: bool
    ) -> tuple[Any, Any]:
        """Many ticks: what is decided, as a row a number and a column a tick.

        ``came`` has a row for each of the readings, ``asked`` the masks of requests. Where
        ``each``, every tick begins from its own column of the state before; else that has one
        column, from which the first tick begins, and each other from the tick before it.
        The floats are those of the state, valve and fans; the whole numbers those of the state,
        pump, damper, dump, horn and permission.
        Raises ValueError for tables of other sizes.
        """
        ticks = came.shape[1]
        given = tables(came, asked, was_floats, was_wholes, each=each)
        floats = np.empty((OUT_FLOATS, ticks))
        wholes = np.empty((OUT_WHOLES, ticks), np.int64)
        places = [array.ctypes.data for array in (*given, floats, wholes)]
        self._block(self._constants, ticks, each, *places)
        return floats, wholes

    def first(self, phase: int, fire: int) -> tuple[Any, Any]:
        """The floats and whole numbers of the state of a new board."""
        state = _room()
        self._library.first_state(
            ctypes.c_void_p(self._constants), ctypes.c_int64(phase), ctypes.c_int64(fire), state
        )
        return self._flat(state)

    def new(self) -> tuple[Any, Any]:
        """The same, by the way in that a board takes: standby, no fire."""
        state = _room()
        self._library.coil_first(state, ctypes.c_void_p(self._constants))
        return self._flat(state)

    def rebooted(self, floats: Any, wholes: Any) -> tuple[Any, Any]:
        """The same of a board that restarts and finds this state."""
        state = _room()
        given = np.array(floats, np.float64), np.array(wholes, np.int64)
        self._library.state_of(*(ctypes.c_void_p(each.ctypes.data) for each in given), state)
        self._library.coil_restart(state)
        return self._flat(state)

    def _flat(self, state: Any) -> tuple[Any, Any]:
        floats, wholes = np.empty(len(FLOATS)), np.empty(len(WHOLES), np.int64)
        self._library.flat_state(
            state, ctypes.c_void_p(floats.ctypes.data), ctypes.c_void_p(wholes.ctypes.data)
        )
        return floats, wholes

    def number(self, name: str, kind: Any) -> Any:
        """A number that the library holds, such as the loop's constants at their start."""
        return kind.in_dll(self._library, name)
