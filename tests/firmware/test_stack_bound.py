"""The deepest stack, computed from machine code, against what is measured and what is planted."""

from __future__ import annotations

from functools import cache
from shutil import copytree

import pytest

from coilward.hil.bench.player import Player
from coilward.hil.bench.reactions import over
from coilward.hil.emulated import building
from coilward.hil.emulated.building import M0_PLUS, M4, build, compiled
from coilward.hil.emulated.counting import Counter
from coilward.hil.emulated.machine import STACK_BYTES, Machine
from coilward.hil.emulated.stack_bound import NoBoundError, StackBound
from coilward.hil.tick import FIELDS
from tests.firmware.boards import Waiting, image
from tests.hil.benches import settled
from tests.hil.pairs import CONSTANTS, CONVERT, LOOP, TODAY

CORE_BYTES = 4096
BOTH = pytest.mark.parametrize("processor", [M4, M0_PLUS], ids=lambda one: one.name)
START = """\
#include <stdint.h>
volatile int seen;
__attribute__((noinline)) void root(int number);
__attribute__((used, retain)) void _start(void) { for (;;) { root(seen); } }
__attribute__((used, retain, section(".vectors"))) static const uintptr_t VECTORS[] = {
    0x20000100, (uintptr_t)_start
};
static __attribute__((noinline, unused)) void deep(int number)
{
    volatile int some[100];
    some[number] = number;
    seen = some[seen];
}
"""


@cache
def bound(processor) -> StackBound:
    return StackBound(image(processor))


def tiny(folder, root, processor=M4) -> StackBound:
    """A program of a function and what it calls."""
    (folder / "tiny.c").write_text(START + root, "ascii")
    return StackBound(compiled((folder,), processor))


@BOTH
def test_nothing_measured_is_deeper(processor):
    """A fire whose water stops, over the wire; every block of instructions is looked at."""
    machine = Machine(image(processor), processor=processor)
    counter = Counter(machine, "coil_decide")
    player = Player(lambda: Waiting(machine, [0.0]), CONSTANTS, CONVERT)
    scene = settled().burning.copy()
    over(player.begin(scene.state), scene)
    for tick in range(20):
        if tick == 8:
            scene.stop_water()
        scene.tick()
    assert 2000 < counter.stack <= bound(processor).function("coil_decide").size
    assert counter.stack < counter.deepest <= bound(processor).function("tried").size


@BOTH
def test_the_cores_memory_is_at_most_four_kilobytes(processor):
    """A state, and the deepest stack that a decision can have."""
    assert 8 * len(FIELDS) + bound(processor).function("coil_decide").size <= CORE_BYTES


@BOTH
def test_the_whole_board_stays_in_its_stack(processor):
    whole = bound(processor).board()
    assert bound(processor).function("tried").size < whole.size <= STACK_BYTES
    assert whole.path[:2] == ("tried", "main")


def test_a_planted_deeper_function_is_over_the_budget(monkeypatch, tmp_path):
    """In a branch that no fire in any test takes."""
    copytree(building.FOLDERS[0], tmp_path / "core")
    changed = tmp_path / "core" / "valve.c"
    (at,) = [line for line in changed.read_text("ascii").splitlines() if "always_open ||" in line]
    planted = (
        "    if (low_lpm > 1e300) {\n        volatile double room[200];\n"
        "        room[(int64_t)high_lpm] = low_lpm;\n        moved_s = room[0];\n    }\n"
    )
    changed.write_text(changed.read_text("ascii").replace(at, planted + at), "ascii")
    monkeypatch.setattr(building, "FOLDERS", (tmp_path / "core", *building.FOLDERS[1:]))
    deeper = StackBound(build(LOOP, CONSTANTS, TODAY)).function("coil_decide")
    assert deeper.size > bound(M4).function("coil_decide").size + 800
    assert "throttle" in deeper.path
    assert 8 * len(FIELDS) + deeper.size > CORE_BYTES


@BOTH
def test_the_deepest_of_several_ways_counts(processor, tmp_path):
    root = "void root(int number) { if (number == 7) { deep(number); } seen = 1; }"
    found = tiny(tmp_path, root, processor).function("root")
    assert found.path == ("root", "deep")
    assert 400 <= found.size <= 440


@BOTH
def test_a_switch_of_many_cases_is_walked(processor, tmp_path):
    cases = "".join(f"case {n}: seen = {n * n * 7919 % 101}; {'deep(number);' * (n == 9)} break;"
                    for n in range(12))  # fmt: skip
    root = f"void root(int number) {{ switch (number) {{ {cases} default: break; }} seen = 1; }}"
    assert tiny(tmp_path, root, processor).function("root").path == ("root", "deep")


@BOTH
@pytest.mark.parametrize(("root", "told"), [
    ("void root(int n) { if (n > 0) { root(n - 1); seen = n; } deep(n); }", "root gets to itself"),
    (
        "static void other(int n); void root(int n) { other(n); seen = 1; } "
        "static __attribute__((noinline)) void other(int n) { if (n) { root(n - 1); } seen = n; }",
        "gets to itself",
    ),
    ("void (*volatile to)(int); void root(int n) { to(n); seen = n; }", "root has blx r"),
    ("void (*volatile to)(int); void root(int n) { to(n); }", "root has bl?x r"),
    (
        "void root(int n) { volatile char room[n]; room[seen] = 1; seen = room[n / 2]; deep(n); }",
        "root has mov sp, r",
    ),
], ids=["recursion", "by another", "pointer", "jump", "a size of its own"])  # fmt: skip
def test_what_has_no_bound_is_refused(root, told, processor, tmp_path):
    with pytest.raises(NoBoundError, match=told):
        tiny(tmp_path, root, processor).function("root")
