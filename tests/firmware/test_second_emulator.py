"""The filled-in board's own program, interrupts and all, on another emulator than ours."""

from __future__ import annotations

import shutil
import socket
import subprocess
import sys
import time
from contextlib import contextmanager

import pytest

from coilward.desk import flash
from coilward.hil.converting import converter
from coilward.hil.far_logic import Compared
from coilward.hil.link import Link, SerialPort
from coilward.hil.logic_side import Being
from coilward.hil.plant_side import PlantSide
from coilward.loop.errors import InputRefused
from coilward.simulator.bench import Bench
from coilward.simulator.night import read_night
from coilward.simulator.rehearsal import Rehearsal
from tests.hil.pairs import CONSTANTS, LOOP, TODAY

QEMU = shutil.which("qemu-system-arm")
MISSING = [name for name in ("qemu-system-arm", "make") if shutil.which(name) is None]
NIGHT = (
    'coilward = 1\nname = "short"\nduration = "1 min"\nstart = "running"\n[[moment]]\n'
    'at = "8 s"\ndo = "fault"\nfault = "pump-dies"\n'
)
SURELY_S = 30.0


@pytest.fixture(scope="module")
def program(tmp_path_factory):
    folder = tmp_path_factory.mktemp("qemu") / "program"
    wanted = flash.Wanted(str(folder), "stm32f407", False, [], 1, False)
    assert flash.flash_loop("greenhouse", wanted, today=TODAY, json_name=None) == 0
    zig = f"CC={sys.executable} -m ziglang cc -target thumb-freestanding-eabi"
    subprocess.run(["make", "-s", zig, "CPU=-mcpu=cortex_m4"], cwd=folder, check=True)
    return folder / "board.elf"


@contextmanager
def running(image):
    """The port of the machine that runs this image; its pins are open, its jumper is in."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        number = free.getsockname()[1]
    wire = f"tcp:127.0.0.1:{number},server=on,wait=off,nodelay=on"
    command = [QEMU, "-M", "netduinoplus2", "-display", "none", "-monitor", "none", "-serial",
               wire, "-kernel", str(image)]  # fmt: skip
    with subprocess.Popen(command, stderr=subprocess.DEVNULL) as process:
        try:
            yield opened(f"socket://127.0.0.1:{number}")
        finally:
            process.kill()


def opened(url):
    end_s = time.monotonic() + SURELY_S
    while True:
        try:
            return SerialPort(url)
        except InputRefused:
            assert time.monotonic() < end_s
            time.sleep(0.1)


@pytest.mark.skipif(bool(MISSING), reason=f"second emulator: {MISSING} not installed")
def test_the_boards_own_program_decides_as_the_reference(program, tmp_path):
    (tmp_path / "short.toml").write_text(NIGHT, "utf-8")
    night = read_night(tmp_path / "short.toml")
    with running(program) as port:
        side = PlantSide(Link(port), Being(CONSTANTS.checksum, CONSTANTS.tick_s, "test"))
        side.greet(SURELY_S)
        assert side.logic["program"].startswith("coilward-stm32f407-")
        held = Compared(side, converter(LOOP), within_s=SURELY_S)
        bench = Bench(LOOP, TODAY, "interpreted", held.logic("second emulator"))
        start = bench.start(night)._replace(settles_s=0.0)
        side.set_state(start.state, SURELY_S)
        Rehearsal(bench, night, start, 1, signalled=True).play(None)
        port.close()
    assert held.tick == 240
    assert held.differences == []
    assert held.far.told() == held.reference.told()
