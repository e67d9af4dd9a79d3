"""The simulated rest against the truth: the same night lived through with the other logic.

Plant, noise, fire and faults of both nights are the same; only the limits of the logic change, at
a known moment. The plant of the true nights is off from the loop file, as a real one is.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from coilward.hil.journal.reader import Reader
from coilward.hil.replay.changes import begun
from coilward.hil.replay.replaying import Parting
from coilward.hil.replay.rest import NoRest, simulated_rest
from coilward.loop.errors import Fault, InputRefused
from coilward.simulator import slots as at
from coilward.simulator.tolerances import TOLERANCES
from tests.hil.parting import constants_of, fault, journal_of, lived, night_of, rest_of

PARTS_S = 900.0
OFF = np.random.default_rng(3).uniform(-1.0, 1.0, len(TOLERANCES)).tolist()
SET_POINT, DUMP = {"set_point_c": 54.0}, {"outlet_dump_c": 56.0}
RELOAD = [{"at": "13 min", "do": "let-go"},
          {"at": "14 min", "do": "reload", "mass": "0.5 charge"}]  # fmt: skip
LARGEST = {"at": "20 min", "do": "hold", "heat": "largest"}
NIGHTS = {
    "pump dies": ("greenhouse", [fault("pump-dies", 18)], SET_POINT),
    "pump dies in a dump": ("greenhouse", [fault("pump-dies", 18)], DUMP),
    "quiet": ("boathouse", [], SET_POINT),
    "wood burns": ("boathouse", RELOAD, SET_POINT),
    "fans fail": ("greenhouse", [fault("fans-fail", 16)], SET_POINT),
    "pump stalls": ("boathouse", [fault("pump-stalls", 18)], SET_POINT),
    "meter dead": ("greenhouse", [fault("meter-dead", 18)], SET_POINT),
    "tub finished": ("hot-tub", [], {"tank_finish_c": 26.0}),
}
"""Loop, moments, and what the other logic's limits are."""
TANK_K, OUTLET_K, LAGS_K = 0.5, 1.0, 3.0
"""Worst mean of ten seconds in ten minutes. While the valve opens fully the outlet falls by 20 K
in half a minute, and what a thermometer shows then hangs on its lag: the true one's is off by up
to a quarter."""
LAGGING = ("fans fail",)
TRIP_S, BOIL_S = 3.0, 8.0


def means(values, every=10):
    whole = len(values) // every * every
    return np.mean(np.reshape(values[:whole], (-1, every)), axis=1)


def truth_at(rest, made, name):
    """A reading of the true night at the seconds of the rest."""
    values = made.reading(name)
    if name == "coil_outlet_a_c":
        values = np.fmax(values, made.reading("coil_outlet_b_c"))
    return np.interp(rest.time_s, made.reading("time_s"), values)


def first_times(causes, from_s):
    """When each row counted for the first time."""
    found = {}
    for row in causes:
        if row.time_s >= from_s:
            found.setdefault(row.name, row.time_s)
    return found


@pytest.mark.parametrize("kind", NIGHTS)
def test_the_rest_is_as_it_would_have_been(tmp_path, kind):
    name, moments, limits = NIGHTS[kind]
    then, now = constants_of(name), constants_of(name, **limits)
    logged = lived(name, night_of(moments), then, off=OFF)
    truth = lived(name, night_of(moments), then, now, PARTS_S, off=OFF)
    journal_of(tmp_path / "j", name, logged)
    found, rest = rest_of(tmp_path / "j", now, PARTS_S)
    assert not rest.fitted.poor
    assert rest.fitted.before.outlet_k < 0.6
    assert rest.fitted.before.tank_k < 0.3
    ten, outlet_most_k = slice(0, 600), LAGS_K if kind in LAGGING else OUTLET_K
    outlet_k = rest.curves["coil_outlet_c"] - truth_at(rest, truth, "coil_outlet_a_c")
    tank_k = rest.curves["tank_c"] - truth_at(rest, truth, "tank_c")
    assert np.abs(means(outlet_k[ten])).max() < outlet_most_k
    assert np.abs(means(tank_k[ten])).max() < TANK_K
    # What was read is no answer for the other logic: that is why the rest is simulated.
    read_k = truth_at(rest, logged, "coil_outlet_a_c") - truth_at(rest, truth, "coil_outlet_a_c")
    assert kind in LAGGING or np.abs(means(read_k[ten])).max() > 2.0 * OUTLET_K
    sides = [each for each in found.now if each.number <= found.parts.number] + rest.changes
    now_s, true_s = first_times(begun(sides), PARTS_S), first_times(truth.run.causes, PARTS_S)
    assert now_s.keys() == true_s.keys()
    for row, at_s in true_s.items():
        late_s = BOIL_S if row in ("C09", "C10") else TRIP_S
        assert abs(now_s[row] - at_s) <= late_s, row
    boiled_s = truth.run.first_boil_s
    assert (rest.outcome.boiled_s is None) == (boiled_s is None)
    if boiled_s is not None:
        assert abs(rest.outcome.boiled_s - boiled_s) <= BOIL_S
        assert rest.outcome.boil_margin_k == 0.0
        after = rest.time_s > rest.outcome.boiled_s
        assert np.isnan(rest.curves["coil_water_c"][after]).all()


