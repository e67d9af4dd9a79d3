"""A person's own decision function, loaded from a module or a file and held to its promises.

It is called once a tick as ``decide(readings, requests, memory, constants)`` and gives
``(memory, commands)``. `memory` is None at the start and after every restart of the board,
else whatever it gave the tick before. See docs/own-logic.md.
"""

from __future__ import annotations

import hashlib
import importlib
import importlib.util
import inspect
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from types import ModuleType
from typing import Any, Final, NamedTuple

from coilward.controller.constants import Constants
from coilward.controller.decide import Decision
from coilward.controller.state import (
    UNKNOWN,
    Control,
    Mode,
    Watch,
    fresh_control,
    fresh_watch,
)
from coilward.controller.types import Commands, Readings, Requests
from coilward.loop.errors import Fault, InputRefused
from coilward.simulator.logic import Decide, Logic, LogicDied

NO_PHASE: Final = -1
EXAMPLE: Final = "my_loop:decide or my_loop.py:decide"
TAKES: Final = "a function of (readings, requests, memory, constants)"
GIVES: Final = (
    "memory and commands as in `return memory, Commands(True, 1.0, 1.0, False, True, 3, False)`"
)
RANGES: Final = {
    "pump": "True or False", "valve": "a stroke from 0 to 1", "fans": "a share from 0 to 1",
    "damper_open": "True or False", "dump_open": "True or False",
    "horn": "0, 1, 2 or 3", "may_light": "True or False",
}  # fmt: skip


class Kept(NamedTuple):
    """What stands in the place of our state: nothing is known of it but its memory."""

    mode: Mode
    watch: Watch
    control: Control
    raised: int
    memory: Any


_NAN = float("nan")
_MODE = Mode(
    phase=NO_PHASE, came_from=NO_PHASE, fire=UNKNOWN, coil=NO_PHASE, dry=False, latched=0,
    first_out=-1, permitted=False, meter_dead=False,
)
_WATCH = fresh_watch()._replace(heat_now_w=_NAN, heat_before_w=_NAN, heat_earlier_w=_NAN)
_CONTROL = fresh_control(False, False)._replace(target_lpm=_NAN)


def load(wanted: str) -> Logic:
    """The function that MODULE:FUNCTION or FILE.py:FUNCTION names.

    The folder of the file, or the current one, is searched first. Raises InputRefused where
    there is no such module or function, it can't be loaded, or it can't take what it is given.
    """
    place, _, name = wanted.rpartition(":")
    if not place or not name:
        raise _refused(wanted, "", "this names no function", EXAMPLE)
    module = _from_file(place) if place.endswith(".py") else _from_path(place)
    function = getattr(module, name, None)
    if not callable(function):
        near = ", ".join(key for key, each in vars(module).items() if inspect.isfunction(each))
        problem = "there is no such function" if function is None else "this is no function"
        raise _refused(place, name, problem, f"one of {near}" if near else TAKES)
    try:
        inspect.signature(function).bind(None, None, None, None)
    except (TypeError, ValueError):
        raise _refused(place, name, "this does not take four arguments", TAKES) from None
    return Logic(
        name=wanted, digest=_digest(function, module), decide=adapted(function, place, name),
        first=_first, rebooted=_rebooted, tells_phases=False,
    )


def adapted(function: Callable[..., Any], place: str, name: str) -> Decide:
    """The function as the closed loop calls it, each answer checked.

    The adapter raises LogicDied where the function raises, and InputRefused for an answer that
    no board could act on.
    """

    def decide(
        readings: Readings, requests: Requests, state: Kept, constants: Constants
    ) -> Decision:
        try:
            answer = function(readings, requests, state.memory, constants)
        except (Exception, SystemExit) as error:
            raise LogicDied(readings.time_s, _told(error)) from error
        try:
            memory, commands = answer
            sound = _sound(commands)
        except (TypeError, ValueError, AttributeError):
            raise _refused(place, name, _what_is_wrong(answer, readings.time_s), GIVES) from None
        if sound is None:
            raise _out_of_range(place, name, commands, readings.time_s)
        kept: Any = Kept(_MODE, _WATCH, _CONTROL, 0, memory)
        return Decision(kept, sound)

    return decide


