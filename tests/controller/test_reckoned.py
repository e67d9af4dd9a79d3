"""What a tick would sum up of constants alone is reckoned once: none is left in the logic."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from coilward import controller
from coilward.loop.shipped import loop_names
from tests.controller.rig import constants_of

MADE_BEFORE = {"constants.py", "reckoned.py"}
"""Where the sums stand that are made once for a loop."""


def root_of(node):
    """The name at the start of a chain of fields and places, or None."""
    while isinstance(node, ast.Attribute | ast.Subscript):
        node = node.value
    return node.id if isinstance(node, ast.Name) else None


def names_in(target, value):
    """Pairs of a name and what is bound to it."""
    if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
        for each in zip(target.elts, value.elts, strict=True):
            yield from names_in(*each)
    elif isinstance(target, ast.Name):
        yield target.id, value


def of_constants(function):
    """Names that only ever stand for constants of the loop, or for a part of them."""
    found, others = {"constants"}, set()
    for node in ast.walk(function):
        if isinstance(node, ast.Assign):
            for name, value in names_in(node.targets[0], node.value):
                (found if root_of(value) in found else others).add(name)
    return found - others


def sums_of_constants(text):
    """Operations of one text between a loop's constants and numbers alone."""
    found = []
    for function in ast.walk(ast.parse(text)):
        if not isinstance(function, ast.FunctionDef):
            continue
        known = of_constants(function)
        for node in ast.walk(function):
            if isinstance(node, ast.BinOp):
                named = [leaf for leaf in leaves(node) if not isinstance(leaf, ast.Constant)]
                roots = [root_of(leaf) or "" for leaf in named]
                if known & {*roots} and all(each in known or each.isupper() for each in roots):
                    found.append(ast.unparse(node))
    return found


def leaves(node):
    """What an operation is between, through all operations in it."""
    if isinstance(node, ast.BinOp):
        return [*leaves(node.left), *leaves(node.right)]
    return leaves(node.operand) if isinstance(node, ast.UnaryOp) else [node]


def test_a_tick_sums_no_constants():
    files = [file for file in Path(controller.__file__).parent.glob("*.py")
             if file.name not in MADE_BEFORE]  # fmt: skip
    assert len(files) > 15
    left = {file.name: sums for file in files if (sums := sums_of_constants(file.read_text()))}
    assert left == {}


@pytest.mark.parametrize(("line", "sums"), [
    ("a = b_k < 2.0 * constants.tick_s", 1),
    ("water = constants.water\n    a = water.open_lpm - LIMIT_LPM", 1),
    ("d, w = constants.doubt, constants.water\n    a = -w.lag_s + constants.tick_s", 1),
    ("a = constants.tick_s * seen.flow_lpm", 0),
    ("a = constants.tick_s * abs(2.0)", 0),
    ("a = 2.0 * LIMIT_LPM", 0),
    ("a = constants.tick_s\n    a = seen.still_s\n    b = 2.0 * a", 0),
])  # fmt: skip
def test_a_sum_of_constants_would_be_found(line, sums):
    assert len(sums_of_constants(f"def f(seen, constants):\n    {line}\n")) == sums


@pytest.mark.parametrize("name", loop_names())
def test_what_is_reckoned_stands_on_its_own_side(name):
    """Of what it was reckoned from, as the words of the rows have it."""
    c = constants_of(name)
    r = c.reckoned
    assert r.outlet_cooled_c < c.limits.outlet_dump_c
    assert r.tank_cooled_c < c.limits.tank_trip_c
    assert r.outlet_rests_c < c.limits.outlet_warn_c
    assert 0.0 < r.outlet_spins_k < r.outlet_rises_k
    assert r.supply_low_v < c.power.rated_v < r.supply_rests_v
    assert r.pump_rests_a < c.power.pump_low_a
    assert r.healthy_lpm == pytest.approx(0.8 * c.water.open_lpm)
    assert r.needs_v_lpm * c.water.open_lpm == pytest.approx(c.power.rated_v)
    assert r.curve_low_v * c.power.rated_v < 1.0 < r.curve_high_v * c.power.rated_v
    assert c.valve.travel_s < r.valve_answers_s < r.valve_judged_s
    assert r.least_heat_w < c.water.heat_largest_w
    assert r.coil_lpm_s / c.water.open_lpm == pytest.approx(c.water.transit_s)
    assert r.boil_j_k <= c.water.coil_j_k
