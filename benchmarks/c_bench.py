"""The C core compiled in any way, with the constants of many loops in one library, and judged."""

from __future__ import annotations

import ctypes
import json
import os
import signal
import subprocess
import tempfile
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.c_inputs import Batch, Inputs
from coilward.controller.firmware import CORE, HOST
from coilward.controller.firmware.loop_constants import files_of
from coilward.controller.phases import PHASES, STANDBY
from coilward.controller.state import NO, UNKNOWN, YES, after_reboot, first_state
from coilward.hil.host_core import HostCore
from coilward.hil.tick import flat, unflat
from tests.firmware.wild import bits, difference

RULES = ("-std=c99", "-ffp-contract=off", "-fPIC", "-w")
AT_ONCE_S, GIVEN_S = 1.0, 8.0
"""Time of the processor that a look at one change, and a judgement of it, may take."""
AT_FIRST = 300
"""Ticks of each large batch that are looked at before all of it."""
BOOTED = 40
"""States that a restart is tried on."""


def compiled(folder: Path, name: str, made: Path, *how: str) -> str:
    """Compiles one file of a folder; what the compiler has against it."""
    command = ["gcc", *RULES, *how, "-c", name, "-o", str(made)]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    return done.stderr if done.returncode else ""


def core_texts() -> dict[str, str]:
    """Every file of the core and of the side of a computer."""
    return {path.name: path.read_text("utf-8") for path in (*CORE.iterdir(), *HOST.iterdir())}


def constants_objects(folder: Path, given: Inputs) -> list[Path]:
    """The constants of every loop, each under a name of its own. Raises RuntimeError."""
    made = []
    for place, constants in enumerate(given.constants):
        with tempfile.TemporaryDirectory() as own:
            for name, text in {**core_texts(), **files_of("c", date.min, constants)}.items():
                (Path(own) / name).write_text(text, "utf-8")
            names = ("LOOP_CONSTANTS", "LOOP_NAME", "LOOP_DAY")
            made.append(folder / f"constants_{place}.o")
            how = [f"-D{each}={each}_{place}" for each in names]
            if refused := compiled(Path(own), "loop_constants.c", made[-1], *how):
                raise RuntimeError(refused)
    return made


def library_of(folder: Path, texts: dict[str, str], given: Inputs, *how: str) -> Path:
    """Writes, compiles and links. Raises RuntimeError with what the compiler has against it."""
    for name, text in texts.items():
        (folder / name).write_text(text, "utf-8")
    names = sorted(name for name in texts if name.endswith(".c"))
    objects = [folder / f"{name[:-2]}.o" for name in names]
    with ThreadPoolExecutor() as pool:
        refused = "".join(
            pool.map(lambda name, made: compiled(folder, name, made, *how), names, objects)
        )
    if refused:
        raise RuntimeError(refused)
    library = folder / "core.so"
    linked = [str(each) for each in (*objects, *constants_objects(folder, given))]
    subprocess.run(["gcc", *how, "-shared", *linked, "-o", str(library)], check=True)
    return library