SEEN_BROKEN = {
    "pump-dies": (18, None, "the pump is dead", 2.0),
    "pump-stalls": (18, None, "held fast", 2.0),
    "meter-dead": (18, None, "the meter is dead", 2.0),
    "fans-fail": (16, None, "fans turn less", 2.0),
    "air-lock": (18, 1.0, "turns and moves no water", 2.0),
    "strainer-clogs": (18, 8.0, "of what it was before at the same stroke", 2.0),
}
"""Minute, size, words, and how much later they may come: a slow change is seen late."""


@pytest.mark.parametrize("name", SEEN_BROKEN)
def test_what_broke_is_taken_over_from_its_moment_on(tmp_path, name):
    at_min, size, words, late_s = SEEN_BROKEN[name]
    more = {} if size is None else {"size": size}
    moments = [fault(name, at_min, **more)]
    made = lived("greenhouse", night_of(moments, 24.0), constants_of("greenhouse"))
    journal_of(tmp_path / "j", "greenhouse", made)
    _, rest = rest_of(tmp_path / "j", constants_of("greenhouse", **SET_POINT), PARTS_S)
    assert len(rest.broken) == 1
    at_s, told = rest.broken[0]
    assert words in told
    assert -2.0 <= at_s - 60.0 * at_min <= late_s


def test_a_damper_that_is_stuck_is_seen_when_it_should_shut(tmp_path):
    moments = [fault("damper-stuck", 16), fault("pump-dies", 18)]
    made = lived("greenhouse", night_of(moments, 24.0), constants_of("greenhouse"))
    journal_of(tmp_path / "j", "greenhouse", made)
    _, rest = rest_of(tmp_path / "j", constants_of("greenhouse", **SET_POINT), PARTS_S)
    told = {words: at_s for at_s, words in rest.broken}
    assert 1080.0 <= told["the damper stays open"] <= 1100.0


def test_a_valve_that_jams_is_found_before_more_heat_comes(tmp_path):
    moments = [fault("valve-jams", 10, size=0.6), LARGEST]
    made = lived("greenhouse", night_of(moments), constants_of("greenhouse"))
    truth = lived("greenhouse", night_of(moments), constants_of("greenhouse"),
                  constants_of("greenhouse", **SET_POINT), PARTS_S)  # fmt: skip
    journal_of(tmp_path / "j", "greenhouse", made)
    _, rest = rest_of(tmp_path / "j", constants_of("greenhouse", **SET_POINT), PARTS_S)
    assert [words for _, words in rest.broken] == ["the valve does not follow"]
    assert abs(rest.broken[0][0] - 600.0) < 30.0
    off_k = rest.curves["coil_outlet_c"] - truth_at(rest, truth, "coil_outlet_a_c")
    assert np.abs(means(off_k[:600])).max() < 2.0


