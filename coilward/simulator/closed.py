"""The closed loop: readings, decision, outputs, plant, tick by tick.

The board decides at every tick. A quiet plant is left behind for up to a second, a calm one
for up to four, and is then moved in one step; the readings stay what they were, so nothing is
ever seen before it happened. As soon as an output changes, the plant first catches up.
"""

from __future__ import annotations

from coilward.controller.constants import Constants
from coilward.controller.decide import decide
from coilward.controller.state import State
from coilward.controller.types import Commands, Readings, Requests
from coilward.simulator.flowing import SPINS, TURNS
from coilward.simulator.sensors import lags, pulses, read, thermometers
from coilward.simulator.slots import (
    BACK_LEAST,
    BOIL_C,
    BOILED_S,
    CALM_TICKS,
    COLD_LEAST,
    CONTACT,
    DRIFT_K_S,
    DUMP_W,
    FINE_ROW,
    FIRE_W,
    FLOW_LPM,
    HORN,
    HOT_LEAST,
    HOTTEST_WALL,
    HOTTEST_WATER,
    LATE_TICKS,
    LINE_LEAST,
    LOSS_W,
    MOMENT_TICKS,
    MOVING,
    OUTDOOR_C,
    PENDING_TICKS,
    PULSES_PER_L,
    QUIET_TICKS,
    RATE_K_S,
    ROOM_AIR,
    ROOM_W,
    STROKE,
    STUB,
    SUB_ROW,
    SUB_STEPS,
    SUPPLY_V,
    TANK_BOTTOM,
    TANK_TOP,
    TICK_S,
    TICKS_PER_S,
    TOLD_DAMPER,
    TOLD_DUMP,
    TOLD_FANS,
    TOLD_PUMP,
    TOLD_VALVE,
    UNSETTLED_S,
    WATER_W,
)
from coilward.simulator.step import step

Floats = list[float]

BUSY_K_S = 0.35
SLOW_K_S, CALM_K_S = 0.02, 0.008
"""Slopes at which a plant is busy, and under which it may wait for two or four seconds."""
SETTLES_S = 20.0
"""Fans, air and dump valve have done moving after this time."""
FINER = 4
"""Parts of a busy step while the flow changes by itself."""
NEAR_BOIL_K = 3.0
NEAR_ICE_C = 0.2

TRACE = (
    "time_s", "phase", "fire", "coil", "coil_outlet_true_c", "coil_outlet_seen_c",
    "coil_water_max_c", "coil_wall_max_c", "tank_top_c", "tank_bottom_c", "tank_seen_c",
    "radiator_inlet_c", "radiator_outlet_c", "room_c", "line_min_c", "outdoor_c",
    "flow_true_lpm", "flow_seen_lpm", "valve_cmd", "valve_true", "pump_cmd", "fans_cmd",
    "damper_cmd", "dump_cmd", "horn", "heat_fire_w", "heat_water_w", "heat_room_w",
    "heat_dump_w", "heat_loss_w", "supply_v", "pump_a", "heat_seen_w", "target_lpm",
)  # fmt: skip
"""Columns of the trace, one row a second."""
LOG = ("tick", "phase", "raised", "latched", "first_out")
"""Columns of the log, one row whenever any of them changes."""
TRACE_COLUMNS, LOG_COLUMNS = len(TRACE), len(LOG)
SIGNALS = (
    "time_s", "water_c", "wall_c", "outlet_c", "tank_c", "flow_lpm", "heat_w", "supply_v",
    "pump", "valve", "damper", "dump", "fans", "horn", "phase", "awake",
    "outlet_a_seen_c", "outlet_b_seen_c", "tank_seen_c", "radiator_outlet_seen_c", "raised",
)  # fmt: skip
"""What the requirements are about, one value a tick: what is true, what the outputs are told, and
what the thermometers show with the rows that count.

The buffer is flat, one signal after the other; with an empty one nothing is written.
"""
SIGNAL_COUNT = len(SIGNALS)


def catch_up(y: Floats, p: Floats, noise: Floats, tick: int) -> None:
    """Moves the plant over the ticks that it was left behind, up to the start of ``tick``."""
    n = int(y[PENDING_TICKS])
    if n > 0:
        y[PENDING_TICKS] = 0.0
        step(y, p, n, n * p[TICK_S], tick * p[TICK_S])
        lags(y, p, n)
        thermometers(y, p, noise, tick)


