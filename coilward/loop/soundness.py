"""Whether the logic can hold the loop at all: if not, no trip point helps."""

from __future__ import annotations

from collections.abc import Iterator

from coilward.loop.derived import Derived
from coilward.loop.findings import Finding
from coilward.loop.model import Loop
from coilward.loop.states import ESTIMATE, RESERVE
from coilward.loop.sums import swing
from coilward.loop.topology import forbidden
from coilward.loop.trips import is_tub
from coilward.loop.units import show

SETTLED_BELOW_WARNING_K = 3.0
SETTLED_BELOW_ALLOWED_K = 3.0
LEAST_QUARTER_S = 2.0
LEAST_DEBOUNCE_S = 0.5
PLACES = 7
"""Flows at which the valve's rule is looked at."""

TOO_SMALL = (
    "This coil is too small or too hot to be protected by detection. Only passive hardware counts."
)


def _outlet_at_trip(loop: Loop, derived: Derived) -> Iterator[Finding]:
    rise_k = 1e3 * loop.fire.largest_kw / (derived.flow_open_lpm * derived.water_w_per_lpm_k)
    outlet_c = derived.tank_trip_c + rise_k
    # The trip is derived from this very sum: a hair of rounding is no finding.
    if outlet_c > derived.allow_c + 1e-9:
        yield Finding(
            "outlet-over-allowed",
            f"With the tank at its trip the largest fire brings the outlet to "
            f"{show(outlet_c, 'c', loop.units)}; allowed are "
            f"{show(derived.allow_c, 'c', loop.units)}. More flow, or less fire.",
            "stop",
        )


def _tank_settles(loop: Loop, derived: Derived) -> Iterator[Finding]:
    if is_tub(loop):
        if derived.tank_finish_c <= loop.tank.start_c:
            yield Finding(
                "tub-too-small",
                "What the fire still gives after its damper shut would alone heat the tub past "
                f"the people limit: it would have to be finished at "
                f"{show(derived.tank_finish_c, 'c', loop.units)}. More water, or less fire.",
                "stop",
            )
        return
    tank_c = derived.settled.nominal.tank_c
    if not tank_c <= derived.tank_warn_c - SETTLED_BELOW_WARNING_K:
        yield Finding(
            "tank-settles-hot",
            f"At the nominal fire the tank settles at {show(tank_c, 'c', loop.units)}, not "
            f"{show(SETTLED_BELOW_WARNING_K, 'k', loop.units)} below its warning at "
            f"{show(derived.tank_warn_c, 'c', loop.units)}. The loop would run in its trips. "
            "A larger radiator, more flow, or less fire.",
            "stop",
        )


def _flow_available(loop: Loop, derived: Derived) -> Iterator[Finding]:
    for fire, least_lpm in (
        ("nominal", derived.flow_min_nominal_lpm),
        ("largest", derived.flow_min_largest_lpm),
    ):
        if not RESERVE * least_lpm <= derived.flow_open_lpm:
            yield Finding(
                f"too-little-flow-{fire}",
                f"At the {fire} fire the loop needs {show(RESERVE * least_lpm, 'lpm', loop.units)} "
                f"(minimum flow and reserve); the open valve passes "
                f"{show(derived.flow_open_lpm, 'lpm', loop.units)}. Wider pipe, a stronger pump, "
                "a larger radiator, or less fire.",
                "stop",
            )


def _room_for_estimate(loop: Loop, derived: Derived) -> Iterator[Finding]:
    settled = derived.settled.largest
    stream_w_k = derived.flow_open_lpm * derived.water_w_per_lpm_k
    outlet_c = settled.tank_c + ESTIMATE * 1e3 * loop.fire.largest_kw / stream_w_k
    if not outlet_c <= derived.allow_c - SETTLED_BELOW_ALLOWED_K:
        yield Finding(
            "largest-fire-too-hot",
            "With the largest fire held, and a quarter more for what is not known, the outlet "
            f"comes to {show(outlet_c, 'c', loop.units)}; it must stay "
            f"{show(SETTLED_BELOW_ALLOWED_K, 'k', loop.units)} below the allowed "
            f"{show(derived.allow_c, 'c', loop.units)}. A larger radiator, more flow, or less "
            "fire.",
            "stop",
        )


def _time_to_detect(loop: Loop, derived: Derived) -> Iterator[Finding]:
    quarter_s = derived.boil_s.largest.peaked_est / 4
    if not quarter_s >= LEAST_QUARTER_S:
        yield Finding(
            "boils-too-fast",
            f"{TOO_SMALL} A quarter of the time to boil is {show(quarter_s, 's', loop.units)}; "
            f"at least {show(LEAST_QUARTER_S, 's', loop.units)} are needed to see and to act.",
            "stop",
        )
    elif derived.pulse_timeout_s + LEAST_DEBOUNCE_S > derived.low_flow_total_s:
        yield Finding(
            "meter-too-slow",
            "The meter gives too few pulses: five of them at the least flow take "
            f"{show(derived.pulse_timeout_s, 's', loop.units)}, and a loss of flow must be known "
            f"within {show(derived.low_flow_total_s, 's', loop.units)}. A meter with more pulses "
            "per litre.",
            "stop",
        )


def _throttle_settles(loop: Loop, derived: Derived) -> Iterator[Finding]:
    """The valve's own rule on a coil of plug flow, at flows over the whole range."""
    if is_tub(loop):
        return
    lag_s = loop.sensors.coil_outlet_a.lag_s
    every_s = swing.move_every_s(loop.valve.travel_s)
    low_lpm = max(derived.flow_stop_lpm, derived.flow_least_lpm)
    for place in range(PLACES):
        flow_lpm = low_lpm + (derived.flow_open_lpm - low_lpm) * place / (PLACES - 1)
        transit_s = derived.coil_heat_j_k / (derived.water_w_per_lpm_k * flow_lpm)
        rule = swing.rule_at(
            loop.throttle, flow_lpm, derived.flow_open_lpm, derived.coil_water_l, lag_s
        )
        step = swing.sampled_step(transit_s, lag_s, every_s)
        if swing.largest_pole(step, rule.share, every_s / rule.reset_s) >= 1.0:
            yield Finding(
                "throttle-swings",
                f"With the settings in [throttle] the valve would swing by itself at a flow of "
                f"{show(flow_lpm, 'lpm', loop.units)}, open and shut without end: no loop with "
                "this coil and this thermometer is steady with them. A smaller gain, a longer "
                "reset, or no section [throttle] at all.",
                "stop",
            )
            return


def sound(loop: Loop, derived: Derived) -> list[Finding]:
    """Every broken condition; an empty list means that the loop is sound."""
    checks = (
        _outlet_at_trip, _tank_settles, _flow_available, _room_for_estimate, _time_to_detect,
        _throttle_settles,
    )  # fmt: skip
    return forbidden(loop) + [finding for check in checks for finding in check(loop, derived)]
