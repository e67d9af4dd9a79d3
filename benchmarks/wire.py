"""The same decisions over a real pseudo terminal and without any wire: one hash.

    python -m benchmarks.wire                       # whole nights in lockstep
    python -m benchmarks.wire --minutes 20 --clock  # twenty minutes against the clock, with a fault
    python -m benchmarks.wire --bit-errors 1e-4 --minutes 20

The reference board runs in a process of its own. The plant is played to it tick by tick; beside
it the reference decides on the very same readings, and afterwards the night is rehearsed once more
without a wire. Told: the three hashes, the ticks that differ, lines that arrived spoilt or were
sent again, and against the clock how late the answers came.
"""

from __future__ import annotations

import argparse
import time
from datetime import date

from coilward.controller.constants import constants_for
from coilward.hil.converting import converter
from coilward.hil.far_logic import Compared, Hash, near_logic
from coilward.hil.link import Link, SerialPort
from coilward.hil.logic_side import Being
from coilward.hil.plant_side import PlantSide
from coilward.hil.pretended import Pretended
from coilward.hil.wire_faults import BadPort, Wire
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.simulator.bench import Bench
from coilward.simulator.night import read_night
from coilward.simulator.rehearsal import Rehearsal

TODAY = date(2026, 11, 25)
NIGHTS = ("quiet", "pump-dies", "fans-fail", "board-reboots")


class Paced(Compared):
    """Waits for each tick's moment, where there is a clock, and takes the time of each answer."""

    def __init__(self, side, convert, *, clock):
        super().__init__(side, convert)
        self.clock, self.began_s, self.took_s = clock, None, []

    def decide(self, readings, requests, state, constants):
        if self.clock and readings.time_s >= 0.0:
            now_s = time.monotonic()
            self.began_s = now_s if self.began_s is None else self.began_s
            time.sleep(max(0.0, self.began_s + readings.time_s - now_s))
        asked_s = time.monotonic()
        decision = super().decide(readings, requests, state, constants)
        self.took_s.append(time.monotonic() - asked_s)
        return decision


def shortened(night, minutes):
    """The night's first fault after a third of the time, and nothing else."""
    faults = [moment for moment in night.moment if moment.do == "fault"][:1]
    moved = [moment.model_copy(update={"at_s": 20.0 * minutes}) for moment in faults]
    return night.model_copy(update={"duration_s": 60.0 * minutes, "moment": moved})


def played(loop, night, seed, asked):
    """One night over the terminal, and once more without: what there is to tell of it."""
    constants = constants_for(loop, derive(loop, TODAY))
    with Pretended(loop.name, TODAY) as board:
        port = BadPort(SerialPort(board.url), Wire(bit_errors=asked.bit_errors), seed)
        side = PlantSide(Link(port), Being(constants.checksum, constants.tick_s, "benchmark"))
        side.greet(10.0)
        over = Paced(side, converter(loop), clock=asked.clock)
        bench = Bench(loop, TODAY, "interpreted", over.logic("over the wire"))
        start = bench.start(night)
        side.set_state(start.state, 10.0)
        began_s = time.monotonic()
        Rehearsal(bench, night, start, seed).play(None)
        lasted_s = time.monotonic() - began_s
        bad, again = side.link.decoder.bad, side.sent_again
    near = Hash()
    bench = Bench(loop, TODAY, "interpreted", near_logic(converter(loop), near))
    Rehearsal(bench, night, bench.start(night), seed).play(None)
    took = sorted(over.took_s)
    return {
        "ticks": over.far.ticks, "board": over.far.told(), "reference": over.reference.told(),
        "without a wire": near.told(), "ticks that differ": over.differing,
        "spoilt lines heard": bad, "sent again": again, "pieces spoilt": port.touched,
        "lasted_s": round(lasted_s, 1),
        "times the clock": round(over.far.ticks * constants.tick_s / lasted_s, 1),
        "answer, ms: median": round(1e3 * took[len(took) // 2], 2),
        "p99.9": round(1e3 * took[int(0.999 * len(took))], 2), "worst": round(1e3 * took[-1], 2),
    }  # fmt: skip


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--loop", default="greenhouse")
    parser.add_argument("--night", nargs="*", default=None)
    parser.add_argument("--minutes", type=float, default=None)
    parser.add_argument("--clock", action="store_true")
    parser.add_argument("--bit-errors", type=float, default=0.0)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    loop = read_loop(asked.loop)
    for name in asked.night or (("pump-dies",) if asked.minutes else NIGHTS):
        night = read_night(name)
        if asked.minutes:
            night = shortened(night, asked.minutes)
        print(name, played(loop, night, asked.seed, asked), flush=True)


if __name__ == "__main__":
    main()
