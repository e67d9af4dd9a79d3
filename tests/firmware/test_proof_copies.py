"""The proofs' own copies of the core are the core but for what they say."""

from __future__ import annotations

import re
import shutil
import subprocess

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilward.controller.sensing import follow
from tests.firmware.proofs.copying import NUMBERS, alone, narrowed, summed, with_contracts
from tests.firmware.proofs.proving import SOURCES

CORE = SOURCES[0]
REAL = """#define product(x, y) ((x) * (y))
#define quotient(x, y) ((x) / (y))
"""
SUMS = "#define __CPROVER_uninterpreted_sum(x, y) ((x) + (y))\n"
needs_compiler = pytest.mark.skipif(shutil.which("cc") is None, reason="no C compiler here")


def _compiled(text, folder):
    file = folder / "module.c"
    file.write_text(text, "utf-8")
    command = ["cc", "-std=c11", "-O2", "-S", "-o", "-", "-I", str(CORE), "-I", str(folder), file]
    return subprocess.run(command, capture_output=True, text=True, check=True).stdout


def _text(module):
    return (CORE / f"{module}.c").read_text("utf-8")


@needs_compiler
@pytest.mark.parametrize("module", ["valve", "sensing", "estimating", "causing", "doubting"])
def test_with_real_operators_the_contracts_give_the_same_program(module, tmp_path):
    (tmp_path / "floats.h").write_text(REAL, "utf-8")
    copy = with_contracts(_text(module))
    assert "product(" in copy
    assert _compiled(copy, tmp_path) == _compiled(_text(module), tmp_path)


@needs_compiler
@pytest.mark.parametrize("module", ["decide", "acting", "by_hand"])
def test_with_real_sums_the_copy_is_the_same_program(module, tmp_path):
    copy = summed(_text(module))
    declared = re.search(r"double __CPROVER.*\n", copy)
    assert copy.count("__CPROVER_uninterpreted_sum") > 1
    real = copy.replace(declared[0], SUMS)
    assert _compiled(real, tmp_path) == _compiled(_text(module), tmp_path)


def test_no_product_of_variables_is_left_in_the_valve():
    code = with_contracts(_text("valve"))
    assert not re.search(r"[a-z_)] [*/] [a-z(]", code)


def test_curve_stands_alone_and_floats_are_narrow():
    copy = alone(_text("causing"))
    assert "const __typeof__(constants->valve.slope_lpm) alone" in copy
    assert copy.count("alone.at[") == _text("causing").count(".at[") >= 3
    assert "double" not in narrowed(_text("sensing"))
    numbers = narrowed((CORE / "numbers.h").read_text("utf-8"))
    assert "64_t bits" not in numbers
    assert numbers.count("UINT16_C(0x7c00)") == 3
    assert NUMBERS in _text("valve")


def test_the_emergency_button_is_read_once_and_raises_its_own_cause_alone():
    reads = [
        line for file in CORE.glob("*.c") for line in file.read_text("utf-8").splitlines()
        if "->emergency" in line
    ]
    assert reads == ["    if (requests->emergency) {"]
    assert "    if (requests->emergency) {\n        mask |= EMERGENCY;\n    }\n" in _text("causing")


@settings(max_examples=2000)
@given(
    slow=st.floats(-1e6, 1e6), value=st.floats(-1e6, 1e6),
    share=st.floats(0.0, 0.5, exclude_min=True),
)
def test_a_filters_step_in_doubles_is_between_as_proved_in_narrow_floats(slow, value, share):
    """Monotonic rounding: IEEE 754-2019, clause 4.3."""
    assert min(slow, value) <= follow(slow, value, share) <= max(slow, value)
