"""How the bench brings each row's cause about, by the name of the row.

What a person does with wires at a proof test (`coilward interlocks --form`), the bench does with
readings. A row is led up to its cause by the reference alone; the board takes over from there.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Final, Literal, NamedTuple

from coilward.controller.phases import DUMP, NO_FLOW
from coilward.controller.types import Requests
from coilward.hil.bench.scene import Scene

NAN: Final = float("nan")
Change = Callable[[Scene, Random], None]
Each = Callable[[Scene], None]


def _nothing(_scene: Scene, _rng: Random) -> None:
    """No preparation."""


def _still(_scene: Scene) -> None:
    """Nothing more changes."""


class Provocation(NamedTuple):
    """One way to one row."""

    change: Change
    """The cause comes about."""
    each: Each = _still
    """Before every tick from then on."""
    before: Change = _nothing
    """What has to be so first."""
    begins: Literal["burning", "cold"] = "burning"
    counted: Literal["change", "seen"] = "change"
    """The reaction counts from the change or, where the cause is a time or follows from others,
    from the tick at which the reference sees it."""
    near_s: float = 0.0
    """Above 0: the reference alone plays all but the last seconds before the row."""
    within_s: float = 60.0
    """The row has come by then, from the change on."""


def sets(**changes: float) -> Change:
    """Readings are changed."""
    return lambda scene, _: scene.set(**changes)


def _limits(scene: Scene) -> tuple[float, float]:
    """What an outlet may rise in a tick without being too fast, and without being an outlier."""
    limits = scene.constants.limits
    return 0.6 * limits.outlet_rate_k_s * scene.constants.tick_s, 0.8 * limits.outlet_jump_k


def _outlets(scene: Scene, to_c: float) -> None:
    scene.set(coil_outlet_a_c=to_c, coil_outlet_b_c=to_c)


def _ramp(scene: Scene, to_c: float) -> None:
    """Bring both outlets up, slower than what is too fast."""
    step_k, _ = _limits(scene)
    while scene.readings.coil_outlet_a_c < to_c:
        _outlets(scene, min(scene.readings.coil_outlet_a_c + step_k, to_c))
        scene.tick()


def _near_dump(scene: Scene, _rng: Random) -> None:
    _ramp(scene, scene.constants.limits.outlet_dump_c - 0.6)


def _over_dump(scene: Scene, rng: Random) -> None:
    _outlets(scene, scene.constants.limits.outlet_dump_c + rng.uniform(0.1, 0.5))


def _leap(scene: Scene) -> None:
    """Up as fast as is believed, until over the high-high trip."""
    if scene.readings.coil_outlet_a_c < scene.constants.limits.outlet_hh_c:
        _, step_k = _limits(scene)
        _outlets(scene, scene.readings.coil_outlet_a_c + step_k)


def _steep(scene: Scene) -> None:
    """Faster than any fire."""
    rate_k_s = 2.0 * scene.constants.limits.outlet_rate_k_s
    _outlets(scene, scene.readings.coil_outlet_a_c + rate_k_s * scene.constants.tick_s)


def _cooler(scene: Scene, _rng: Random) -> None:
    """Both outlets start low, so that the row is there before the dump trip."""
    low_c = scene.readings.tank_c + 3.0
    while scene.readings.coil_outlet_a_c > low_c:
        _outlets(scene, max(scene.readings.coil_outlet_a_c - 0.2, low_c))
        scene.tick()
    scene.run(20.0)


def _tank_over(name: str) -> Change:
    def change(scene: Scene, rng: Random) -> None:
        scene.set(tank_c=getattr(scene.constants.limits, name) + rng.uniform(0.1, 0.5))

    return change


def _needs_more(scene: Scene, _rng: Random) -> None:
    """A tank just under its trip, and what the largest fire would add to it."""
    limits, water = scene.constants.limits, scene.constants.water
    rise_k = water.heat_largest_w / (water.w_per_lpm_k * water.open_lpm)
    tank_c = limits.tank_trip_c - 0.5
    scene.set(tank_c=tank_c)
    if scene.readings.coil_outlet_a_c < tank_c + rise_k:
        _outlets(scene, min(tank_c + rise_k, limits.outlet_dump_c - 1.0))


def _metal(name: str) -> Change:
    def change(scene: Scene, rng: Random) -> None:
        limits = scene.constants.limits
        over_c = max(getattr(limits, name), limits.metal_high_c)
        scene.set(coil_metal_c=over_c + rng.uniform(0.5, 5.0))

    return change


def _current(scene: Scene, rng: Random) -> None:
    power = scene.constants.power
    scene.set(pump_a=rng.choice((0.0, 0.5 * power.pump_low_a, 1.5 * power.pump_high_a)))


def _no_water(scene: Scene, _rng: Random) -> None:
    scene.stop_water()


def _stalled(scene: Scene, _rng: Random) -> None:
    """The water stands, and the pump's current says so, too."""
    scene.stop_water()
    if scene.constants.fitted.current:
        scene.set(pump_a=1.5 * scene.constants.power.pump_high_a)


