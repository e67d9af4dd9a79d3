"""The emulated board as a port: what is written to it is answered when it is read."""

from __future__ import annotations

import time
from datetime import date

from coilward.controller.constants import constants_for
from coilward.hil.emulated.building import build
from coilward.hil.emulated.machine import Machine
from coilward.hil.link import WAIT_S
from coilward.loop.derived import derive
from coilward.loop.model import Loop


def emulated_port(loop: Loop, today: date) -> EmulatedPort:
    """The port of an emulated board that carries this loop's firmware, on the bench.

    Raises InputRefused where compiler or emulator are not installed.
    """
    constants = constants_for(loop, derive(loop, today))
    return EmulatedPort(Machine(build(loop, constants, today)))


class EmulatedPort:
    """A port whose other end is a machine that runs only while it is read: in lockstep.

    The board's clock stands still while it has something to say, and passes as ours does while
    both wait.
    """

    def __init__(self, machine: Machine) -> None:
        """Takes over the machine; it runs on where it was."""
        self.machine = machine

    def read(self) -> bytes:
        """What the board says to what was written, after waiting a moment if it says nothing."""
        self.machine.run()
        if not self.machine.gone:
            self.machine.now_ms += self.wait()
            self.machine.run()
        said = bytes(self.machine.gone)
        self.machine.gone.clear()
        return said

    def wait(self) -> int:
        """Waits a moment; how many milliseconds it was."""
        begun_s = time.monotonic()
        time.sleep(WAIT_S)
        return round(1000 * (time.monotonic() - begun_s))

    def write(self, data: bytes) -> None:
        """Send bytes."""
        self.machine.come += data

    def close(self) -> None:
        """What is on its way is lost."""
        self.machine.come.clear()
        self.machine.gone.clear()
