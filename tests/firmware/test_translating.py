"""What has no translation is refused with its place; what has one means the same in C.

The oracle of the second half is the interpreter: each small function is called in Python and in
C, through a compiler, with values at which the two languages are known to differ.
"""

from __future__ import annotations

import ctypes
import importlib.util
import itertools
import math
import sys

import pytest

from coilward.controller.adding import add, drop
from coilward.controller.firmware import __main__ as command
from coilward.controller.firmware.making import BY_HAND, CORE, core_files, stale, write_core
from coilward.controller.firmware.translating.files import Files
from coilward.controller.firmware.translating.program import Program
from coilward.hil.host_core import build, compilers
from coilward.loop.errors import InputRefused
from tests.controller.rig import NAN
from tests.whole_project.test_one_place import WARM_TANK

HEAD = """\
from __future__ import annotations
from math import isfinite
from typing import NamedTuple
FEW = (1, 2, 5)
LIMIT_C = 60.0
class Pair(NamedTuple):
    one: float
    two: int
class Big(NamedTuple):
    a: float
    b: float
    c: float
    d: float
    e: float
    f: float
    g: float
    h: float
    pair: Pair
"""
REFUSED = {
    "while x < 3.0:\n        x = x + 1.0\n    return x": "a statement without a translation",
    "for i in range(int(x)):\n        x = x + i\n    return x": "a call without a translation",
    "k = 2\n    for i in range(k):\n        x = x + i\n    return x": "isn't known beforehand",
    "for i in (1, 2):\n        x = x + i\n    return x": "a loop that may not end",
    "for i in range(4):\n        x = x + i\n    else:\n        x = 0.0\n    return x": "no else",
    "for i in range(0, 8, 2):\n        x = x + i\n    return x": "a step of its own",
    "return x ** 2.0": "an operation without a translation",
    "return x // 2.0": "an operation without a translation",
    "return x % 2.0": "an operation without a translation",
    "return 1 / 2": "a division of whole numbers",
    "return max(x, 1.0)": "a call without a translation",
    "return min(x, 1.0)": "a call without a translation",
    "return math.sqrt(x)": "a call without a translation",
    "return float(x)": "a call without a translation",
    "return abs(1)": "a value of another kind",
    "return 1.0 if isfinite(1) else x": "a value of another kind",
    "return 1.0 if x == x == 1.0 else x": "a number compared with itself",
    "return 1.0 if x <= x else x": "a number compared with itself",
    "return y": "neither local nor a constant",
    "if x:\n        return 1.0\n    return x": "a number taken for a truth",
    "return 1.0 if x > 0.0 else 1": "a value of another kind",
    "return x if x is None else x": "a comparison without a translation",
    "return [x, x][0]": "an expression without a translation",
    "return (lambda z: z)(x)": "a call without a translation",
    "z = 1\n    z = 1.0\n    return z": "a value of another kind",
    "a, b = x, 1.0\n    a, b = b, a\n    return a + b": "values that change places",
    "a, b = 1.0\n    return a + b": "doesn't have so many parts",
    "pair = Pair(x)\n    return pair.one": "other arguments than it has",
    "pair = Pair(x, 1)\n    return pair.three": "a field of what has none",
    "pair = Pair(x, 1)\n    pair.one = 2.0\n    return pair.one": "can't be assigned to",
    "return Pair(x, 1).one": "a field of something without a name",
    "z = 1 & 2\n    return x if z < 3 else 0.0": "an order of masks",
    "try:\n        return x\n    finally:\n        x = 1.0": "a statement without a translation",
    "return f(x, x)": "other arguments than it has",
    "return x if x in FEW else 0.0": "a tuple of constants",
    "return x if x in 3.0 else 0.0": "in what can't be listed",
    "return x if x < 1 else 0.0": "a value of another kind",
    "x += 'a'\n    return x": "an expression without a translation",
    "return -(x > 1.0) + x": "a sign of what has none",
    "return 'x'": "an expression without a translation",
    "return x[0]": "an element of what has none",
}


