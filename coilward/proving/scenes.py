"""How a case comes into its phase: the start, and what happens before the fault begins.

Each phase is reached as a night reaches it, by the board's own decisions. The board may refuse:
then the case is invalid, never passed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from coilward.controller.phases import RUN, STANDBY, WARM_UP
from coilward.controller.state import NO, YES, State
from coilward.loop.model import Loop
from coilward.simulator import slots as at
from coilward.simulator.bench import Bench, Start
from coilward.simulator.engine import floats
from coilward.simulator.faults.power import REBOOT_S
from coilward.simulator.hydraulics import pumped_lpm
from coilward.simulator.night import Act, Heat, Moment, Night, Wood
from coilward.simulator.parameters import resting, running
from coilward.simulator.tolerances import deviate

if TYPE_CHECKING:
    from coilward.proving.case import Story

Floats = list[float]

SETTLES_S: Final = 240.0
"""For a loop that is a little off to settle anew, from where the loop of the file had settled."""
SHORTLY_S: Final = 20.0
CHECKED_S: Final = 250.0
"""A check takes four minutes; then the fire is lit, if it may be."""
SOON_S: Final = 20.0
EMBERS: Final = 0.03
SMALL: Final = 0.3
"""Shares of the nominal heat: what can't boil a coil in minutes, and what keeps a warm-up one."""
ICY_C: Final = 2.5
OVER_K: Final = 1.0
STOP_S: Final = 3.5
"""Half a second more than any board may take to notice that the water stands."""
STOOD_S: Final = 150.0
"""Longer than any refill window (held by a test)."""


_READINGS: Final = (at.LAGGED_, at.TRUE_, at.SEEN_)


@dataclass(frozen=True)
class Prelude:
    """The way into one phase."""

    earliest_s: float
    latest_s: float
    """Onset; a fire that burns freely may change for longer, `latest_burn_s`."""
    ready: Callable[[Bench, Floats, Start], tuple[Any, State, float]]
    """From parameters and the settled loop to state of the plant, of the board, and settling."""
    moments: Callable[[Loop, Story], list[Moment]]
    latest_burn_s: float = 0.0
    burns: bool = False
    """The fire, if there is one, always burns freely: it is lit in the course of the night."""
    longer_s: float = 0.0
    """Added to the time that a fault is given, for what comes before the fire."""


def moment(at_s: float, do: Act, **more: Any) -> Moment:
    """A moment, built without the checks that a typed one needs."""
    return Moment.model_construct(at_s=at_s, do=do, **more)


def _fire(loop: Loop, story: Story, from_s: float) -> list[Moment]:
    """The fire of a loop that runs: as it was held, larger, or burning freely with reloads."""
    if story.fire == "held nominal":
        return []
    if story.fire == "held largest":
        return [moment(from_s, "hold", heat=Heat("largest", 0.0))]
    return [moment(0.0, "let-go"), *_reloads(loop, story, story.first_reload_s)]


def _wood(story: Story, do: Act, at_s: float, charge: float) -> Moment:
    return moment(
        at_s, do, mass=Wood(charge, "charge"), moisture=story.moisture, lively=story.lively
    )


def _reloads(loop: Loop, story: Story, first_s: float) -> list[Moment]:
    every_s = story.charge * 60.0 * loop.fire.charge_interval_min / story.pace
    end_s, due_s, found = story.onset_s + story.lasts_s, first_s, []
    while due_s < end_s:
        found.append(_wood(story, "reload", due_s, story.charge))
        due_s += every_s
    return found


def _while_running(loop: Loop, story: Story) -> list[Moment]:
    return _fire(loop, story, max(0.0, story.onset_s - SHORTLY_S))


def _from_onset(loop: Loop, story: Story) -> list[Moment]:
    return _fire(loop, story, story.onset_s)


def _checked(story: Story, prepare_s: float) -> list[Moment]:
    """The check is asked for, and the fire lit where it passes."""
    lit_s = prepare_s + CHECKED_S
    return [
        moment(prepare_s, "prepare"),
        _wood(story, "light-if-allowed", lit_s, 2.0 * story.charge),
    ]


def _standby(_loop: Loop, story: Story) -> list[Moment]:
    return _checked(story, story.onset_s + SOON_S)


