"""A folder's own sources as machine code, against the reference, through whole nights."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import NamedTuple

from coilward.controller.constants import Constants
from coilward.controller.decide import Decision
from coilward.controller.state import State
from coilward.hil import emulated
from coilward.hil.bench.settled import begun
from coilward.hil.converting import converter
from coilward.hil.emulated.building import Processor, compiled
from coilward.hil.emulated.machine import Machine
from coilward.hil.emulated.port import EmulatedPort
from coilward.hil.emulated.remembered import state_in
from coilward.hil.far_logic import Compared
from coilward.hil.link import Link
from coilward.hil.logic_side import Being
from coilward.hil.plant_side import Answer, PlantSide
from coilward.loop.model import Loop
from coilward.simulator.bench import Bench, Start
from coilward.simulator.night import Night
from coilward.simulator.rehearsal import Rehearsal

ANSWERS_S = 10.0


class Verified(NamedTuple):
    """What one night showed."""

    night: str
    processor: str
    ticks: int
    differing: int
    digest: str
    """One hash over every tick of the machine code."""
    expected: str
    first: str
    """The first tick that differs and how, in words; empty where none does."""
    states: tuple[State, State] | None
    """At that tick: of the machine code, of the reference."""

    @property
    def identical(self) -> bool:
        """Whether every tick was as the reference decides it."""
        return self.differing == 0 and self.digest == self.expected


class _Watched(Compared):
    """Takes both states down at the first tick that differs."""

    machine: Machine
    states: tuple[State, State] | None = None

    def _hold(self, answer: Answer, expected: Decision) -> None:
        super()._hold(answer, expected)
        if self.differing and self.states is None:
            self.states = (state_in(self.machine), expected.state)


def image_of(folder: Path, processor: Processor) -> bytes:
    """The folder's core, arithmetic, wire and loop as an image for the emulated board.

    Raises InputRefused where there is no compiler, RuntimeError where it refuses the sources.
    """
    here = Path(emulated.__file__).parent
    parts = (folder / name for name in ("core", "arithmetic", "wire", "loop"))
    return compiled((*parts, here), processor)


def verified(
    image: bytes, processor: Processor, loop: Loop, constants: Constants, today: date,
    night: Night, plant: Start, seed: int, progress: Callable[[float], None] | None,
) -> Verified:  # fmt: skip
    """One night, played to the machine code over its wire; ``plant`` has settled already.

    Raises LinkLost and Refused.
    """
    machine = Machine(image, processor=processor)
    side = PlantSide(
        Link(EmulatedPort(machine)), Being(constants.checksum, constants.tick_s, "verify")
    )
    side.greet(ANSWERS_S)
    held = _Watched(side, converter(loop))
    held.machine = machine
    bench = Bench(loop, today, "interpreted", held.logic("machine code"))
    start = begun(bench, night, plant)
    side.set_state(start.state, ANSWERS_S)
    Rehearsal(bench, night, start, seed, signalled=True).play(progress)
    first = ""
    if held.differences:
        first = f"tick {held.differences[0].tick}: {held.differences[0].words}"
    return Verified(
        night.name, processor.name, held.tick, held.differing, held.far.told(),
        held.reference.told(), first, held.states,
    )  # fmt: skip