def _sound(commands: Commands) -> Commands | None:
    """The commands as plain numbers; None where one is out of its range."""
    pump, valve, fans, damper_open, dump_open, horn, may_light = commands
    if (
        pump in (False, True)
        and 0.0 <= valve <= 1.0
        and 0.0 <= fans <= 1.0
        and damper_open in (False, True)
        and dump_open in (False, True)
        and horn in (0, 1, 2, 3)
        and may_light in (False, True)
    ):
        return Commands(
            bool(pump), float(valve), float(fans), bool(damper_open), bool(dump_open), int(horn),
            bool(may_light),
        )
    return None


def _out_of_range(place: str, name: str, commands: Commands, time_s: float) -> InputRefused:
    """Names the first command that no output can follow."""
    for index, (each, value) in enumerate(zip(RANGES, commands, strict=True)):
        alone: list[Any] = [True, 1.0, 1.0, False, False, 0, False]
        alone[index] = value
        if _sound(Commands(*alone)) is None:
            return _refused(
                place, name, f"at {time_s:.2f} s it told {each} = {value!r}", RANGES[each]
            )
    raise RuntimeError("commands were found out of range, but none of them is")


def _what_is_wrong(answer: object, time_s: float) -> str:
    if isinstance(answer, tuple) and len(answer) == 2:
        said = answer[1]
        if isinstance(said, tuple) and len(said) == len(RANGES):
            return f"at {time_s:.2f} s it told {said!r}, and not all of these are numbers"
        return f"at {time_s:.2f} s it gave {type(said).__name__} in the place of Commands"
    return f"at {time_s:.2f} s it gave {type(answer).__name__}, not memory and commands"


def _told(error: BaseException) -> str:
    """The exception in one line, with the innermost line of the person's own file."""
    words = f"{type(error).__name__}: {error}" if str(error) else type(error).__name__
    frames = traceback.extract_tb(error.__traceback__)
    last = frames[-1]
    return f"{' '.join(words.split())} ({Path(last.filename).name}, line {last.lineno})"


def _first(constants: Constants, phase: int, fire: int) -> Kept:  # noqa: ARG001 - it knows neither
    return Kept(_MODE, _WATCH, _CONTROL, 0, None)


def _rebooted(state: Kept) -> Kept:
    return state._replace(memory=None)


def _from_path(place: str) -> ModuleType:
    """The module of that dotted name."""
    _search_first(Path.cwd())
    try:
        return importlib.import_module(place)
    except ModuleNotFoundError as error:
        parts = place.split(".")
        ours = {".".join(parts[: count + 1]) for count in range(len(parts))}
        if error.name not in ours:
            raise _unloadable(place, error) from error
        raise _refused(place, "", "there is no such module", EXAMPLE) from None
    except (Exception, SystemExit) as error:
        raise _unloadable(place, error) from error


def _from_file(place: str) -> ModuleType:
    """The module in a file, which need not lie on the path."""
    file = Path(place).resolve()
    if not file.is_file():
        raise _refused(place, "", "there is no such file", EXAMPLE)
    _search_first(Path.cwd())
    _search_first(file.parent)
    spec = importlib.util.spec_from_file_location(f"own_logic_{file.stem}", file)
    if spec is None or spec.loader is None:
        raise _refused(place, "", "this can't be loaded", EXAMPLE)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    try:
        spec.loader.exec_module(module)
    except (Exception, SystemExit) as error:
        del sys.modules[spec.name]
        raise _unloadable(place, error) from error
    return module


def _search_first(folder: Path) -> None:
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))


def _digest(function: Callable[..., Any], module: ModuleType) -> str:
    """Hash of the file in which the function is written."""
    try:
        file = inspect.getsourcefile(inspect.unwrap(function))
    except TypeError:
        file = None
    file = file or module.__file__
    if file is None:
        raise _refused(module.__name__, "", "this has no source file", EXAMPLE)
    return hashlib.sha256(Path(file).read_bytes()).hexdigest()[:16]


def _unloadable(place: str, error: BaseException) -> InputRefused:
    words = f"this can't be loaded ({type(error).__name__}: {error})"
    return _refused(place, "", words, "a module that `python` can import")


def _refused(place: str, name: str, problem: str, accepted: str) -> InputRefused:
    return InputRefused([Fault(place or "--logic", None, name, "", problem, accepted)])
