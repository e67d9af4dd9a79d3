"""The C core against the controller that it was made from: every bit, every number, every tick.

Two compilers that know nothing of each other (gcc; clang, by way of Zig) and the interpreter.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from coilward.controller.phases import PHASES
from coilward.controller.state import after_reboot, first_state
from coilward.hil.host_core import HostCore, chosen, compilers
from coilward.hil.tick import flat, unflat
from coilward.loop.errors import InputRefused
from tests.controller.rig import constants_of, everything_fitted
from tests.firmware.replayed import difference_on
from tests.firmware.wild import bits, decided_by_python, difference, ticks_of
from tests.hil import made

COUNT = 20_000
ALL = {
    "greenhouse": lambda: constants_of("greenhouse"),
    "everything": everything_fitted,
    "hot-tub": lambda: constants_of("hot-tub"),
}
NIGHTS = {
    "pump-dies": ("6 min", "3 min"), "board-reboots": ("6 min", "3 min"),
    "meter-dead": ("8 min", "2 min"), "outlet-a-open": ("6 min", "3 min"),
    "tank-open": ("6 min", "3 min"),
}  # fmt: skip


@cache
def core(loop: str, compiler: str) -> HostCore:
    return HostCore(ALL[loop](), compiler)


@cache
def random_ticks(loop: str):
    constants = ALL[loop]()
    ticks = ticks_of(len(loop), COUNT, constants)
    return ticks, decided_by_python(ticks, constants, range(COUNT))


@pytest.mark.parametrize("loop", ALL)
@pytest.mark.parametrize("compiler", ["gcc", "zig"])
def test_every_bit_of_wild_ticks(loop, compiler):
    ticks, theirs = random_ticks(loop)
    assert difference(core(loop, compiler).block(*ticks, each=True), theirs) == ""


@pytest.mark.parametrize("loop", ALL)
def test_wild_ticks_reach_every_phase(loop):
    _, (_, wholes) = random_ticks(loop)
    assert set(wholes[0].tolist()) == set(range(len(PHASES)))


@pytest.mark.parametrize("fault", NIGHTS)
def test_every_bit_of_a_faulted_night(fault):
    night = made.night(fault, *NIGHTS[fault])
    assert difference_on(night, core("greenhouse", compilers()[0])) == ""


@pytest.mark.parametrize("fire", [0, 1, 2])
@pytest.mark.parametrize("phase", range(len(PHASES)))
def test_the_first_state_is_the_same(phase, fire):
    ours = core("greenhouse", "gcc").first(phase, fire)
    floats, wholes = flat(first_state(constants_of(), phase, fire))
    assert np.array_equal(bits(*ours), bits(np.array(floats), np.array(wholes)))


def test_a_restart_makes_the_same_of_any_state():
    ticks, _ = random_ticks("greenhouse")
    for at in range(500):
        floats, wholes = ticks.floats[:, at].tolist(), ticks.wholes[:, at].tolist()
        ours = core("greenhouse", "gcc").rebooted(floats, wholes)
        theirs = flat(after_reboot(unflat(floats, wholes)))
        assert np.array_equal(bits(*ours), bits(np.array(theirs[0]), np.array(theirs[1]))), at


def test_a_compiler_that_is_not_there_is_refused():
    with pytest.raises(InputRefused, match="no such compiler is there"):
        chosen("tcc")


def test_a_table_of_another_length_is_refused():
    ticks, _ = random_ticks("greenhouse")
    with pytest.raises(ValueError, match="a column a tick"):
        core("greenhouse", "gcc").block(*ticks._replace(asked=ticks.asked[:-1]), each=True)
    with pytest.raises(ValueError, match="a column a tick"):
        core("greenhouse", "gcc").block(*ticks._replace(wholes=ticks.floats), each=True)