def test_a_plant_that_does_not_follow_the_log_is_called_poor(tmp_path, monkeypatch):
    """A tank's thermometer that wanders as no tank can, and a log that won't teach."""

    def refuses(*_):
        raise InputRefused([Fault("the journal", None, "", "", "too short", "a longer one")])

    monkeypatch.setattr("coilward.hil.replay.fitted.learn", refuses)
    made = lived("greenhouse", night_of([LARGEST]), constants_of("greenhouse"))
    for tick in list(made.ticks):
        made.ticks[tick.number] = tick._replace(
            readings=tick.readings._replace(
                tank_c=tick.readings.tank_c + 5.0 * math.sin(tick.readings.time_s / 60.0)
            )
        )
    journal_of(tmp_path / "j", "greenhouse", made)
    _, rest = rest_of(tmp_path / "j", constants_of("greenhouse", **SET_POINT), PARTS_S)
    assert rest.fitted.poor
    assert not rest.fitted.learned


def test_a_log_teaches_a_plant_that_its_file_does_not_know(tmp_path, monkeypatch):
    off = [0.0] * len(TOLERANCES)
    then, now = constants_of("greenhouse"), constants_of("greenhouse", **SET_POINT)
    moments = [LARGEST]
    off[[each.name for each in TOLERANCES].index("tank's water")] = -6.0
    off[[each.name for each in TOLERANCES].index("radiator")] = -3.0
    # A tank with 30 % less than in the file, and a radiator with 30 % less.
    logged = lived("greenhouse", night_of(moments), then, off=off)
    truth = lived("greenhouse", night_of(moments), then, now, PARTS_S, off=off)
    journal_of(tmp_path / "j", "greenhouse", logged)
    _, rest = rest_of(tmp_path / "j", now, PARTS_S)
    assert rest.fitted.learned
    assert not rest.fitted.poor
    off_k = rest.curves["tank_c"] - truth_at(rest, truth, "tank_c")
    assert np.abs(means(off_k[:600])).max() < 1.0

    def refuses(*_):
        raise InputRefused([Fault("the journal", None, "", "", "too short", "a longer one")])

    monkeypatch.setattr("coilward.hil.replay.fitted.learn", refuses)
    _, untaught = rest_of(tmp_path / "j", now, PARTS_S)
    assert untaught.fitted.after.tank_k > 5.0 * rest.fitted.after.tank_k


def test_a_night_without_fire_has_no_rest(tmp_path):
    made = lived("greenhouse", night_of([], 5.0, "cold"), constants_of("greenhouse"))
    journal_of(tmp_path / "j", "greenhouse", made)
    tick = made.ticks[400]
    parts = Parting(400, 100.0, tick.state, tick.commands._replace(pump=True))
    with Reader(tmp_path / "j") as reader, pytest.raises(NoRest, match="heat of the fire"):
        simulated_rest(reader, reader.sessions()[0], constants_of("greenhouse"), parts)


def test_the_rest_ends_where_the_board_was_away(tmp_path):
    moments = [fault("supply-lost", 20, **{"for": "30 s"})]
    made = lived("greenhouse", night_of(moments, 25.0), constants_of("greenhouse"))
    journal_of(tmp_path / "j", "greenhouse", made)
    _, rest = rest_of(tmp_path / "j", constants_of("greenhouse", **SET_POINT), PARTS_S)
    assert rest.cut_short
    assert 1195.0 <= rest.until_s <= 1200.0


def test_a_range_ends_the_rest(tmp_path):
    made = lived("greenhouse", night_of([], 20.0), constants_of("greenhouse"))
    journal_of(tmp_path / "j", "greenhouse", made)
    now = constants_of("greenhouse", **SET_POINT)
    found, whole = rest_of(tmp_path / "j", now, PARTS_S)
    with Reader(tmp_path / "j") as reader:
        [session] = reader.sessions()
        short = simulated_rest(reader, session, now, found.parts, last=4000, engine="interpreted")
    assert short.until_s == pytest.approx(1000.0, abs=1.0)
    assert not short.cut_short
    same = slice(0, len(short.time_s) - 1)
    assert np.array_equal(short.curves["tank_c"][same], whole.curves["tank_c"][same])
    assert whole.until_s > 1190.0
    assert math.isinf(whole.outcome.boil_margin_s) or whole.outcome.boil_margin_s > 0.0


def test_the_slots_of_readings_are_in_order():
    from coilward.hil.replay.health import CHANNEL_READINGS

    assert [name.removesuffix("_c").removesuffix("_min") for name in CHANNEL_READINGS] == list(
        at.CHANNELS
    )
