"""A board without logic: it does what it is told, and what is safer when nobody tells it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilward.controller.decide import Decision
from coilward.controller.phases import PHASES
from coilward.controller.state import NO, YES, first_state
from coilward.controller.types import Commands, Requests
from coilward.hil import plain_board, plant_side
from coilward.hil.converting import converter
from coilward.hil.dead_man import OUTLET_MOST_C, TANK_MOST_C, OwnTrips, safe
from coilward.hil.link import LinkLost
from coilward.hil.plain_board import Pace, PlainBoard, settled
from coilward.simulator.bench import Bench
from coilward.simulator.night import read_night
from tests.controller.rig import healthy
from tests.hil.pairs import CONSTANTS, LOOP, TODAY, pair

NAN = math.nan
COLD = {"coil_outlet_a_c": 9.0, "coil_outlet_b_c": 9.0, "tank_c": 8.0, "radiator_inlet_c": 9.0,
        "radiator_outlet_c": 8.0, "coil_metal_c": 9.0, "flue_c": 9.0, "flow_lpm": 0.0,
        "pulse_age_s": 99.0, "pump_a": 0.0, "flow_switch": 0.0, "pump_contact": 0.0}  # fmt: skip
COMMANDS = st.builds(
    Commands, pump=st.booleans(), valve=st.floats(0, 1), fans=st.floats(0, 1),
    damper_open=st.booleans(), dump_open=st.booleans(), horn=st.integers(0, 3),
    may_light=st.booleans(),
)  # fmt: skip


@given(COMMANDS)
def test_alone_the_pump_stays_and_everything_else_gets_safer(last):
    alone = safe(last)
    assert alone.pump == last.pump
    assert alone.valve >= last.valve
    assert alone.fans == 1.0
    assert not alone.damper_open
    assert alone.dump_open >= last.dump_open
    assert alone.horn == 3
    assert not alone.may_light
    assert safe(alone) == alone


@given(COMMANDS.filter(lambda last: not last.pump))
def test_nothing_opens_toward_a_coil_that_may_be_dry(last):
    assert (safe(last).valve, safe(last).dump_open) == (last.valve, last.dump_open)


@given(COMMANDS.filter(lambda last: last.pump))
def test_with_the_pump_on_all_ways_open(last):
    assert (safe(last).valve, safe(last).dump_open) == (1.0, True)


def hot_after(trips, **readings):
    seen = healthy(CONSTANTS)._replace(**readings)
    return next((n for n in range(1, 20) if trips.hot(seen)), None)


@pytest.mark.parametrize(
    ("readings", "ticks"),
    [
        ({"coil_outlet_a_c": 80.1}, 3), ({"coil_outlet_b_c": 80.1}, 3), ({"tank_c": 60.1}, 3),
        ({"coil_outlet_a_c": 80.0, "tank_c": 60.0}, None), ({"coil_outlet_a_c": NAN}, None),
        ({"coil_outlet_a_c": NAN, "coil_outlet_b_c": 99.0}, 3),
    ],
)  # fmt: skip
def test_the_boards_own_range_trips(readings, ticks):
    assert hot_after(OwnTrips(80.0, 60.0), **readings) == ticks


def test_one_odd_reading_is_not_enough():
    trips = OwnTrips(80.0, 60.0)
    hot, sound = (healthy(CONSTANTS)._replace(coil_outlet_a_c=value) for value in (85.0, 70.0))
    assert [trips.hot(each) for each in (hot, hot, sound, hot, hot, hot)] == [
        False, False, False, False, False, True,
    ]  # fmt: skip


def test_a_board_that_was_told_no_limits_has_its_own():
    assert hot_after(OwnTrips(), coil_outlet_a_c=OUTLET_MOST_C + 0.1) == 3
    assert hot_after(OwnTrips(), coil_outlet_a_c=OUTLET_MOST_C) is None


class Muted:
    """A port that can be told to pass nothing on."""

    def __init__(self, port):
        self.port, self.mute, self.gone = port, False, False

    def read(self):
        if self.gone:
            raise LinkLost("unplugged")
        data = self.port.read()
        return b"" if self.mute else data

    def write(self, data):
        if self.gone:
            raise LinkLost("unplugged")
        if not self.mute:
            self.port.write(data)

    def close(self):
        self.port.close()


class Played:
    """A plain board and a logic in one process, tick by tick."""

    def __init__(self, monkeypatch):
        for module, name, value in [
            (plant_side, "AGAIN_S", 0.001), (plant_side, "HELLO_EVERY_S", 0.0),
            (plain_board, "SILENT_S", 0.02), (plain_board, "GREETS_EVERY_S", 0.0),
        ]:  # fmt: skip
            monkeypatch.setattr(module, name, value)
        self.wires = []

        def wrap(port):
            self.wires.append(Muted(port))
            return self.wires[0]

        side, self.logic = pair(wrap)
        self.logic.bench = False
        self.logic.state = first_state(CONSTANTS, PHASES.index("run"), YES)
        self.board = PlainBoard(side, LOOP, Pace(lockstep=True, times=1.0))
        self.state = first_state(CONSTANTS)
        self.time_s = 0.0

    def tick(self, requests=Requests(), **readings):  # noqa: B008 - it is never changed
        seen = healthy(CONSTANTS)._replace(time_s=self.time_s, **readings)
        self.time_s += 0.25
        self.state, commands = self.board.decide(seen, requests, self.state, CONSTANTS)
        return commands


@pytest.fixture
def played(monkeypatch):
    return Played(monkeypatch)


def test_it_does_what_it_is_told(played):
    commands = [played.tick() for _ in range(20)]
    assert all(each.pump and each.damper_open and each.horn == 0 for each in commands)
    assert PHASES[played.state.mode.phase] == "run"
    assert played.board.trips.outlet_most_c == CONSTANTS.limits.outlet_hh_c
    assert played.board.trips.tank_most_c == CONSTANTS.limits.tank_hh_c


@pytest.mark.parametrize("how", ["mute", "gone"])
def test_silence_ends_in_the_safe_outputs_and_talk_goes_on_by_itself(played, how):
    for _ in range(5):
        before = played.tick()
    setattr(played.wires[0], how, True)
    alone = [played.tick() for _ in range(4)][-1]
    assert alone == safe(before)
    assert alone.pump
    setattr(played.wires[0], how, False)
    for _ in range(6):
        back = played.tick()
    assert back.horn < 3
    assert back.damper_open
    assert played.logic.tick == played.board.tick


def test_a_reading_out_of_range_trips_whatever_the_logic_says(played):
    careless = Commands(True, 0.5, 0.0, True, False, 0, False)
    played.logic.decides = lambda readings, requests, state, constants: Decision(state, careless)
    assert played.tick() == careless
    hot = [played.tick(tank_c=CONSTANTS.limits.tank_hh_c + 1.0) for _ in range(3)]
    assert hot == [careless, careless, safe(careless)]
    assert played.board.alone_s == 0.0


def test_a_board_that_is_told_no_limits_trips_at_its_own(played):
    played.logic.being = played.logic.being._replace(outlet_most_c=NAN, tank_most_c=NAN)
    for _ in range(5):
        played.tick()
    assert played.board.trips.limits_c == (OUTLET_MOST_C, TANK_MOST_C)
    hot = {"tank_c": TANK_MOST_C + 1.0, "coil_outlet_a_c": 70.0, "coil_outlet_b_c": 70.0}
    alone = played.board.trips
    for _ in range(3):
        played.tick(**hot)
    assert played.board.trips is alone
    assert alone._hot == 3


def test_who_takes_leave_without_a_fire_leaves_the_board_at_rest(played):
    played.logic.state = first_state(CONSTANTS)
    for _ in range(5):
        before = played.tick(**COLD)
    assert played.board.answer.told.fire == NO
    played.logic.leave()
    played.wires[0].port.wakes = None
    rest = [played.tick(**COLD) for _ in range(10)][-1]
    assert rest == before
    assert rest.horn == 0


def test_nobody_takes_leave_of_a_fire(played):
    for _ in range(5):
        before = played.tick()
    played.logic.leave()
    played.wires[0].port.wakes = None
    assert [played.tick() for _ in range(4)][-1] == safe(before)


def test_a_night_behind_a_plain_board(monkeypatch):
    """In lockstep, until after the pump has died."""
    played = Played(monkeypatch)
    played.logic.state = first_state(CONSTANTS, PHASES.index("run"), YES)
    bench = Bench(LOOP, TODAY, "interpreted", played.board.logic())
    night = read_night("pump-dies")
    (dies,) = [moment for moment in night.moment if moment.do == "fault"]
    short = night.model_copy(update={"duration_s": 120.0, "moment": [
        dies.model_copy(update={"at_s": 60.0}),
    ]})  # fmt: skip
    rehearsal = settled(played.board, bench, short, 1)
    rehearsal.play(None)
    phases = [PHASES[entry.phase] for entry in rehearsal.log]
    assert "no-flow fault" in phases
    assert phases[-1] == "dry lock-out"
    assert played.logic.tick == rehearsal.last_tick


def test_thermistors_without_constants_are_sent_in_ohm_as_well(played):
    """What a usual 10 kohm thermistor has at 25 degC (its name; the published table's point)."""
    raw = played.board._raw(healthy(CONSTANTS)._replace(tank_c=25.0))
    assert raw["tank_ohm"] == pytest.approx(10_000.0, rel=1e-3)
    assert raw["tank_c"] == 25.0
    assert "flue_ohm" not in raw


def test_a_thermistor_with_constants_is_read_in_ohm():
    loop = LOOP.model_copy(deep=True)
    tank = loop.sensors.tank
    fitted = type(tank).model_validate(
        {"kind": "ntc", "lag": "8 s", "ntc": {"a": 1.129241e-3, "b": 2.341077e-4,
                                              "c": 8.775468e-8}}
    )  # fmt: skip
    loop.sensors.__dict__["tank"] = fitted
    convert = converter(loop)
    readings = healthy(CONSTANTS)._replace(tank_c=40.0)
    raw = convert.raw(readings)
    assert "tank_c" not in raw
    assert convert.readings(raw).tank_c == pytest.approx(40.0, abs=1e-9)
    for broken in (0.5, 1e8):
        assert math.isnan(convert.readings({**raw, "tank_ohm": broken}).tank_c)