@pytest.fixture
def module(tmp_path, monkeypatch):
    """Makes a module of the controller's package out of text."""
    names = itertools.count()

    def make(text: str):
        name = f"coilward.controller.tried_{next(names)}"
        path = tmp_path / f"{name.rpartition('.')[2]}.py"
        path.write_text(text, "utf-8")
        spec = importlib.util.spec_from_file_location(name, path)
        made = importlib.util.module_from_spec(spec)
        monkeypatch.setitem(sys.modules, name, made)
        spec.loader.exec_module(made)
        return made

    return make


@pytest.mark.parametrize("body", REFUSED)
def test_what_has_no_translation_is_refused_with_its_line(module, body):
    made = module(f"{HEAD}import math\n\ndef f(x: float) -> float:\n    {body}\n")
    with pytest.raises(InputRefused, match=REFUSED[body]) as refused:
        Files(Program([(made.__name__, "f")])).written()
    [fault] = refused.value.faults
    first = len(HEAD.splitlines()) + 4
    assert fault.file.endswith("tried_0.py")
    assert first <= fault.line < first + 5
    assert fault.accepted


@pytest.mark.parametrize(("head", "problem"), [
    ("def f(x: str) -> float:", "has no translation"),
    ("def f(x: list[float]) -> float:", "has no translation"),
    ("def f(x: tuple[float, ...]) -> float:", "has no translation"),
])  # fmt: skip
def test_other_kinds_of_arguments_are_refused(module, head, problem):
    made = module(f"{HEAD}\n{head}\n    return 1.0\n")
    with pytest.raises(InputRefused, match=problem):
        Program([(made.__name__, "f")])


def test_a_structure_that_is_made_in_a_condition_is_refused(module):
    made = module(HEAD + """
def pair() -> Pair:
    one = 1.0
    return Pair(one, 1)

def asks(pair: Pair) -> bool:
    return pair.one > 0.0

def f(x: float) -> float:
    if asks(pair()):
        return x
    return 0.0
""")
    with pytest.raises(InputRefused, match="a structure made within a condition"):
        Files(Program([(made.__name__, "f")])).written()


def test_rows_of_the_interpreter_are_not_translated():
    add(WARM_TANK)
    try:
        with pytest.raises(ValueError, match="the interpreter alone"):
            Program([])
    finally:
        drop(WARM_TANK.name)


# ---- what has a translation means the same ----------------------------------------------------

EDGES = (0.0, -0.0, 1.0, -1.0, 59.99999999999999, 60.0, 5e-324, 1e308, math.inf, -math.inf, NAN)
SAME = """
COLD, WARM = 1, 2
SOME = (COLD, WARM)
BITS = 6
NINE = 1 << 9

def cold() -> float:
    return float("nan")

def trips(x: float, y: float) -> bool:
    return not (x < LIMIT_C) or y != y

def between(x: float, y: float) -> bool:
    return -1.0 <= x < y

def known(x: float, y: float) -> bool:
    return x == x and x + y == x + y

def finite(x: float, y: float) -> bool:
    return isfinite(x - y)

def distance(x: float, y: float) -> float:
    return abs(x - y) * 2.0 - abs(-x)

def order(x: float, y: float) -> float:
    return x - y - 1.0 + (x + (y + 0.1)) * 3.0 * (x / (2.0 + abs(y)))

def turned(x: float, y: float) -> float:
    return -(x - y) if x > y else -x

def elected(x: float, y: float) -> float:
    last, best = x, y
    if not (last >= best):
        best = last
    elif best > 1.0:
        best = best - 1.0
    last, best = 0.5, last
    return last + best

def shifted(x: float, y: float) -> float:
    a, b, c = x, y, 1.0
    a, b, c = 7.0, a, b
    return a + 10.0 * b + 100.0 * c

def counted(x: float, y: float) -> float:
    total = 0.0
    for i in range(4):
        if x > 1.0 * i:
            total = total + x * (i + 1)
    for i in range(3, -1, -1):
        total -= i
    return total if y > 0.0 else -total

def lowest(x: float, y: float) -> float:
    mask = 0
    if x > 0.0:
        mask |= BITS
    if y > 0.0:
        mask |= NINE
    mask = mask & ~(mask & -mask)
    mask ^= 2
    for i in range(12):
        if mask >> i & 1:
            return 1.0 + i
    return -1.0

def listed(x: float, y: float) -> float:
    kind = 2 if x > y else 1
    if kind in (2, 3):
        return 5.0
    return 1.0 if kind in SOME and kind not in (WARM, 7) else 0.0

def spread(x: float, y: float) -> tuple[bool, float, float]:
    if x > y:
        return True, x, y
    return False, y, x

def taken(x: float, y: float) -> float:
    more, high, low = spread(x, y)
    return high - low if more else low

def bigger(x: float, y: float) -> Big:
    a, b, c, d, e, f, g = x, y, 1.0, x + y, 2.0, 3.0, x - y
    return Big(a, b, c, d, e, f, g, h=cold(), pair=Pair(x, 3))

def moved(big: Big, x: float) -> Big:
    pair = big.pair
    if x > 1.0:
        pair = Pair(x, pair.two + 1)
    return Big(
        a=big.a, b=big.b, c=x, d=big.d, e=big.e, f=big.f, g=big.g, h=big.h, pair=pair
    )

def nested(x: float, y: float) -> float:
    big = bigger(x, y)
    big_two = moved(big, y)
    if y > 0.0:
        big = moved(big_two, 2.0)
    one, two = big.pair
    return big.a + big.c - big_two.c * big.d + one * two + big.pair.two

def given(x: float, y: float) -> float:
    big = moved(bigger(x, y), y)
    return big.pair.one + big.c

def sound(x: float, y: float) -> bool:
    mask = 3 if x > y else 65
    return 0 <= mask <= 64
"""
CHECKED = (
    "cold", "trips", "between", "known", "finite", "distance", "order", "turned", "elected",
    "shifted", "counted",
    "lowest", "listed", "taken", "nested", "given", "sound",
)  # fmt: skip


