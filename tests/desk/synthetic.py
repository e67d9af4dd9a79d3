"""A made-up run: smooth traces that no plant gave, to look at the desk by itself."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace

import numpy as np

from coilward.controller.phases import PHASES
from coilward.loop.derived import derive
from coilward.loop.document import read_loop
from coilward.simulator.night import read_night

TODAY = date(2026, 11, 25)


def cause(time_s, name, first_out=False, latched=False):
    return SimpleNamespace(time_s=time_s, name=name, first_out=first_out, latched=latched)


def _phase_trace(time_s, phases):
    phase = np.zeros(len(time_s))
    for start_s, name in phases:
        phase[time_s >= start_s] = PHASES.index(name)
    return phase


def _run(loop_name, night_name, phases, causes, acts, first_boil_s, margins, pump_off_s, traces):
    loop, night = read_loop(loop_name), read_night(night_name)
    derived = derive(loop, TODAY)
    t = np.arange(0.0, night.duration_s + 1.0)
    n = len(t)
    wave = np.sin(t / 900.0)
    trace = {
        "time_s": t,
        "phase": _phase_trace(t, phases),
        "fire": np.ones(n),
        "coil": np.ones(n),
        "coil_outlet_true_c": 58 + 4 * wave,
        "coil_outlet_seen_c": 57.5 + 4 * np.sin((t - 8) / 900.0),
        "coil_water_max_c": 61 + 4 * wave,
        "coil_wall_max_c": 66 + 5 * wave,
        "tank_top_c": 26 + 2 * wave,
        "tank_bottom_c": 24 + 2 * wave,
        "tank_seen_c": 25 + 2 * wave,
        "radiator_inlet_c": 57 + 4 * wave,
        "radiator_outlet_c": 26 + 2 * wave,
        "room_c": 8 + 0.5 * wave,
        "line_min_c": 20 + wave,
        "outdoor_c": np.full(n, loop.site.outdoor_c),
        "flow_true_lpm": 5 + 0.8 * wave,
        "flow_seen_lpm": 5 + 0.8 * wave + 0.05 * np.sin(t),
        "flow_min_lpm": 4.3 + 0.3 * wave,
        "valve_cmd": np.full(n, 0.5),
        "valve_true": np.full(n, 0.5),
        "pump_cmd": np.ones(n),
        "fans_cmd": np.ones(n),
        "damper_cmd": np.ones(n),
        "dump_cmd": np.zeros(n),
        "horn": np.zeros(n),
        "heat_fire_w": 12000 + 1500 * wave,
        "heat_water_w": 11900 + 1400 * np.sin((t - 40) / 900.0),
        "heat_room_w": 11000 + 1200 * np.sin((t - 120) / 900.0),
        "heat_dump_w": np.zeros(n),
        "heat_loss_w": np.full(n, 400.0),
        "supply_v": np.full(n, 12.8),
        "pump_a": np.full(n, 4.0),
    }
    traces(t, trace)
    names = [moment.fault for moment in night.moment if moment.fault]
    return SimpleNamespace(
        loop=loop,
        night=night,
        seed=7,
        engine="interpreted",
        derived=derived,
        duration_s=night.duration_s,
        x_real_time=123456.0,
        trace=trace,
        phases=phases,
        causes=causes,
        acts=acts,
        peaks=SimpleNamespace(coil_outlet_true_c=64.0, coil_wall_c=71.0, tank_c=28.0),
        margins=SimpleNamespace(boil_k=margins[0], boil_s=margins[1]),
        first_boil_s=first_boil_s,
        pump_off_with_fire_s=pump_off_s,
        final=SimpleNamespace(coil_outlet_true_c=30.0, tank_c=24.0, room_c=8.0),
        energy_closure=2e-6,
        faults_fired=dict.fromkeys(names, True),
        valve_limit_s={"full": 0.0, "clamp": 500.0},
        logic="",
        died=None,
    )


def quiet_run(loop_name="greenhouse"):
    phases = [
        (0.0, "standby"), (120.0, "cold start"), (720.0, "warm-up"), (2200.0, "run"),
        (23400.0, "shutdown"), (27000.0, "standby"),
    ]
    acts = [(120.0, "the check is asked for"), (720.0, "the fire is lit")]
    acts += [(1620.0 + 900 * i, "wood is put in: 0.33 charge") for i in range(24)]
    acts += [(23400.0, "the last load is told")]

    def traces(t, trace):
        warm = np.clip((t - 720) / 2000, 0, 1) * np.clip((27000 - t) / 3600, 0, 1)
        for name in ("coil_outlet_true_c", "coil_outlet_seen_c", "coil_water_max_c",
                     "coil_wall_max_c", "tank_top_c", "tank_bottom_c", "radiator_inlet_c",
                     "radiator_outlet_c"):
            trace[name] = 8 + (trace[name] - 8) * warm
        for name in ("heat_fire_w", "heat_water_w", "heat_room_w", "heat_loss_w"):
            trace[name] = trace[name] * warm
        for name in ("flow_true_lpm", "flow_seen_lpm"):
            trace[name] = np.where((t > 720) & (t < 27000), trace[name], 0.0)

    return _run(loop_name, "quiet", phases, [], acts, None, (24.3, 41.0), 0.0, traces)


def dead_pump_run(loop_name="greenhouse"):
    """The pump dies; seen by flow; two retries; locked off; boils after 74 s."""
    from coilward.simulator.night import read_night

    night = read_night("pump-dies")
    at = next(moment.at_s for moment in night.moment if moment.fault)
    phases = [(0.0, "run"), (at + 1.25, "no-flow fault"), (at + 34.0, "dry lock-out")]
    causes = [
        cause(at + 1.25, "C01", first_out=True),
        cause(at + 2.0, "C02"),
        cause(at + 34.0, "C11", latched=True),
    ]
    acts = [(at, "fault: the pump stops and stays stopped")]

    def traces(t, trace):
        still = t >= at
        rise = np.clip((t - at) / 74.0, 0, 1) * 36.0
        after = np.where(t > at + 74, np.minimum((t - at - 74) * 0.5, 20), 0)
        trace["coil_water_max_c"] = np.where(still, 60.6 + rise, trace["coil_water_max_c"])
        trace["coil_wall_max_c"] = np.where(still, 64 + rise + after, trace["coil_wall_max_c"])
        trace["coil_outlet_true_c"] = np.where(still, 58 - (t - at) / 3400,
                                               trace["coil_outlet_true_c"])
        for name in ("flow_true_lpm", "flow_seen_lpm", "heat_water_w"):
            trace[name] = np.where(still, 0.0, trace[name])
        fade = np.exp(-np.clip(t - at, 0, None) / 1500)
        trace["heat_fire_w"] = trace["heat_fire_w"] * fade
        pump = np.ones(len(t))
        pump[(t >= at + 2) & (t < at + 3)] = 0
        pump[(t >= at + 6) & (t < at + 7)] = 0
        pump[t >= at + 34] = 0
        trace["pump_cmd"] = pump

    return _run(loop_name, "pump-dies", phases, causes, acts, at + 74.0, (0.0, 0.0), 3600.0,
                traces)
