"""The C core against the controller that it was made from, bit by bit, over very many ticks.

    python -m benchmarks.firmware all [--share 0.01]     # the three below, with their usual counts
    python -m benchmarks.firmware host [--ticks 1000000] [--nights 500] [--hours 4]
    python -m benchmarks.firmware emulated [--ticks 1000000] [--episodes 500] [--minutes 10]
    python -m benchmarks.firmware emulated --processor m0plus [--ticks 100000] [--episodes 50]

As a library of this computer, and as machine code on an emulated processor. Random ticks, each
from a state of its own, against the interpreter; then whole faulted nights, every tick of which is
recorded in closed loop and decided again by both, one from the other. Of each kind of difference
the first is printed, with both states and with what shows it again. An interruption says how to go
on. Leaves with 1 where anything differs.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass

from benchmarks.agreeing import DAY, Wanted, constants_of, nights, random_ticks
from coilward.hil.emulated.building import M0_PLUS, M4
from coilward.hil.emulated.core import EmulatedCore
from coilward.hil.host_core import HostCore
from coilward.loop.document import read_loop

LOOPS = ["greenhouse", "boathouse", "hot-tub"]
PROCESSORS = {"m4": M4, "m0plus": M0_PLUS}


@dataclass(frozen=True)
class Usual:
    """How much is looked at where nothing else is asked for."""

    ticks: int
    nights: int


HOST = Usual(1_000_000, 500)
EMULATED = {"m4": Usual(1_000_000, 500), "m0plus": Usual(100_000, 50)}
HOURS, MINUTES = 4.0, 10.0


def host(told, usual):
    """Nights of some hours, most of them to where the story ends."""
    compiler = f" --compiler {told.compiler}" if told.compiler else ""
    return Wanted(
        command=f"host --hours {told.hours:g}{compiler}",
        core_of=lambda name: HostCore(constants_of(name), told.compiler),
        loops=told.loops, ticks=usual.ticks, nights=usual.nights, seed=told.seed,
        first=told.first, block=10_000,
        lasts_s=lambda story: max(story.lasts_s, 3600.0 * told.hours - story.onset_s),
    )  # fmt: skip


def emulated(told, processor, usual):
    """The minutes after the fault's onset, which have nearly all that it does."""
    def core_of(name):
        return EmulatedCore(read_loop(name), constants_of(name), DAY, PROCESSORS[processor])

    return Wanted(
        command=f"emulated --processor {processor} --minutes {told.minutes:g}", core_of=core_of,
        loops=told.loops, ticks=usual.ticks, nights=usual.nights, seed=told.seed,
        first=told.first, block=2_000, lasts_s=lambda _: 60.0 * told.minutes,
        nights_word="episodes",
    )  # fmt: skip


def agrees(wanted, case=None):
    """Whether nothing differs; tells what it looks at and what it has found."""
    print(f"{wanted.command}, loops {' '.join(wanted.loops)}, seed {wanted.seed}", flush=True)
    parts = {}
    if wanted.ticks and case is None:
        parts[f"{wanted.ticks:,} random ticks"] = random_ticks(wanted)
    if wanted.nights:
        parts[case or f"{wanted.nights} {wanted.nights_word}"] = nights(wanted, case)
    for what, differing in parts.items():
        print(f"{what}: {differing.summary()}", flush=True)
    return not any(differing.kinds for differing in parts.values())


def everything(told):
    """All cores, a share of their usual counts."""
    def share(usual):
        return Usual(round(told.share * usual.ticks), round(told.share * usual.nights))

    return [
        host(told, share(HOST)),
        *(emulated(told, name, share(usual)) for name, usual in EMULATED.items()),
    ]


def asked():
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    kinds = parser.add_subparsers(dest="where", required=True)
    every = kinds.add_parser("all", help="all that follows")
    every.add_argument("--share", type=float, default=1.0, help="of the usual counts")
    every.set_defaults(hours=HOURS, minutes=MINUTES, compiler=None, first=0)
    on_host = kinds.add_parser("host", help="the core as a library of this computer")
    on_host.add_argument("--nights", type=int, default=HOST.nights)
    on_host.add_argument("--hours", type=float, default=HOURS, help="of each night, at least")
    on_host.add_argument("--compiler", choices=("gcc", "zig"))
    on_board = kinds.add_parser("emulated", help="the core as machine code of a small processor")
    on_board.add_argument("--processor", choices=PROCESSORS, default="m4")
    on_board.add_argument("--episodes", type=int, dest="nights")
    on_board.add_argument("--minutes", type=float, default=MINUTES, help="after a fault's onset")
    for one in (on_host, on_board):
        one.add_argument("--ticks", type=int)
        one.add_argument("--first", type=int, default=0, help="night, by its number, to begin with")
        one.add_argument("--case", help="one night by its key, in the place of all else")
    for one in (every, on_host, on_board):
        one.add_argument("--seed", type=int, default=1)
        one.add_argument("--loops", nargs="+", default=LOOPS)
    return parser.parse_args()


def main():
    """Leaves with 1 where anything differs, with 130 where it is interrupted."""
    told = asked()
    try:
        if told.where == "all":
            alike = [agrees(wanted) for wanted in everything(told)]
        else:
            usual = HOST if told.where == "host" else EMULATED[told.processor]
            counts = Usual(
                usual.ticks if told.ticks is None else told.ticks,
                usual.nights if told.nights is None else told.nights,
            )
            wanted = host(told, counts) if told.where == "host" else \
                emulated(told, told.processor, counts)
            alike = [agrees(wanted, told.case)]
    except KeyboardInterrupt:
        sys.exit(130)
    sys.exit(0 if all(alike) else 1)


if __name__ == "__main__":
    main()