def _cold_start(_loop: Loop, story: Story) -> list[Moment]:
    return _checked(story, 2.0)


def _warm_up(loop: Loop, story: Story) -> list[Moment]:
    """A small fire until the onset, then the one of the story."""
    small = moment(0.0, "hold", heat=Heat("", SMALL * loop.fire.nominal_kw))
    if story.fire == "burn":
        rest = _reloads(loop, story, story.onset_s + story.first_reload_s)
        return [small, _wood(story, "light", story.onset_s, 2.0 * story.charge), *rest]
    name: Any = "nominal" if story.fire == "held nominal" else "largest"
    return [small, moment(story.onset_s, "hold", heat=Heat(name, 0.0))]


def _no_flow(loop: Loop, story: Story) -> list[Moment]:
    """A line is blocked for a few seconds, up to just after the onset."""
    begins_s = story.onset_s - STOP_S
    stop = moment(begins_s, "fault", fault="line-frozen", for_s=STOP_S + 1.0)
    return [stop, *_from_onset(loop, story)]


def _dry(loop: Loop, _story: Story) -> list[Moment]:
    """Water stands over embers for longer than the refill window."""
    embers = moment(0.0, "hold", heat=Heat("", EMBERS * loop.fire.nominal_kw))
    return [embers, moment(60.0, "fault", fault="line-frozen", for_s=STOOD_S)]


def _shutdown(loop: Loop, story: Story) -> list[Moment]:
    """The last load is told, or the emergency button pressed and left latched."""
    ends: Act = "emergency" if story.latched else "finish"
    return [moment(2.0, ends), *_from_onset(loop, story)]


def _degraded(loop: Loop, story: Story) -> list[Moment]:
    """An instrument is lost and comes back; the board keeps what it made of that.

    Of a room it is the tank's thermometer; a tub's ends the fire, and one at the outlet serves.
    """
    name = "outlet-a-fell" if loop.room.kind == "tub" else "tank-open"
    lost = moment(2.0, "fault", fault=name, for_s=story.onset_s - 3.0)
    return [lost, *_from_onset(loop, story)]


def _boot(loop: Loop, story: Story) -> list[Moment]:
    """The board restarts, and decides for the first time in the tick of the onset."""
    ends_s = story.onset_s - 0.1 * loop.tick_s
    reboot = moment(ends_s - REBOOT_S, "fault", fault="board-reboots", for_s=REBOOT_S)
    return [reboot, *_from_onset(loop, story)]


def _nothing(_loop: Loop, _story: Story) -> list[Moment]:
    return []


def _settled(bench: Bench, _p: Floats, settled: Start) -> tuple[Any, State, float]:
    if not bench.logic.tells_phases:
        # What it remembers may be anything, also something that a night before has written to.
        return settled.y.copy(), bench.logic.first(bench.constants, RUN, YES), SETTLES_S
    state = settled.state
    ages = state.ages._replace(time_s=-SETTLES_S)
    return settled.y.copy(), state._replace(ages=ages), SETTLES_S


def _cold(bench: Bench, p: Floats, _: Start) -> tuple[Any, State, float]:
    return resting(bench.loop, p), bench.logic.first(bench.constants, STANDBY, NO), 0.0


def _icy(bench: Bench, p: Floats, settled: Start) -> tuple[Any, State, float]:
    y, state, _ = _cold(bench, p, settled)
    lines = ((at.COLD_, at.COLD_LEAST, at.COLD_OUT), (at.HOT_, at.HOT_LEAST, at.HOT_OUT),
             (at.BACK_, at.BACK_LEAST, at.BACK_OUT))  # fmt: skip
    for first, least, outdoors in lines:
        if p[outdoors] > 0.0:
            y[first : first + at.LINE_CELLS] = [ICY_C] * at.LINE_CELLS
            y[least] = ICY_C
    for slot in (at.LINE_LEAST, *(first + at.LINE for first in _READINGS)):
        y[slot] = ICY_C
    return y, state, 0.0


