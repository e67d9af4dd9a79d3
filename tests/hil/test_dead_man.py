"""A bench board that hears nothing goes to its safe outputs, once, and says so."""

from __future__ import annotations

import pytest

from coilward.controller.types import Commands, Requests
from coilward.hil.dead_man import SILENT_S
from coilward.hil.logic_side import told_commands
from tests.controller.rig import healthy
from tests.hil.pairs import CONSTANTS, CONVERT, pair, running

LIT = Commands(True, 0.4, 0.5, True, False, 0, True)


@pytest.fixture
def sides():
    """Both sides after one tick, and the board's clock, which stands until it is moved."""
    plant, board = pair()
    now_s = [100.0]
    board.clock = lambda: now_s[0]
    plant.greet(1.0)
    plant.set_state(running(), 1.0)
    say(plant, 1)
    return plant, board, now_s


def say(plant, tick):
    readings = healthy(CONSTANTS)._replace(time_s=0.25 * tick)
    return plant.exchange(tick, CONVERT.raw(readings), Requests(), 1.0)


def later(sides, by_s):
    plant, board, now_s = sides
    now_s[0] += by_s
    board.serve()
    plant.attend()


def test_two_seconds_of_silence_move_the_outputs_to_their_safe_side(sides):
    plant, board, _ = sides
    told = board.outputs
    assert told.damper_open
    later(sides, SILENT_S - 0.01)
    assert plant.silent is None
    assert board.outputs == told
    later(sides, 0.01)
    assert board.outputs == told._replace(damper_open=False, dump_open=True, horn=3)
    assert plant.silent == {"count": 1, **told_commands(board.outputs)}


def test_each_silence_is_told_once_and_counted_in_the_next_answer(sides):
    plant, board, _ = sides
    later(sides, 5.0)
    plant.silent = None
    later(sides, 5.0)
    assert plant.silent is None
    answer = say(plant, 2)
    assert answer.told.silent == 1
    assert board.outputs == answer.commands
    later(sides, 5.0)
    assert say(plant, 3).told.silent == 2
    plant.greet(1.0)
    assert say(plant, 1).told.silent == 0


def test_any_line_of_the_session_keeps_the_outputs(sides):
    plant, board, _ = sides
    for tick in range(2, 20):
        later(sides, SILENT_S - 0.1)
        say(plant, tick)
    assert board.dead_man.count == 0


def test_lines_of_another_session_do_not(sides):
    plant, board, now_s = sides
    now_s[0] += SILENT_S
    plant.link.session += 1
    plant.link.send(2, ("moment", {"time_s": 1.0}))
    board.serve()
    assert board.dead_man.count == 1


def test_a_board_that_is_not_on_a_bench_keeps_its_outputs(sides):
    _, board, _ = sides
    board.bench = False
    told = board.outputs
    later(sides, 60.0)
    assert board.outputs == told


def test_before_the_first_tick_nothing_is_missed():
    plant, board = pair()
    now_s = [0.0]
    board.clock = lambda: now_s[0]
    plant.greet(1.0)
    later((plant, board, now_s), 60.0)
    assert plant.silent is None
