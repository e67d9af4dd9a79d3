"""Latches and the lock-out go by the reset button alone: told from the log of a night."""

from __future__ import annotations

import numpy as np
import pytest

from coilward.controller.interlocks import bit
from coilward.controller.phases import (
    BOOT,
    COLD_START,
    DRY,
    MAINTENANCE,
    RUN,
    SHUTDOWN,
    STANDBY,
)
from coilward.proving.case import Case
from coilward.proving.keeping import gives_air, let_go
from coilward.proving.requirements import Signals
from coilward.proving.results import violated
from coilward.simulator.run import Entry
from tests.proving.mistakes import wrong_and_sound

PRESSED, HIGH, RETURNING = bit("C32"), bit("C04"), bit("C13")


def entry(phase=SHUTDOWN, raised=0, latched=0, reset=False):
    return Entry(0.0, phase, raised, latched, -1, reset)


@pytest.mark.parametrize("log", [
    [],
    [entry(raised=PRESSED, latched=PRESSED), entry(latched=PRESSED)],
    [entry(raised=PRESSED, latched=PRESSED), entry(latched=PRESSED), entry(reset=True)],
    [entry(latched=PRESSED), entry(latched=PRESSED | HIGH), entry(latched=HIGH, reset=True)],
    [entry(raised=RETURNING), entry()],
    [entry(DRY), entry(BOOT), entry(DRY), entry(STANDBY, reset=True), entry(SHUTDOWN)],
    [entry(RUN), entry(SHUTDOWN), entry(STANDBY)],
])  # fmt: skip
def test_what_is_kept(log):
    assert not let_go(RUN, 0, log)


@pytest.mark.parametrize("log", [
    [entry(latched=PRESSED), entry()],
    [entry(latched=PRESSED | HIGH), entry(latched=PRESSED)],
    [entry(latched=PRESSED), entry(BOOT)],
    [entry(raised=PRESSED)],
    [entry(latched=PRESSED), entry(raised=PRESSED, reset=True)],
    [entry(DRY), entry(STANDBY)],
    [entry(DRY), entry(BOOT), entry(SHUTDOWN)],
    [entry(DRY), entry(STANDBY, reset=True), entry(DRY), entry(RUN)],
])  # fmt: skip
def test_what_is_let_go(log):
    assert let_go(RUN, 0, log)


def test_what_stood_before_the_night_counts():
    assert let_go(RUN, PRESSED, [entry()])
    assert let_go(DRY, 0, [entry(STANDBY)])
    assert not let_go(DRY, PRESSED, [entry(BOOT, latched=PRESSED), entry(DRY, latched=PRESSED)])


@pytest.mark.parametrize(("mistake", "fault", "phase"), [
    ("latches lost at a restart", "board-reboots", "shutdown"),
    ("silence resets", "silenced-and-left", "shutdown"),
    ("a latch clears with its cause still there", "reset-again-and-again", "shutdown"),
    ("a remote page resets", "old-page-posts", "shutdown"),
    ("lock-out left when the fire is out", "reset-again-and-again", "dry lock-out"),
    ("lock-out lost at a restart", "switched-off-and-on", "dry lock-out"),
])  # fmt: skip
def test_a_night_shows_a_logic_that_lets_them_go(mistake, fault, phase):
    wrong, sound = wrong_and_sound(mistake)
    for index in range(60):
        case = Case((fault,), index, 1)
        story = wrong.story(case)
        if story.phase != phase or (phase == "shutdown" and not story.latched):
            continue
        if "a latch went without a reset" in violated(wrong.play(case)):
            assert sound.play(case).missed == ()
            return
    raise AssertionError("no such night")


def told(phase, open_s, tick_s=0.25):
    """Signals of a damper that opens for a time in one phase; nothing else is looked at."""
    ticks = round(200.0 / tick_s)
    damper = np.zeros(ticks)
    damper[40 : 40 + round(open_s / tick_s)] = 1.0
    quiet = np.zeros(ticks)
    return Signals(*[quiet] * len(Signals._fields))._replace(
        phase=np.full(ticks, float(phase)), damper=damper
    )


@pytest.mark.parametrize(("phase", "open_s", "gives"), [
    (COLD_START, 10.0, False), (COLD_START, 60.0, False), (COLD_START, 61.0, True),
    (STANDBY, 61.0, True), (MAINTENANCE, 60.0, False), (RUN, 190.0, False),
])  # fmt: skip
def test_air_where_no_fire_belongs(phase, open_s, gives):
    assert gives_air(told(phase, open_s), 0.25) == gives


def test_a_night_shows_a_logic_that_gives_air_before_its_check_is_done():
    wrong, sound = wrong_and_sound("damper may open in every phase")
    for index in range(60):
        case = Case(("board-hangs",), index, 1)
        if wrong.story(case).phase == "cold start":
            assert "the damper stood open" in violated(wrong.play(case))
            assert sound.play(case).missed == ()
            return
    raise AssertionError("no such night")
