"""Boards that are broken in one way each: what a bench has to find.

Each takes the place of `reference_board`. Most change what the board decides, some what it
reads, remembers, sends or hears.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from datetime import date

from coilward.controller.causing import REBOOTS_S
from coilward.controller.constants import constants_for
from coilward.controller.decide import Decision, decide
from coilward.controller.interlocks import ROWS, bit
from coilward.controller.state import State, after_reboot
from coilward.controller.types import Commands, Readings
from coilward.hil import frames, logic_side
from coilward.hil.board import reference_board
from coilward.hil.logic_side import LogicSide, greeting
from coilward.loop.derived import derive
from coilward.loop.model import Loop

Making = Callable[[object, Loop, date], LogicSide]
DEFECTS: dict[str, Making] = {}


def defect(making: Making) -> Making:
    """One more way to be broken, by the name of its function."""
    DEFECTS[making.__name__.replace("_", "-")] = making
    return making


def deciding(name: str, change: Callable[..., Decision]) -> None:
    """A board whose decisions are changed: (readings, requests, state, constants, decided)."""

    def making(port: object, loop: Loop, today: date) -> LogicSide:
        board = reference_board(port, loop, today)
        board.decides = lambda r, q, s, c: change(r, q, s, c, decide(r, q, s, c))
        return board

    DEFECTS[name] = making


def reading(name: str, change: Callable[[Readings, LogicSide], Readings]) -> None:
    """A board whose readings are changed before it decides."""

    def making(port: object, loop: Loop, today: date) -> LogicSide:
        board = reference_board(port, loop, today)
        board.decides = lambda r, q, s, c: decide(change(r, board), q, s, c)
        return board

    DEFECTS[name] = making


def telling(name: str, change: Callable[[Commands, State], Commands]) -> None:
    """A board whose outputs, and what it tells of them, are not what its logic decides."""
    deciding(name, lambda r, q, s, c, d: Decision(d.state, change(d.commands, d.state)))


def with_constants(name: str, change: Callable[..., object]) -> None:
    """A board that runs on other constants than it says."""

    def making(port: object, loop: Loop, today: date) -> LogicSide:
        board = reference_board(port, loop, today)
        board.constants = change(board.constants)
        return board

    DEFECTS[name] = making


# ---- limits, constants, firmware ---------------------------------------------------------


def slower(constants, name, factor):
    """The debounce of one row is longer."""
    index, planes = bit(name), constants.thresholds
    ticks = sum(1 << k for k, plane in enumerate(planes) if plane & index)
    wanted = factor * ticks
    return constants._replace(thresholds=tuple(
        (plane & ~index) | (index if wanted >> k & 1 else 0) for k, plane in enumerate(planes)
    ))  # fmt: skip


with_constants("slow-trip", lambda c: slower(c, "C03", 2))
with_constants("slow-smoke-or-fan-trip", lambda c: slower(c, "C22", 2))
with_constants("shifted-trip", lambda c: c._replace(
    limits=c.limits._replace(tank_trip_c=c.limits.tank_trip_c + 1.0)
))  # fmt: skip


@defect
def wrong_k(port, loop, today):
    """The meter's pulses per litre are another meter's."""
    board = reference_board(port, loop, today)
    board.convert = board.convert._replace(pulses_per_l=1.1 * board.convert.pulses_per_l)
    return board


@defect
def wrong_constants(port, loop, today):
    """The constants of a loop with a smaller fire, honestly told."""
    fire = loop.fire.model_copy(update={"largest_kw": 0.8 * loop.fire.largest_kw})
    other = loop.model_copy(update={"fire": fire})
    board = reference_board(port, loop, today)
    board.constants = constants_for(other, derive(other, today))
    board.being = board.being._replace(constants=board.constants.checksum)
    return board


@defect
def old_table(port, loop, today):
    """Firmware with an older table of messages."""
    board = reference_board(port, loop, today)
    send = board.link.send

    def older(tick, *lines):
        send(tick, *((n, {**v, "table": "0badc0de"} if n == "hello" else v) for n, v in lines))

    board.link.send = older
    return board


@defect
def talks_to_any_plant(port, loop, today):
    """Greets whoever is there."""
    board = reference_board(port, loop, today)
    handle = board.handle

    def any_plant(frame):
        if frame.name == "hello":
            told = greeting("plant", int(frame.values["opened"]), board.being)
            frame = frame._replace(values=told)
        handle(frame)

    board.handle = any_plant
    return board


@defect
def other_tick(port, loop, today):
    """Ticks twice as often."""
    board = reference_board(port, loop, today)
    board.being = board.being._replace(tick_s=0.5 * board.being.tick_s)
    return board


# ---- what is read ------------------------------------------------------------------------

reading("swapped-channels", lambda r, _: r._replace(
    coil_outlet_a_c=r.tank_c, tank_c=r.coil_outlet_a_c
))  # fmt: skip
reading("swapped-outlets", lambda r, _: r._replace(
    coil_outlet_a_c=r.coil_outlet_b_c, coil_outlet_b_c=r.coil_outlet_a_c
))  # fmt: skip
reading("clock-drifts", lambda r, _: r._replace(time_s=1.0001 * r.time_s))
reading("single-precision", lambda r, _: Readings(
    *(struct.unpack("f", struct.pack("f", value))[0] for value in r)
))  # fmt: skip
reading("missing-current-is-zero", lambda r, _: r._replace(
    pump_a=0.0 if r.pump_a != r.pump_a else r.pump_a
))  # fmt: skip
reading("deaf-to-level", lambda r, _: r._replace(level_low_low=0.0))


# ---- what is decided ---------------------------------------------------------------------

telling("valve-inverted", lambda c, _: c._replace(valve=1.0 - c.valve))
telling("horn-dead", lambda c, _: c._replace(horn=0))
telling("horn-never-continuous", lambda c, _: c._replace(horn=min(c.horn, 2)))
telling("dump-never-opens", lambda c, _: c._replace(dump_open=False))
telling("damper-stuck-open", lambda c, _: c._replace(damper_open=True))
telling("fans-stuck", lambda c, _: c._replace(fans=1.0))
telling("pump-always-on", lambda c, _: c._replace(pump=True))
deciding("pump-drops-on-a-missing-reading", lambda r, q, s, c, d: d if r.tank_c == r.tank_c else (
    Decision(d.state, d.commands._replace(pump=False))
))  # fmt: skip


def _unlatched(_r, _q, _s, _c, d):
    mode = d.state.mode._replace(latched=d.state.mode.latched & ~bit("C24"))
    return Decision(d.state._replace(mode=mode), d.commands)


deciding("lost-latch", _unlatched)


@defect
def ignores_the_emergency_button(port, loop, today):
    """The button's wire is off."""
    board = reference_board(port, loop, today)
    board.decides = lambda r, q, s, c: decide(r, q._replace(emergency=False), s, c)
    return board