def _until_no_flow(scene: Scene, rng: Random) -> None:
    _no_water(scene, rng)
    scene.until(lambda s: s.state.mode.phase == NO_FLOW, 10.0)


def _stopped_once(scene: Scene, rng: Random) -> None:
    _until_no_flow(scene, rng)
    scene.start_water()
    scene.until(lambda s: s.state.mode.phase != NO_FLOW, 30.0)
    scene.run(60.0)


def _power_back(scene: Scene, rng: Random) -> None:
    away_s = rng.uniform(600.0, 3600.0)
    scene.reboot(
        outage_s=away_s, pump_contact=0.0, pump_a=0.0, flow_lpm=0.0, flow_switch=0.0,
        pulse_age_s=away_s,
    )  # fmt: skip


def _restart(scene: Scene, _rng: Random) -> None:
    scene.reboot(outage_s=2.0)


def _restarted_twice(scene: Scene, rng: Random) -> None:
    for _ in range(2):
        _restart(scene, rng)
        scene.run(20.0)


def _outlet_lost(scene: Scene, rng: Random) -> None:
    name = "coil_outlet_b_c" if scene.constants.fitted.outlet_b else "coil_outlet_a_c"
    scene.set(**{name: rng.choice((NAN, -127.0, 999.0))})


def _meter_dies(scene: Scene, _rng: Random) -> None:
    """Pulses end, and everything else says that water moves."""
    scene.set(pulse_age_s=scene.constants.tick_s)


def _inlet_low(scene: Scene, _rng: Random) -> None:
    truth, readings = scene.constants.truth, scene.readings
    loss_k = truth.hot_w_k * (readings.coil_outlet_a_c - truth.hot_air_c) / (
        scene.constants.water.w_per_lpm_k * readings.flow_lpm
    )
    gap_k = 3.0 * (loss_k + 2.0 + truth.line_error_k)
    scene.set(radiator_inlet_c=readings.coil_outlet_a_c - gap_k)


def _deaf_valve(scene: Scene, rng: Random) -> None:
    scene.set(flow_lpm=scene.readings.flow_lpm)
    _ramp(scene, scene.constants.limits.set_point_c + rng.uniform(5.0, 6.0))


def _short_of_flow(scene: Scene, rng: Random) -> None:
    """Under what the fire needs, and under what the opened valve should give."""
    limits, water = scene.constants.limits, scene.constants.water
    scene.set(flow_lpm=rng.uniform(0.45, 0.6) * water.open_lpm)
    needs_k = water.heat_largest_w / (water.w_per_lpm_k * scene.readings.flow_lpm)
    scene.set(tank_c=min(limits.allow_c - 0.55 * needs_k, limits.tank_trip_c - 1.0))


def _fans(least: float, most: float) -> Change:
    def change(scene: Scene, rng: Random) -> None:
        scene.set(fan_a=rng.uniform(least, most) * scene.constants.power.fan_low_a)

    return change


def _supply_low(scene: Scene, rng: Random) -> None:
    scene.set(supply_v=rng.uniform(0.75, 0.93) * scene.constants.power.rated_v)


def _asks(**held: bool) -> Change:
    def change(scene: Scene, _rng: Random) -> None:
        scene.requests = Requests(**held)

    return change


def _warm(scene: Scene, rng: Random) -> None:
    """Heat in a loop that has no permission: in the flue, else in the metal, else in the water."""
    fitted = scene.constants.fitted
    if fitted.flue:
        scene.set(flue_c=rng.uniform(95.0, 140.0))
    if fitted.metal:
        scene.set(coil_metal_c=rng.uniform(60.0, 80.0))
    outlet_c = scene.readings.tank_c + 10.0
    _outlets(scene, outlet_c)


def _wedged(scene: Scene, _rng: Random) -> None:
    scene.set(damper_shut=0.0)
    scene.requests = Requests(emergency=True)


