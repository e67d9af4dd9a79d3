"""What the firmware costs on an emulated processor, and how fast the emulation is.

    python -m benchmarks.emulated            # Cortex-M4
    python -m benchmarks.emulated --m0-plus  # the smallest one

Told: bytes of flash and of memory, part by part; instructions a tick of the decision and of the
line protocol; stack, measured and computed at most; ticks a second through the wire, and in blocks.
"""

from __future__ import annotations

import argparse
import re
import time
from collections import Counter as Tally
from datetime import date
from pathlib import Path

from coilward.controller.constants import constants_for
from coilward.hil.bench.player import Player
from coilward.hil.bench.reactions import over
from coilward.hil.bench.settled import grounds
from coilward.hil.converting import converter
from coilward.hil.emulated.building import FOLDERS, M0_PLUS, M4, build
from coilward.hil.emulated.core import EmulatedCore
from coilward.hil.emulated.counting import Counter
from coilward.hil.emulated.machine import Machine
from coilward.hil.emulated.port import EmulatedPort
from coilward.hil.emulated.stack_bound import MAIN, StackBound
from coilward.hil.emulated.watched import Watched
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.simulator.bench import Bench
from tests.firmware.boards import image as firmware_of
from tests.firmware.twins import TICK_STEPS, do_step, pins_of
from tests.firmware.wild import ticks_of

TODAY = date(2026, 11, 25)
PARTS = ("core", "wire", "board", "arithmetic")
OF_A_LOOP = (
    "LOOP_CONSTANTS", "LOOP_WIRING", "SPARE_CONSTANTS", "SPARE_WIRING", "LOOP_MEMBER",
    "LOOP_MEMBERS", "LOOP_CRC", "LOOP_NAME", "PROGRAM",
)  # fmt: skip
COUNTED = ("coil_decide", "decimal_read", "decimal_write", "frame_decode", "memory_digest")


def decided(core, constants, ticks):
    """Processor seconds for so many random ticks, without a wire."""
    given = ticks_of(1, ticks, constants)
    begun_s = time.process_time()
    core.block(*given, each=True)
    return time.process_time() - begun_s


def names_of(folder):
    """Functions and tables that a folder's sources define, by their names in the image."""
    text = "\n".join(file.read_text("utf-8") for file in Path(folder).glob("*.c"))
    return set(re.findall(r"^[A-Za-z_][\w \*]*?\b(\w+)(?:\(|\[|;| =)", text, re.MULTILINE))


def sizes(machine):
    """Bytes of flash by part; what no source defines comes with the compiler."""
    owners = {name: part for part, folder in zip(PARTS, FOLDERS, strict=True)
              for name in names_of(folder)}  # fmt: skip
    owners |= dict.fromkeys(OF_A_LOOP, "loop")
    tally = Tally()
    for name, size in machine.extents.items():
        place = machine.symbols[name]
        kind = "memory" if place >= 0x2000_0000 else "flash"
        plain = re.sub(r"\.\d+$|\.llvm.*$", "", name.rpartition(".")[2] or name)
        tally[kind, owners.get(name) or owners.get(plain) or "compiler"] += size
    return tally


def play(machine, ticks, ground, loop, constants):
    """A fire whose water stops half-way; processor seconds of the emulation alone."""
    port = EmulatedPort(machine)
    player = Player(lambda: port, constants, converter(loop))
    scene = ground.burning.copy()
    held = player.begin(scene.state)
    over(held, scene)
    spent_s, run = [0.0], machine.run

    def timed():
        begun_s = time.process_time()
        run()
        spent_s[0] += time.process_time() - begun_s

    machine.run = timed
    for tick in range(ticks):
        if tick == ticks // 2:
            scene.stop_water()
        scene.tick()
    if held.differing:
        raise SystemExit(f"{held.differing} ticks differ: {held.differences[0].words}")
    return spent_s[0]


def off_the_bench(processor):
    """A minute in which the pump dies, on a board that nobody is wired to; the greenhouse's."""
    board = Watched(firmware_of(processor))
    counter = Counter(board, "running_watch")
    pins = pins_of("pump dies", 60.0)
    board.pins |= pins[0]
    board.run()
    for step in range(TICK_STEPS * len(pins)):
        do_step(board, pins, step)
    return counter


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--loop", default="greenhouse")
    parser.add_argument("--m0-plus", action="store_true")
    parser.add_argument("--ticks", type=int, default=2000)
    asked = parser.parse_args()
    processor = M0_PLUS if asked.m0_plus else M4
    loop = read_loop(asked.loop)
    constants = constants_for(loop, derive(loop, TODAY))
    image = build(loop, constants, TODAY, processor)
    ground = grounds(Bench(loop, TODAY, "interpreted"))
    machine = Machine(image, processor=processor)
    for (kind, part), size in sorted(sizes(machine).items()):
        print(f"{kind:7} {part:11} {size:7,} bytes")
    print("sections", {name: size for name, size in machine.sizes.items() if size})
    bound = StackBound(image)
    for function in COUNTED:
        counted = Machine(image, processor=processor)
        counter = Counter(counted, function)
        play(counted, 60, ground, loop, constants)
        mean = sum(counter.counts) / len(counter.counts)
        print(f"{function:15} {mean:9,.0f} instructions a call, {max(counter.counts):,} at most; "
              f"stack {counter.stack:,} of {bound.function(function).size:,}, "
              f"of all {counter.deepest:,} of {bound.function(MAIN).size:,}")  # fmt: skip
    whole = bound.board()
    print(f"stack at most, computed: {whole.size:,} bytes by {' > '.join(whole.path)}")
    watched = off_the_bench(processor)
    print(f"off the bench, with its checks: {max(watched.counts):,} instructions a tick at most; "
          f"of all {watched.deepest:,}")  # fmt: skip
    spent_s = play(machine, asked.ticks, ground, loop, constants)
    print(f"through the wire: {asked.ticks / spent_s:,.0f} ticks a second")
    core = EmulatedCore(loop, constants, TODAY, processor)
    spent_s = decided(core, constants, asked.ticks)
    print(f"random ticks, in blocks: {asked.ticks / spent_s:,.0f} a second")


if __name__ == "__main__":
    main()
