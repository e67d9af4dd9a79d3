"""Every broken file is refused with one clear message, and with nothing but InputRefused."""

from __future__ import annotations

import contextlib
import os
import random
from pathlib import Path
from typing import Any

import pytest

from coilward.loop.document import read_loop
from coilward.loop.errors import InputRefused
from coilward.simulator.night import read_night

from .broken_files import BROKEN_FILES, CASES, GOOD, Case, written

READ: dict[str, Any] = {"loop": read_loop, "night": read_night}


def refusal(kind: str, path: Path) -> InputRefused:
    with pytest.raises(InputRefused) as caught:
        READ[kind](path)
    return caught.value


def test_the_table_is_large_enough_and_its_names_differ() -> None:
    assert len(BROKEN_FILES) >= 40
    assert len({name for name, _, _ in BROKEN_FILES}) == len(BROKEN_FILES)


@pytest.mark.parametrize("kind", ["loop", "night"])
def test_the_files_that_the_table_breaks_are_good(kind: str, tmp_path: Path) -> None:
    READ[kind](written(GOOD[kind])(tmp_path))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_refused_with_file_line_value_and_what_is_accepted(case: Case, tmp_path: Path) -> None:
    path = case.make(tmp_path)
    refused = refusal(case.kind, path)
    message = str(refused)
    for words in (str(path), "Accepted: ", *case.says):
        assert words in message, message
    assert len(refused.faults) == len(message.splitlines())
    if case.at is not None:
        lines = path.read_text(encoding="utf-8").splitlines()
        first = refused.faults[0].line
        assert first is not None, message
        assert lines[first - 1].startswith(case.at), message


@pytest.mark.parametrize("kind", ["loop", "night"])
@pytest.mark.skipif(os.geteuid() == 0, reason="root reads any file")
def test_a_file_without_permission(kind: str, tmp_path: Path) -> None:
    path = written(GOOD[kind])(tmp_path)
    path.chmod(0)
    assert "cannot be read" in str(refusal(kind, path))


@pytest.mark.parametrize("name", ["", "no\0name", "x" * 5000, "greenhous", "quite"])
@pytest.mark.parametrize("kind", ["loop", "night"])
def test_a_name_that_is_no_file(kind: str, name: str) -> None:
    with pytest.raises(InputRefused) as caught:
        READ[kind](name)
    assert len(str(caught.value).splitlines()) == 1


def test_a_mistyped_shipped_name_gets_the_nearest() -> None:
    with pytest.raises(InputRefused, match='"greenhouse"'):
        read_loop("greenhous")
    with pytest.raises(InputRefused, match='"quiet"'):
        read_night("quite")


def test_all_faults_come_at_once_in_the_order_of_their_lines(tmp_path: Path) -> None:
    text = GOOD["loop"]
    for old, new in (
        ('hose_rated = "95 degC"', "hose_rated = 95"),
        ('largest = "18 kW"', 'largest = "9 kW"'),
        ('altitude = "1000 m"', 'altitud = "1000 m"'),
        ('head = "26 kPa"', 'head = "26 kW"'),
    ):
        text = text.replace(old, new, 1)
    refused = refusal("loop", written(text)(tmp_path))
    lines = [fault.line for fault in refused.faults if fault.line is not None]
    assert [fault.key for fault in refused.faults] == [
        "site.altitud", "fire.largest", "pump.curve.4.head", "limits.hose_rated",
    ]  # fmt: skip
    assert lines == sorted(lines)
    assert len(lines) == 4


@pytest.mark.parametrize("kind", ["loop", "night"])
@pytest.mark.parametrize("seed", range(4))
def test_a_damaged_file_is_read_or_refused_and_nothing_else(
    kind: str, seed: int, tmp_path: Path
) -> None:
    chance = random.Random(seed)
    whole = GOOD[kind].encode()
    for _ in range(25):
        damaged = bytearray(whole)
        for _ in range(chance.randint(1, 4)):
            damaged[chance.randrange(len(damaged))] = chance.randrange(256)
        if chance.random() < 0.3:
            del damaged[chance.randrange(len(damaged)) :]
        with contextlib.suppress(InputRefused):
            READ[kind](written(bytes(damaged))(tmp_path))


@pytest.mark.parametrize("text", [
    "coilward = 1\nsite = " + "{ a = " * 200 + "1" + " }" * 200,
    "coilward = 1\nsite." + "a." * 2000 + "a = 1",
    "coilward = 1\nsite = 1" + "0" * 5000,
    "coilward = 1\n[[site]]\n[[site]]\n",
    'coilward = 1\n"si te" = 1\nsite = """\n[x]\n"""\n',
    "coilward = true",
])  # fmt: skip
def test_odd_but_possible_texts(text: str, tmp_path: Path) -> None:
    assert "Accepted: " in str(refusal("loop", written(text)(tmp_path)))