@defect
def resets_without_a_hold(port, loop, today):
    """A short press is taken for a long one."""
    board = reference_board(port, loop, today)

    def hasty(r, q, s, c):
        if q.reset and s.watch.reset_s >= 0.0:
            s = s._replace(watch=s.watch._replace(reset_s=10.0))
        return decide(r, q, s, c)

    board.decides = hasty
    return board


@defect
def counts_ticks_twice(port, loop, today):
    """Every tick is decided twice, as if a line had come doubled."""
    board = reference_board(port, loop, today)
    board.decides = lambda r, q, s, c: decide(r, q, decide(r, q, s, c).state, c)
    return board


@defect
def overflows_after_an_hour(port, loop, today):
    """A counter of sixteen bits: after 16,384 ticks of a session the fans go off once."""
    board = reference_board(port, loop, today)

    def full(r, q, s, c):
        decided = decide(r, q, s, c)
        if (board.tick or 0) == 1 << 14:
            return Decision(decided.state, decided.commands._replace(fans=0.5))
        return decided

    board.decides = full
    return board


@defect
def stays_on_at_a_rare_phase(port, loop, today):
    """In the check before a fire, which no interlock leads to, the horn's beep is lost."""
    board = reference_board(port, loop, today)

    def mute(r, q, s, c):
        decided = decide(r, q, s, c)
        quiet = decided.state.raised == 0 and decided.commands.horn == 1
        return Decision(
            decided.state, decided.commands._replace(horn=0) if quiet else decided.commands
        )

    board.decides = mute
    return board