@dataclass
class Judge:
    """Holds a library against the controller."""

    library: Path
    given: Inputs

    def __post_init__(self) -> None:
        count = len(self.given.constants)
        self.cores = [HostCore.of(self.library, f"LOOP_CONSTANTS_{n}") for n in range(count)]
        self.quick = [first for batch in self.given.batches for first in some_of(batch)]
        self.batches = [*self.quick, *self.given.batches]
        self.code = ctypes.CDLL(str(self.library))
        self.usual = [self.decided(batch) for batch in self.batches]
        """What the library makes of it without any change: the same but for the signs of NaNs."""

    def decided(self, batch: Batch) -> tuple[Any, Any]:
        columns = (batch.came, batch.asked, batch.floats, batch.wholes)
        found: tuple[Any, Any] = self.cores[batch.constants].block(*columns, each=batch.each)
        return found

    def agrees(self, many: int) -> bool:
        """Whether every bit of so many batches is as the controller decides it."""
        for batch, usual in zip(self.batches[:many], self.usual, strict=False):
            found = self.decided(batch)
            alike = all(
                np.array_equal(one.view(np.int64), other.view(np.int64))
                for one, other in zip(found, usual, strict=True)
            )
            if not alike and difference(found, batch.expected):
                return False
        return True

    def is_sound(self) -> bool:
        """Whether the library without any change is as the controller."""
        pairs = zip(self.batches, self.usual, strict=True)
        agrees = not any(difference(usual, batch.expected) for batch, usual in pairs)
        return agrees and self.starts_alike()

    def starts_alike(self) -> bool:
        """The states of a new board, and of one that restarts."""
        for core, constants in zip(self.cores, self.given.constants, strict=True):
            if not same(core.new(), flat(first_state(constants, STANDBY, NO))):
                return False
        for phase in range(len(PHASES)):
            for fire in (NO, YES, UNKNOWN):
                theirs = flat(first_state(self.given.constants[0], phase, fire))
                if not same(self.cores[0].first(phase, fire), theirs):
                    return False
        batch = self.given.batches[0]
        for at in range(BOOTED):
            floats, wholes = batch.floats[:, at].tolist(), batch.wholes[:, at].tolist()
            found = self.cores[0].rebooted(floats, wholes)
            if not same(found, flat(after_reboot(unflat(floats, wholes)))):
                return False
        return True

    def fall_at_once(self, numbers: list[int]) -> list[int]:
        """Those changes that a few ticks tell, several in one process while that stays sound."""

        def told() -> list[int]:
            fallen = []
            for number in numbers:
                self.choose(number)
                if not self.agrees(len(self.quick)):
                    fallen.append(number)
            self.choose(0)
            if not self.agrees(len(self.quick)):
                os._exit(1)
            return fallen

        found = in_a_process(told)
        if found is not None or len(numbers) == 1:
            return found or []
        half = len(numbers) // 2
        return self.fall_at_once(numbers[:half]) + self.fall_at_once(numbers[half:])

    def choose(self, number: int) -> None:
        """Switches one change on, and gives it its time."""
        signal.setitimer(signal.ITIMER_VIRTUAL, AT_ONCE_S)
        self.code.choose(number)

    def outcome(self, number: int) -> str:
        """The same with one change, on everything, in a process of its own: it may hang or die."""
        child = os.fork()
        if child == 0:
            signal.setitimer(signal.ITIMER_VIRTUAL, GIVEN_S)
            self.code.choose(number)
            os._exit(0 if self.agrees(len(self.batches)) and self.starts_alike() else 1)
        _, status = os.waitpid(child, 0)
        if os.WIFSIGNALED(status):
            hung = os.WTERMSIG(status) == signal.SIGVTALRM
            return "killed, hung" if hung else "killed, died"
        return "killed" if os.WEXITSTATUS(status) else "survived"

    def outcomes(self, numbers: list[int]) -> list[str]:
        """What becomes of some changes."""
        fallen = set(self.fall_at_once(numbers))
        return ["killed" if each in fallen else self.outcome(each) for each in numbers]


def in_a_process(told: Callable[[], Any]) -> Any:
    """What a process of its own tells; None where it dies or takes too long."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        os.write(write, json.dumps(told()).encode())
        os._exit(0)
    os.close(write)
    with os.fdopen(read) as pipe:
        said = pipe.read()
    os.waitpid(child, 0)
    return json.loads(said) if said else None


def some_of(batch: Batch) -> list[Batch]:
    """A few ticks from all over a batch, or all of a small one: most mistakes show in them."""
    count = batch.came.shape[1]
    if not batch.each or count < 4 * AT_FIRST:
        return [batch]
    at = np.arange(0, count, count // AT_FIRST)
    floats, wholes = batch.expected
    return [Batch(
        batch.constants, batch.came[:, at], batch.asked[at], batch.floats[:, at],
        batch.wholes[:, at], True, (floats[:, at], wholes[:, at]),
    )]  # fmt: skip


def same(ours: Any, theirs: Any) -> bool:
    """Whether two states are, bit for bit."""
    rows = [bits(np.array(floats), np.array(wholes)) for floats, wholes in (ours, theirs)]
    return bool((rows[0] == rows[1]).all())