def _lit(bench: Bench, p: Floats, _: Start) -> tuple[Any, State, float]:
    """A cold loop whose pump runs, with a small fire just lit."""
    y = resting(bench.loop, p)
    y[at.TOLD_PUMP] = y[at.CONTACT] = 1.0
    y[at.SPEED] = p[at.SUPPLY_OPEN_V] / p[at.RATED_V]
    y[at.FLOW_LPM] = y[at.PULSE_LPM] = pumped_lpm(p, y[at.SPEED], y[at.VALVE_SQUARE])
    y[at.TOLD_DAMPER] = y[at.DAMPER] = y[at.AIR] = 1.0
    y[at.LIT] = 1.0
    return y, bench.logic.first(bench.constants, WARM_UP, YES), 0.0


def _overheated(bench: Bench, p: Floats, _: Start) -> tuple[Any, State, float]:
    """Water over a trip: a room's tank, with all that it feeds, or what has just left the coil.

    A tub's tank is finished long before its trip.
    """
    y = running(bench.loop, bench.derived, p)
    if p[at.IS_TUB] > 0.0:
        hot_c = bench.derived.outlet_dump_c + OVER_K - p[at.OFFSET_K_ + at.OUTLET_A]
        slots: tuple[int, ...] = _COIL
    else:
        hot_c = bench.derived.tank_trip_c + OVER_K - p[at.OFFSET_K_ + at.TANK]
        slots = _EVERYWHERE
    for slot in slots:
        y[slot] = hot_c
    return y, bench.logic.first(bench.constants, RUN, YES), SHORTLY_S


_COIL: Final = (
    *range(at.WALL_, at.STUB + 1),
    *(first + channel for first in _READINGS for channel in (at.OUTLET_A, at.OUTLET_B)),
)
_EVERYWHERE: Final = (
    *range(at.WALL_, at.CORE_ + at.RADIATOR_CELLS), at.TANK_TOP, at.TANK_BOTTOM,
    *(first + channel for first in _READINGS for channel in range(at.METAL + 1)),
)  # fmt: skip

PRELUDES: Final = {
    "boot": Prelude(30.0, 120.0, _settled, _boot),
    "standby": Prelude(5.0, 60.0, _cold, _standby, burns=True, longer_s=SOON_S + CHECKED_S),
    "cold start": Prelude(5.0, 240.0, _cold, _cold_start, burns=True, longer_s=CHECKED_S),
    "warm-up": Prelude(10.0, 60.0, _lit, _warm_up),
    "run": Prelude(20.0, 300.0, _settled, _while_running, latest_burn_s=1200.0),
    "overheat dump": Prelude(1.0, 60.0, _overheated, _from_onset),
    "no-flow fault": Prelude(10.0, 60.0, _settled, _no_flow),
    "dry lock-out": Prelude(70.0 + STOOD_S, 400.0, _settled, _dry),
    "shutdown": Prelude(10.0, 400.0, _settled, _shutdown),
    "freeze guard": Prelude(2.0, 150.0, _icy, _nothing, burns=True),
    "degraded run": Prelude(40.0, 140.0, _settled, _degraded),
}
"""The way into each phase, by its name."""


def possible(phase: str, loop: Loop) -> bool:
    """Whether this loop's board can come into a phase."""
    lines = loop.lines
    outdoors = lines.cold.outdoors or lines.hot.outdoors or lines.back.outdoors
    if phase == "freeze guard":
        return outdoors and loop.sensors.line is not None
    return phase in PRELUDES


def night(loop: Loop, story: Story) -> Night:
    """All that happens, as a night: what leads to the phase, the fire, and the faults."""
    moments = PRELUDES[story.phase].moments(loop, story)
    for number, (name, size) in enumerate(zip(story.case.faults, story.sizes, strict=True)):
        onset_s = story.onset_s + number * story.second_after_s
        moments.append(moment(onset_s, "fault", fault=name, size=size))
    moments.sort(key=lambda each: each.at_s)
    return Night.model_construct(
        coilward=1, name=story.case.key, duration_s=story.onset_s + story.lasts_s,
        outdoor_c=story.outdoor_c, moment=moments,
    )


def start(bench: Bench, settled: Start, story: Story) -> Start:
    """Plant and board before the night, with this loop's numbers as far off as the story says."""
    p = bench.sound(story.outdoor_c)
    deviate(p, bench.loop, story.deviations)
    y, state, settles_s = PRELUDES[story.phase].ready(bench, p, settled)
    if isinstance(y, list):
        y = floats(bench.engine, y)
    return Start(y, floats(bench.engine, p), state, settles_s)