def advance(y: Floats, p: Floats, noise: Floats, tick: int) -> None:
    """Lets one tick pass."""
    if (
        y[MOVING] > 0.0
        or y[MOMENT_TICKS] > 0.0
        or y[RATE_K_S] > BUSY_K_S
        or y[COLD_LEAST] < NEAR_ICE_C
        or y[HOT_LEAST] < NEAR_ICE_C
        or y[BACK_LEAST] < NEAR_ICE_C
        or (y[HOTTEST_WATER] > p[BOIL_C] - NEAR_BOIL_K and y[BOILED_S] < 0.0)
    ):
        catch_up(y, p, noise, tick)
        tick_s = p[TICK_S]
        parts, row = int(p[SUB_STEPS]), SUB_ROW
        if y[MOVING] >= SPINS:
            parts, row = FINER * parts, FINE_ROW
        for part in range(parts):
            step(y, p, row, tick_s / parts, tick_s * (tick + (part + 1.0) / parts))
        lags(y, p, 1)
        thermometers(y, p, noise, tick + 1)
        if y[MOMENT_TICKS] > 0.0:
            y[MOMENT_TICKS] -= 1.0
    else:
        y[PENDING_TICKS] += 1.0
        most = int(p[QUIET_TICKS])
        if y[UNSETTLED_S] <= 0.0:
            if y[DRIFT_K_S] < CALM_K_S:
                most = int(p[CALM_TICKS])
            elif y[DRIFT_K_S] < SLOW_K_S:
                most += most
        if (tick + 1) % most == 0:
            catch_up(y, p, noise, tick + 1)
    pulses(y, p, noise)


def disturb(y: Floats, p: Floats) -> None:
    """Something happened to the plant from outside: it is busy for two seconds."""
    y[MOMENT_TICKS] = 2.0 * p[TICKS_PER_S]
    y[MOVING] = SPINS
    y[UNSETTLED_S] = SETTLES_S


def obey(y: Floats, p: Floats, noise: Floats, tick: int, commands: Commands) -> None:
    """Sets the outputs, after the plant has caught up with the old ones."""
    pump = 1.0 if commands.pump else 0.0
    damper = 1.0 if commands.damper_open else 0.0
    dump = 1.0 if commands.dump_open else 0.0
    y[HORN] = commands.horn
    if (
        pump == y[TOLD_PUMP]
        and commands.valve == y[TOLD_VALVE]
        and commands.fans == y[TOLD_FANS]
        and damper == y[TOLD_DAMPER]
        and dump == y[TOLD_DUMP]
        and pump == y[CONTACT]
    ):
        return
    catch_up(y, p, noise, tick)
    if commands.fans != y[TOLD_FANS] or damper != y[TOLD_DAMPER] or dump != y[TOLD_DUMP]:
        y[MOMENT_TICKS] = p[TICKS_PER_S]
        y[UNSETTLED_S] = SETTLES_S
    if commands.valve != y[TOLD_VALVE]:
        y[MOVING] = TURNS
    if pump != y[CONTACT]:
        y[MOMENT_TICKS] = p[TICKS_PER_S]
        y[MOVING] = SPINS
    y[TOLD_PUMP] = pump
    y[TOLD_VALVE] = commands.valve
    y[TOLD_FANS] = commands.fans
    y[TOLD_DAMPER] = damper
    y[TOLD_DUMP] = dump
    y[CONTACT] = pump if y[SUPPLY_V] > 0.0 else 0.0


def hotter(a_c: float, b_c: float) -> float:
    """The hotter of two readings of which either may be unknown."""
    return a_c if a_c >= b_c or b_c != b_c else b_c


def capped_lpm(readings: Readings, pulses_per_l: float) -> float:
    """The flow that the last pulses show: a flow whose next pulse is overdue is less."""
    overdue_s = readings.pulse_age_s
    if overdue_s <= 0.0:
        return readings.flow_lpm
    most_lpm = 60.0 / (pulses_per_l * overdue_s)
    return most_lpm if most_lpm < readings.flow_lpm else readings.flow_lpm


def largest(a_w: float, b_w: float, c_w: float) -> float:
    """The largest of three."""
    most_w = a_w if a_w > b_w else b_w
    return most_w if most_w > c_w else c_w