@pytest.mark.parametrize("compiler", ["gcc", "zig"])
def test_what_has_a_translation_means_the_same(module, tmp_path, compiler):
    assert compiler in compilers()
    made = module(HEAD + SAME)
    roots = [(made.__name__, name) for name in CHECKED]
    files = Files(Program(roots)).written()
    library = tmp_path / "tried.so"
    build([], files, library, compiler)
    loaded = ctypes.CDLL(str(library))
    for name in CHECKED:
        ours, function = getattr(made, name), getattr(loaded, name)
        truth = ours.__annotations__["return"] == "bool"
        function.restype = ctypes.c_bool if truth else ctypes.c_double
        count = ours.__code__.co_argcount
        for values in itertools.product(EDGES, repeat=count):
            said = function(*[ctypes.c_double(value) for value in values])
            assert repr(said) == repr(ours(*values)), (name, values)


# ---- the files that are kept ------------------------------------------------------------------


def test_the_core_is_what_the_controller_makes_it():
    assert stale() == [], "python -m coilward.controller.firmware"


def test_every_file_of_the_core_is_made_or_listed():
    assert {path.name for path in CORE.iterdir()} == {*core_files(), *BY_HAND}


def test_stale_files_are_told_and_made_anew(tmp_path):
    write_core(tmp_path)
    (tmp_path / "decide.c").write_text("", "utf-8")
    (tmp_path / "valve.h").unlink()
    (tmp_path / "more.c").write_text("", "utf-8")
    assert stale(tmp_path) == ["decide.c", "more.c", "valve.h"]
    assert write_core(tmp_path) == ["decide.c", "more.c", "valve.h"]
    assert stale(tmp_path) == []


def test_the_command_tells_of_stale_files_and_refuses(monkeypatch, capsys, tmp_path):
    monkeypatch.setattr(command, "stale", lambda: ["decide.c"])
    assert command.main(["--check"]) == 1
    assert capsys.readouterr().out == "stale: decide.c\n"
    monkeypatch.setattr(command, "stale", list)
    assert command.main(["--check"]) == 0
    monkeypatch.setattr(command, "write_core", lambda: ["valve.c"])
    assert command.main([]) == 0
    assert capsys.readouterr().out == "made: valve.c\n"
    assert command.main(["--loop", "nowhere", "--day", "2026-11-25", "--to", str(tmp_path)]) == 2
    assert "nowhere" in capsys.readouterr().err
    with pytest.raises(SystemExit):
        command.main(["--loop", "greenhouse"])
