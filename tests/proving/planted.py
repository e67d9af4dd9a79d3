"""Ten defects, each planted in a private copy of the logic, with the sources as they are.

A defect is a text that is replaced; one that is not found in its file exactly once is an error,
so that none can quietly come to nothing.
"""

from __future__ import annotations

import hashlib
import importlib
import importlib.abc
import importlib.machinery
import importlib.util
import itertools
import sys
from pathlib import Path
from typing import NamedTuple

from coilward import controller
from coilward.simulator.logic import Logic

SOURCES = Path(controller.__file__).parent
_NUMBER = itertools.count(1)


class Defect(NamedTuple):
    """What a person could get wrong: texts in the place of others, each with its file."""

    name: str
    edits: tuple[tuple[str, str, str], ...]


def defect(name, *edit):
    return Defect(name, tuple(zip(edit[::3], edit[1::3], edit[2::3], strict=True)))


PLANTED = (
    defect("still water believed after ten times its debounce", "constants.py",
            "return float(getattr(derived, row_debounce))",
            "return 10.0 * float(getattr(derived, row_debounce))"),
    defect("outlet's dump trip compared the wrong way round", "causing.py",
            "if not (seen.outlet_c < limits.outlet_dump_c):",
            "if not (seen.outlet_c > limits.outlet_dump_c):"),
    defect("pump stopped by a dead meter", "acting.py",
            "pump = not retrying", "pump = not retrying and phase != NO_FLOW"),
    defect("damper left open while the water stands", "acting.py",
            "said.damper_open and burning,", "said.damper_open and burning or phase == NO_FLOW,"),
    defect("valve's stop not kept", "acting.py",
            "if not (valve >= constants.valve.stop):", "if not (valve >= 0.0):",
            "valve.py", "if stroke < constants.valve.stop:", "if stroke < 0.0:",
            "valve.py", "if low_lpm < water.stop_lpm:", "if low_lpm > 0.0:",
            "valve.py", "low_lpm = water.stop_lpm", "low_lpm = 0.0"),
    defect("dry latch ignored", "estimating.py",
            "dry = locked or coil == MAYBE_DRY",
            "dry = False",
            "decide.py", "dry = kept.dry or (phase == ph.DRY and now.fire != NO)",
            "dry = kept.dry"),
    defect("refill window never ends", "estimating.py",
            "half_s = 0.5 * still_boil_s", "half_s = 50.0 * still_boil_s"),
    defect("dump never opened", "acting.py",
            "said.damper_open and burning, said.dump_open or dump_held,",
            "said.damper_open and burning, False,"),
    defect("tank's trips in Fahrenheit", "constants.py",
            "tank_trip_c=derived.tank_trip_c", "tank_trip_c=1.8 * derived.tank_trip_c + 32.0",
            "constants.py", "tank_hh_c=derived.tank_hh_c",
            "tank_hh_c=1.8 * derived.tank_hh_c + 32.0"),
    defect("lost thermometer keeps its last value", "sensing.py",
            "        return False, last_c, 0.0\n    if not in_range(last_c)",
            "        return True, last_c, 0.0\n    if not in_range(last_c)"),
)


def replaced(defect: Defect, file: str, text: str) -> str:
    """The text of one file with the defect in it."""
    for edited, right, wrong in defect.edits:
        if edited == file:
            if text.count(right) != 1:
                raise ValueError(f"{defect.name}: not once in {file}: {right}")
            text = text.replace(right, wrong)
    return text


def planted(defect: Defect) -> Logic:
    """The logic with that defect, interpreted; its state, phases and rows are as ours."""
    package = f"planted_{next(_NUMBER)}"
    finder = _Finder(package, defect)
    sys.meta_path.insert(0, finder)
    try:
        parts = {
            name: importlib.import_module(f"{package}.{name}")
            for name in ("decide", "state", "constants")
        }
    finally:
        sys.meta_path.remove(finder)
    if finder.left:
        raise ValueError(f"{defect.name}: {finder.left} was never loaded")
    return Logic(
        name=defect.name, digest=hashlib.sha256(repr(defect).encode()).hexdigest()[:16],
        decide=parts["decide"].decide, first=parts["state"].first_state,
        rebooted=parts["state"].after_reboot, constants=parts["constants"].constants_for,
    )


class _Finder(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives the controller's modules under another package name, one of them changed."""

    def __init__(self, package, defect):
        self.package, self.defect = package, defect
        self.left = {file for file, _, _ in defect.edits}

    def find_spec(self, name, path=None, target=None):
        if name != self.package and not name.startswith(f"{self.package}."):
            return None
        return importlib.machinery.ModuleSpec(name, self, is_package=name == self.package)

    def create_module(self, spec):
        return None

    def exec_module(self, module):
        file = module.__name__.removeprefix(self.package).lstrip(".") or "__init__"
        path = SOURCES / f"{file}.py"
        text = path.read_text("utf-8").replace("coilward.controller", self.package)
        text = replaced(self.defect, path.name, text)
        self.left.discard(path.name)
        exec(compile(text, str(path), "exec"), module.__dict__)