def sample(
    y: Floats, p: Floats, trace: Floats, row: int, time_s: float, readings: Readings, state: State
) -> None:
    """One row of the trace."""
    o = row * TRACE_COLUMNS
    watch = state.watch
    trace[o] = time_s
    trace[o + 1] = state.mode.phase
    trace[o + 2] = state.mode.fire
    trace[o + 3] = state.mode.coil
    trace[o + 4] = y[STUB]
    trace[o + 5] = hotter(readings.coil_outlet_a_c, readings.coil_outlet_b_c)
    trace[o + 6] = y[HOTTEST_WATER]
    trace[o + 7] = y[HOTTEST_WALL]
    trace[o + 8] = y[TANK_TOP]
    trace[o + 9] = y[TANK_BOTTOM]
    trace[o + 10] = readings.tank_c
    trace[o + 11] = readings.radiator_inlet_c
    trace[o + 12] = readings.radiator_outlet_c
    trace[o + 13] = y[ROOM_AIR]
    trace[o + 14] = y[LINE_LEAST]
    trace[o + 15] = p[OUTDOOR_C]
    trace[o + 16] = y[FLOW_LPM]
    trace[o + 17] = capped_lpm(readings, p[PULSES_PER_L])
    trace[o + 18] = y[TOLD_VALVE]
    trace[o + 19] = y[STROKE]
    trace[o + 20] = y[TOLD_PUMP]
    trace[o + 21] = y[TOLD_FANS]
    trace[o + 22] = y[TOLD_DAMPER]
    trace[o + 23] = y[TOLD_DUMP]
    trace[o + 24] = y[HORN]
    trace[o + 25] = y[FIRE_W]
    trace[o + 26] = y[WATER_W]
    trace[o + 27] = y[ROOM_W]
    trace[o + 28] = y[DUMP_W]
    trace[o + 29] = y[LOSS_W]
    trace[o + 30] = y[SUPPLY_V]
    trace[o + 31] = readings.pump_a
    trace[o + 32] = largest(watch.heat_now_w, watch.heat_before_w, watch.heat_earlier_w)
    trace[o + 33] = state.control.target_lpm


def signal(
    y: Floats, signals: Floats, rows: int, row: int, time_s: float, readings: Readings,
    state: State, awake: bool,
) -> None:
    """One value of every signal."""
    signals[row] = time_s
    signals[rows + row] = y[HOTTEST_WATER]
    signals[2 * rows + row] = y[HOTTEST_WALL]
    signals[3 * rows + row] = y[STUB]
    signals[4 * rows + row] = y[TANK_BOTTOM]
    signals[5 * rows + row] = y[FLOW_LPM]
    signals[6 * rows + row] = y[FIRE_W]
    signals[7 * rows + row] = y[SUPPLY_V]
    signals[8 * rows + row] = y[TOLD_PUMP]
    signals[9 * rows + row] = y[TOLD_VALVE]
    signals[10 * rows + row] = y[TOLD_DAMPER]
    signals[11 * rows + row] = y[TOLD_DUMP]
    signals[12 * rows + row] = y[TOLD_FANS]
    signals[13 * rows + row] = y[HORN]
    signals[14 * rows + row] = state.mode.phase
    signals[15 * rows + row] = 1.0 if awake else 0.0
    signals[16 * rows + row] = readings.coil_outlet_a_c
    signals[17 * rows + row] = readings.coil_outlet_b_c
    signals[18 * rows + row] = readings.tank_c
    signals[19 * rows + row] = readings.radiator_outlet_c
    signals[20 * rows + row] = state.raised


def note(log: Floats, row: int, tick: int, state: State) -> None:
    """One row of the log."""
    o = row * LOG_COLUMNS
    log[o] = tick
    log[o + 1] = state.mode.phase
    log[o + 2] = state.raised
    log[o + 3] = state.mode.latched
    log[o + 4] = state.mode.first_out


def changed(was: State, now: State) -> bool:
    """Whether the log needs a row."""
    return (
        was.raised != now.raised
        or was.mode.phase != now.mode.phase
        or was.mode.latched != now.mode.latched
        or was.mode.first_out != now.mode.first_out
    )


def run_until(
    y: Floats, p: Floats, noise: Floats, trace: Floats, signals: Floats, log: Floats,
    state: State, constants: Constants, requests: Requests, tick: int, until: int, awake: bool,
) -> tuple[int, int, State]:
    """Ticks ``tick`` to ``until``, with the same requests in each; stops early on a full log.

    A board that is not awake decides nothing, and a late one only at some of the ticks. Trace
    and signals are written from time zero on, each where its buffer is not empty.
    Returns the next tick, the rows written to the log and the state.
    """
    a_second = int(p[TICKS_PER_S])
    room = len(log) // LOG_COLUMNS
    traced, signalled = len(trace) > 0, len(signals) // SIGNAL_COUNT
    every = 1 + int(p[LATE_TICKS] + 0.5)
    rows = 0
    while tick < until and rows < room:
        time_s = tick * p[TICK_S]
        readings = read(y, p, time_s)
        if awake and (every == 1 or tick % every == 0):
            decision = decide(readings, requests, state, constants)
            obey(y, p, noise, tick, decision.commands)
            if changed(state, decision.state):
                note(log, rows, tick, decision.state)
                rows += 1
            state = decision.state
        if tick >= 0:
            if traced and tick % a_second == 0:
                sample(y, p, trace, tick // a_second, time_s, readings, state)
            if signalled > 0:
                signal(y, signals, signalled, tick, time_s, readings, state, awake)
        advance(y, p, noise, tick)
        tick += 1
    if tick == until:
        catch_up(y, p, noise, tick)
    return tick, rows, state