# ---- what is remembered ------------------------------------------------------------------


def restarting(name: str, change: Callable[[State], State]) -> None:
    """A board that finds something else in its memory after a restart."""

    def making(port: object, loop: Loop, today: date) -> LogicSide:
        board = reference_board(port, loop, today)
        restart = board._restart

        def forgetful(frame):
            before, known = board._restarts, board.state
            acknowledge, board._acknowledge = board._acknowledge, lambda tick: None
            restart(frame)
            board._acknowledge = acknowledge
            if board._restarts > before:
                board.state = change(after_reboot(known))
            board._acknowledge(frame.tick)

        board._restart = forgetful
        return board

    DEFECTS[name] = making


restarting("forgets-latches-at-a-restart", lambda s: s._replace(
    mode=s.mode._replace(latched=0)
))  # fmt: skip
restarting("boots-with-the-fire-forgotten", lambda s: s._replace(mode=s.mode._replace(fire=0)))
restarting("forgets-restarts", lambda s: s._replace(
    ages=s.ages._replace(reboot_2_s=REBOOTS_S, reboot_3_s=REBOOTS_S)
))  # fmt: skip
reading("boots-without-a-dry-lock-out", lambda r, board: r._replace(outage_s=0.0))


# ---- what is sent and heard --------------------------------------------------------------


@defect
def ignores_the_dead_man(port, loop, today):
    """Keeps its outputs, whatever it does not hear."""
    board = reference_board(port, loop, today)
    board.dead_man.acts = lambda now_s: False
    return board


@defect
def dead_man_leaves_the_damper(port, loop, today):
    """Acts, and tells, but the damper stays open."""
    board = reference_board(port, loop, today)

    def half(tick):
        told = logic_side.told_commands(board.outputs._replace(horn=3))
        board.link.send(tick, ("silent", {"count": board.dead_man.count, **told}))

    board._fall_silent = half
    return board


def _saying(name: str, change: Callable[[LogicSide, list], object]) -> None:
    """A board that keeps its answers in a list, and says another one of them."""

    def making(port: object, loop: Loop, today: date) -> LogicSide:
        board = reference_board(port, loop, today)
        said: list = []
        say = board._say

        def other():
            if board._answer is not None and (not said or said[-1][0] != board.tick):
                said.append((board.tick, board._answer))
            kept = board._answer
            board._answer = change(board, said)
            say()
            board._answer = kept

        board._say = other
        return board

    DEFECTS[name] = making


_saying("answers-with-the-tick-before", lambda board, said: said[-min(2, len(said))][1])
_saying("three-ticks-late", lambda board, said: said[-min(4, len(said))][1])
_saying("drops-every-fiftieth-tick", lambda board, said: (
    None if board.tick % 50 == 0 else said[-1][1]
))  # fmt: skip


@defect
def checksum_not_checked(port, loop, today):
    """Takes any line that looks like one."""
    board = reference_board(port, loop, today)
    feed = board.link.decoder.feed

    def trusting(data):
        lines = data.split(b"\n")
        return feed(b"\n".join(_signed(line) for line in lines))

    board.link.decoder.feed = trusting
    return board


def _signed(line: bytes) -> bytes:
    body, star, _ = line.rpartition(b"*")
    return b"%b*%08X" % (body, frames.zlib.crc32(body)) if star else line


assert {row.name for row in ROWS} >= {"C03", "C22", "C24"}
