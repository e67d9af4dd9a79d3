"""The same firmware as a process of this machine, behind a real pseudo terminal."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from coilward.controller.firmware import CORE
from coilward.hil.bench.player import Player
from coilward.hil.bench.reactions import over
from coilward.hil.dead_man import SILENT_S
from coilward.hil.firmware.wiring import loop_files
from coilward.hil.link import SerialPort
from tests.firmware.hosted import SOURCES, ZIG, compiled
from tests.hil.benches import settled
from tests.hil.pairs import CONSTANTS, CONVERT, LOOP, TODAY


@pytest.fixture(scope="module")
def program(tmp_path_factory):
    """The program of the process."""
    folder = tmp_path_factory.mktemp("board")
    for name, text in loop_files(LOOP, CONSTANTS, TODAY, "host").items():
        (folder / name).write_text(text, "utf-8")
    files = [*CORE.glob("*.c"), *SOURCES.glob("*.c"), *folder.glob("*.c")]
    compiled(
        ZIG, f"-I{SOURCES}", f"-I{CORE}", f"-I{folder}", *map(str, files),
        str(Path(__file__).parent / "host_board.c"), "-o", str(folder / "board"),
    )  # fmt: skip
    return folder / "board"


@pytest.fixture
def port(program):
    process = subprocess.Popen([program], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    opened = SerialPort(process.stdout.readline().strip())
    yield opened
    opened.close()
    process.stdin.close()
    assert process.wait(5.0) == 0
    process.stdout.close()


def test_a_fire_whose_water_stops_is_decided_as_the_reference_does(port):
    player = Player(lambda: port, CONSTANTS, CONVERT)
    scene = settled().burning.copy()
    held = player.begin(scene.state)
    over(held, scene)
    for tick in range(400):
        if tick == 40:
            scene.stop_water()
        if tick == 200:
            scene.reboot(outage_s=2.0)
        scene.tick()
    assert held.differing == 0
    assert held.tick == 400


def test_its_dead_man_acts_after_two_seconds(port):
    player = Player(lambda: port, CONSTANTS, CONVERT)
    scene = settled().burning.copy()
    held = player.begin(scene.state)
    over(held, scene)
    scene.run(1.0)
    passed_s = player.silence(SILENT_S + 1.0)
    assert SILENT_S - 0.1 < passed_s < SILENT_S + 0.5
    assert player.side.silent["fans"] == 1.0
    assert player.side.silent["damper_open"] == 0
    scene.tick()
    assert player.side.told_silent == 1
