"""What a tuning says in words: the settings, the promises they keep, before and after."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Final

from coilward.desk.cautions import CAUTIONS
from coilward.desk.console import heading, item, lead
from coilward.loop.units import System, convert, show
from coilward.tuning.scheduling import keys
from coilward.tuning.trials import IN_BAND_K

if TYPE_CHECKING:
    from rich.console import Console

    from coilward.loop.model import Throttle
    from coilward.tuning.checks import Check
    from coilward.tuning.trials import Trial
    from coilward.tuning.tuning import Judged, Tuned

NOTHING: Final = "The valve of a tub is always open: there is nothing to tune."
PROMISES: Final = {
    "sensitivity": "Ms, the largest at any flow and heat",
    "sensitivity-corner": "Ms in the worst corner of the loop's tolerances",
    "fixed-gains": "integrated error at any flow over that of fixed gains",
    "peak": "outlet's peak after a surge of 30 % in a minute, against the dump trip",
    "peak-before": "how much hotter that peak is than with the present settings",
    "moves": "moves of the valve in a steady hour",
    "surge-error": "integrated error after a surge over the present",
    "steady-error": "how much further from the set-point in the mean of steady hours",
    "clamp": "seconds at the minimum flow's clamp, once settled, where there were none",
    "alarms": "alarms that did not come before",
    "night-peak": "how much hotter a bad night gets",
    "night-boil": "how much sooner a dead pump boils the coil",
    "night-alarms": "alarms of a bad night that did not come before",
}
LIMITS_SAID: Final = (
    "The plant is simulated: a real valve sticks, and a real fire flickers. Watch the valve for "
    "the first hours after new settings.",
    "The tank is held in the tests of the valve: it turns round far slower than the valve answers.",
)


def headline(tuned: Tuned) -> str:
    """The answer in one sentence."""
    now = tuned.proposed
    if now is None:
        broken = [PROMISES[check.key] for check in tuned.checks if not check.held]
        return (
            "Nothing is proposed, and the present settings stay: no others keep every promise. "
            f"The last that were tried break: {'; '.join(broken)}."
        )
    ruled = [
        (was, new)
        for was, new in zip(tuned.present.trials, now.trials, strict=True)
        if was.regulates
    ]
    if not ruled:
        return (
            "Settings are proposed, but none of the fires that were tried needs them: the clamp of "
            "the minimum flow, or the fully open valve, holds the flow in every one."
        )
    error = max(new.surge_k_min / was.surge_k_min for was, new in ruled)
    moves = [max(each[side].moves_1_h for each in ruled) for side in (0, 1)]
    return (
        f"With the proposed settings a surge leaves {100 * error:.0f} % of the present error at "
        f"the most, and the valve moves {moves[1]:.0f} times in a steady hour instead of "
        f"{moves[0]:.0f}."
    )


def promised(check: Check, system: System) -> str:
    """Value against limit."""

    def said(value: float) -> str:
        # Nothing is shown as minus nothing.
        return show(round(value, 1) + 0.0, check.unit, system) if check.unit else f"{value:.3g}"

    return f"{said(check.value)} of at most {said(check.limit)}"


def section(settings: Throttle) -> list[str]:
    """The lines of the loop file."""
    written = keys(settings).items()
    return ["[throttle]"] + [f"{key.split('.')[1]} = {json.dumps(value)}" for key, value in written]


def compared(tuned: Tuned, system: System) -> list[tuple[str, str, str]]:
    """Label, present and proposed, of what a person compares."""

    size, unit = convert(1.0, "k", system)

    def sides(judged: Judged | None) -> list[str]:
        if judged is None:
            return ["-"] * 7
        margins = judged.margins
        trials = judged.trials
        return [
            f"{max(each.sensitivity for each in margins):.2f}",
            f"{max(each.sensitivity for each in judged.cornered):.2f}",
            f"{min(each.gain_margin for each in judged.cornered):.1f}, "
            f"{min(each.phase_margin_deg for each in judged.cornered):.0f}°",
            " / ".join(show(each.peak_c, "c", system) for each in trials),
            " / ".join(f"{size * each.surge_k_min:.0f}" for each in trials),
            " / ".join(f"{each.moves_1_h:.0f}, {each.travel_1_h:.1f}" for each in trials),
            " / ".join(f"{100 * each.in_band:.0f} %" for each in trials),
        ]

    labels = [
        "Ms at most",
        "Ms in the worst corner",
        "gain and phase margin there",
        "peak after a surge",
        f"integrated error after it, {unit} min",
        "moves and strokes of the valve in a steady hour",
        f"steady hour within {show(IN_BAND_K, 'k', system)}",
    ]
    return list(zip(labels, sides(tuned.present), sides(tuned.proposed), strict=True))


def heats_said(trials: list[Trial], system: System) -> str:
    """The heats of the three numbers in a row."""
    said = " / ".join(
        f"{show(each.heat_w, 'w', system)} with {100 * each.cooling:.0f} %" for each in trials
    )
    held = [show(each.heat_w, "w", system) for each in trials if not each.regulates]
    more = (
        f"; at {' and '.join(held)} the clamp or the fully open valve holds the flow, not the rule"
        if held
        else ""
    )
    return f"Heats before the surge, and how much of the radiator cools: {said}{more}."


def corner_said(judged: Judged) -> str:
    """Which tolerances make the worst corner."""
    named = [f"{name} {'high' if off > 0 else 'low'}" for name, off in judged.corner.items()]
    return f"Worst corner: {', '.join(named) or 'the loop as it is'}."


def say_tuned(console: Console, tuned: Tuned, system: System) -> None:
    """All of it on the console."""
    console.print()
    shape = "( o )" if tuned.proposed else "( = )"
    item(console, f"{shape}  {headline(tuned)}", indent=0, style="bold")
    heading(console, "Measured: outlet against flow, by steps (95 %) and by a relay")
    for each in tuned.measured.found:
        process, place = each.process, each.place
        litre, flow_unit = convert(1.0, "lpm", system)
        size, unit = convert(1.0, "k", system)
        ratio = size / litre
        relay = (
            f"{each.relay.gain / ratio:.2f} {flow_unit}/{unit}, {each.relay.period_s:.0f} s"
            if each.relay
            else "-"
        )
        console.print(
            f"  {show(place.flow_lpm, 'lpm', system):>11} {show(place.heat_w, 'w', system):>12} "
            f"gain {ratio * process.gain.value:7.2f} ± {ratio * process.gain.within:.2f} "
            f"{unit}/({flow_unit})  "
            f"lag {process.lag_s.value:5.1f} ± {process.lag_s.within:.1f} s  "
            f"delay {process.delay_s.value:4.1f} ± {process.delay_s.within:.1f} s  relay {relay}",
            soft_wrap=True,
        )
    heading(console, "Before and after")
    for label, was, now in compared(tuned, system):
        lead(console, label, f"{was}  ->  {now}", width=48)
    item(console, heats_said(tuned.present.trials, system))
    item(console, corner_said(tuned.proposed or tuned.present))
    heading(console, "Promises")
    for check in tuned.checks:
        word = "kept" if check.held else "BROKEN"
        lead(console, word, f"{PROMISES[check.key]}: {promised(check, system)}", width=6)


def say_care(console: Console) -> None:
    """What it can't show, and the usual cautions."""
    heading(console, "Take care")
    for caution in (*LIMITS_SAID, *CAUTIONS):
        lead(console, "-", caution, width=1)