def _people(scene: Scene, rng: Random) -> None:
    over_c = scene.constants.limits.people_c + rng.uniform(0.1, 0.5)
    if scene.constants.fitted.tub:
        scene.set(tank_c=over_c)
    else:
        scene.set(room_c=over_c)


def _witness(scene: Scene, rng: Random) -> None:
    fitted = scene.constants.fitted
    names = ["supply_v"]
    names += ["pump_a"] if fitted.current else []
    names += ["flow_switch"] if fitted.switch else []
    names += ["level_low_low"] if fitted.level else []
    scene.set(**{rng.choice(names): NAN})


def _apart(scene: Scene) -> None:
    """The second outlet falls away from the first as fast as is believed."""
    if scene.readings.coil_outlet_a_c - scene.readings.coil_outlet_b_c < 12.0:
        _, step_k = _limits(scene)
        scene.add(coil_outlet_b_c=-step_k)


def _late(scene: Scene, rng: Random) -> None:
    scene.time_s += rng.uniform(2.0, 8.0) * scene.constants.tick_s


def _hot_in_dump(scene: Scene, rng: Random) -> None:
    _near_dump(scene, rng)
    _over_dump(scene, rng)
    scene.until(lambda s: s.state.mode.phase == DUMP, 10.0)


def _odd_flow(scene: Scene, rng: Random) -> None:
    scene.set(flow_lpm=rng.uniform(1.6, 1.8) * scene.readings.flow_lpm)


PROVOCATIONS: Final[dict[str, Provocation]] = {
    "C01": Provocation(_no_water),
    "C02": Provocation(_current),
    "C03": Provocation(_over_dump, before=_near_dump),
    "C04": Provocation(_nothing, each=_leap, before=_near_dump, counted="seen"),
    "C05": Provocation(_tank_over("tank_trip_c")),
    "C06": Provocation(_tank_over("tank_hh_c")),
    "C07": Provocation(_needs_more),
    "C08": Provocation(_nothing, each=_steep, before=_cooler, counted="seen"),
    "C09": Provocation(_metal("metal_high_c")),
    "C10": Provocation(_metal("metal_dry_c"), before=_until_no_flow),
    "C11": Provocation(_stalled, within_s=600.0),
    "C12": Provocation(_power_back),
    "C13": Provocation(_outlet_lost),
    "C14": Provocation(sets(coil_outlet_a_c=NAN, coil_outlet_b_c=NAN)),
    "C15": Provocation(sets(tank_c=NAN)),
    "C16": Provocation(sets(flow_lpm=5.0, pulse_age_s=0.01), begins="cold"),
    "C17": Provocation(_meter_dies, within_s=600.0),
    "C18": Provocation(_inlet_low, counted="seen", near_s=2.0, within_s=900.0),
    "C19": Provocation(_nothing, before=_deaf_valve, counted="seen", near_s=4.0, within_s=200.0),
    "C20": Provocation(_short_of_flow, counted="seen"),
    "C21": Provocation(_fans(1.5, 2.3)),
    "C22": Provocation(_fans(0.0, 0.9)),
    "C23": Provocation(sets(level_low=1.0)),
    "C24": Provocation(sets(level_low_low=1.0)),
    "C25": Provocation(sets(vent_wet=1.0)),
    "C26": Provocation(sets(line_min_c=0.5)),
    "C27": Provocation(sets(co_ppm=150.0)),
    "C28": Provocation(sets(smoke=1.0)),
    "C29": Provocation(_supply_low),
    "C32": Provocation(_asks(emergency=True)),
    "C33": Provocation(_asks(remote_unsafe=True)),
    "C34": Provocation(_warm, begins="cold"),
    "C35": Provocation(_wedged, counted="seen"),
    "C36": Provocation(sets(constants_ok=0.0)),
    "C37": Provocation(_nothing, before=_hot_in_dump, counted="seen", near_s=2.0, within_s=900.0),
    "C38": Provocation(_people, within_s=90.0),
    "C39": Provocation(sets(radiator_outlet_c=1.0)),
    "C40": Provocation(_restart, before=_restarted_twice),
    "C41": Provocation(_witness),
    "C42": Provocation(_no_water, before=_stopped_once, counted="seen"),
    "C43": Provocation(_nothing, each=_apart, counted="seen"),
    "C44": Provocation(_late),
    "C45": Provocation(sets(co_ppm=40.0), near_s=2.0, within_s=400.0),
    "C46": Provocation(_odd_flow, counted="seen", near_s=2.0, within_s=400.0),
}
"""By row; a row that is not here can't be measured, and is told as that."""
