"""The constants of a loop in C, read back from compiled memory: every bit of every number.

The oracle is Python's own memory: `struct` packs what the rehearsal runs on, field by field.
"""

from __future__ import annotations

import ctypes
import math
from datetime import date

import pytest

from coilward.controller.firmware import __main__ as command
from coilward.controller.firmware.loop_constants import files_of
from coilward.hil.host_core import HostCore, build
from coilward.loop.shipped import loop_names
from tests.controller.rig import NAN, TODAY, constants_of

C_KINDS = {float: ctypes.c_double, bool: ctypes.c_bool, int: ctypes.c_int64}


def structure(value) -> type[ctypes.Structure]:
    """The layout that a C compiler gives to a named tuple."""
    fields = []
    for name, part in value._asdict().items():
        if hasattr(part, "_fields"):
            kind = structure(part)
        elif isinstance(part, tuple):
            kind = C_KINDS[type(part[0])] * len(part)
        else:
            kind = C_KINDS[type(part)]
        fields.append((name, kind))
    return type(type(value).__name__, (ctypes.Structure,), {"_fields_": fields})


def same(found, value, where: str) -> int:
    """Compares all numbers, and counts them."""
    count = 0
    for name, part in value._asdict().items():
        place, got = f"{where}.{name}", getattr(found, name)
        if hasattr(part, "_fields"):
            count += same(got, part, place)
        elif isinstance(part, tuple):
            assert list(got) == list(part), place
            count += len(part)
        else:
            exact = got.hex() == part.hex() if isinstance(part, float) else got == part
            assert exact, (place, got, part)
            count += 1
    return count


@pytest.mark.parametrize("compiler", ["gcc", "zig"])
@pytest.mark.parametrize("name", loop_names())
def test_every_number_of_a_loop_comes_back(name, compiler):
    constants = constants_of(name)
    core = HostCore(constants, compiler)
    assert same(core.number("LOOP_CONSTANTS", structure(constants)), constants, name) > 90


def test_strange_numbers_come_back(tmp_path):
    constants = constants_of()
    limits = constants.limits._replace(
        boil_c=0.1 + 0.2, allow_c=5e-324, set_point_c=-0.0, outlet_warn_c=1.7976931348623157e308,
        outlet_dump_c=-math.inf, outlet_hh_c=-1.0 / 3.0, tank_warn_c=math.inf,
    )
    strange = constants._replace(limits=limits)
    core = HostCore(strange, "gcc")
    same(core.number("LOOP_CONSTANTS", structure(strange)), strange, "strange")
    lost = constants._replace(limits=constants.limits._replace(boil_c=NAN))
    assert "NOT_KNOWN" in files_of("lost", TODAY, lost)["loop_constants.c"]


def test_the_checksum_is_the_one_that_a_session_tells():
    constants = constants_of()
    text = files_of("greenhouse", TODAY, constants)["loop_constants.c"]
    assert f".checksum = INT64_C({constants.checksum})" in text


def test_a_name_cannot_leave_its_string():
    text = files_of('a"; int x = 1; //\\\n', TODAY, constants_of())["loop_constants.c"]
    assert 'LOOP_NAME[] = "a?? int x ? 1? ????";' in text


def test_the_command_writes_what_compiles(tmp_path, capsys):
    asked = ["--loop", "boathouse", "--day", "2026-11-25", "--to", str(tmp_path)]
    assert command.main(asked) == 0
    assert capsys.readouterr().out == ""
    files = {path.name: path.read_text("utf-8") for path in tmp_path.iterdir()}
    assert files == files_of("boathouse", date(2026, 11, 25), constants_of("boathouse"))
    build([], files, tmp_path / "constants.so", "gcc")
    loaded = ctypes.CDLL(str(tmp_path / "constants.so"))
    assert (ctypes.c_char * 10).in_dll(loaded, "LOOP_NAME").value == b"boathouse"
    assert (ctypes.c_char * 11).in_dll(loaded, "LOOP_DAY").value == b"2026-11-25"
