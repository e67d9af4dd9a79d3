"""The phase table: one ordered list, walked flat in the loop, drawn as a `transitions` machine.

A row names the phases it starts from, the facts it needs, the facts it forbids and where it
goes. The first row that matches wins; no row matching means staying. The table reads facts
and nothing else, so it can be searched completely.
"""

from __future__ import annotations

from itertools import accumulate
from typing import NamedTuple

from transitions import Machine

PHASES: tuple[str, ...] = (
    "boot", "standby", "cold start", "warm-up", "run", "overheat dump", "no-flow fault",
    "dry lock-out", "shutdown", "freeze guard", "degraded run", "maintenance",
)
(
    BOOT, STANDBY, COLD_START, WARM_UP, RUN, DUMP, NO_FLOW, DRY, SHUTDOWN, FREEZE, DEGRADED,
    MAINTENANCE,
) = range(len(PHASES))

FACTS: tuple[str, ...] = (
    "row_dry", "row_no_flow", "row_shutdown", "row_degraded", "row_dump",
    "fire_out", "coil_may_be_dry", "person_latched", "heat_unpermitted",
    "water_found_moving", "boot_waited", "line_cold", "line_warm",
    "prepare", "check_passed_and_lit", "check_over", "finish", "warm", "no_heat", "cooled",
    "flow_returned", "tank_low_low", "tank_finished", "meter_dead_water_moves",
    "instruments_clean", "dry_reset",
    "key_and_cold", "key_off",
    "was_warm_up", "was_run", "was_dump", "was_shutdown", "was_degraded",
)
"""Booleans of one tick. ``row_*``: an interlock that counts now leads there."""


def fact(name: str) -> int:
    """The mask of one fact."""
    return 1 << FACTS.index(name)


ROW_DRY = fact("row_dry")
ROW_NO_FLOW = fact("row_no_flow")
ROW_SHUTDOWN = fact("row_shutdown")
ROW_DEGRADED = fact("row_degraded")
ROW_DUMP = fact("row_dump")
FIRE_OUT = fact("fire_out")
COIL_MAY_BE_DRY = fact("coil_may_be_dry")
PERSON_LATCHED = fact("person_latched")
HEAT_UNPERMITTED = fact("heat_unpermitted")
WATER_FOUND_MOVING = fact("water_found_moving")
BOOT_WAITED = fact("boot_waited")
LINE_COLD = fact("line_cold")
LINE_WARM = fact("line_warm")
PREPARE = fact("prepare")
CHECK_PASSED_AND_LIT = fact("check_passed_and_lit")
CHECK_OVER = fact("check_over")
FINISH = fact("finish")
WARM = fact("warm")
NO_HEAT = fact("no_heat")
COOLED = fact("cooled")
FLOW_RETURNED = fact("flow_returned")
TANK_LOW_LOW = fact("tank_low_low")
TANK_FINISHED = fact("tank_finished")
METER_DEAD_WATER_MOVES = fact("meter_dead_water_moves")
INSTRUMENTS_CLEAN = fact("instruments_clean")
DRY_RESET = fact("dry_reset")
KEY_AND_COLD = fact("key_and_cold")
KEY_OFF = fact("key_off")
WAS_WARM_UP = fact("was_warm_up")
WAS_RUN = fact("was_run")
WAS_DUMP = fact("was_dump")
WAS_SHUTDOWN = fact("was_shutdown")
WAS_DEGRADED = fact("was_degraded")


class Step(NamedTuple):
    """One row of the phase table."""

    sources: tuple[int, ...]
    needs: tuple[str, ...]
    forbids: tuple[str, ...]
    target: int
    why: str


FIRED = (WARM_UP, RUN, DUMP, NO_FLOW, SHUTDOWN, DEGRADED)
"""Phases in which a fire may be in and water should move."""
HEATING = (WARM_UP, RUN, DUMP, DEGRADED)
"""Phases that end in a shutdown when the fire has to end."""
RESTING = (STANDBY, COLD_START, FREEZE, MAINTENANCE)
"""Phases that no fire belongs in."""

TABLE: tuple[Step, ...] = (
    Step((BOOT,), ("coil_may_be_dry",), (), DRY, "the coil may be dry"),
    Step((BOOT,), ("fire_out",), (), STANDBY, "the fire is known to be out"),
    Step((BOOT,), ("row_dry",), (), DRY, "the power was away too long"),
    Step((BOOT,), ("water_found_moving", "person_latched"), (), SHUTDOWN, "latched before"),
    Step((BOOT,), ("water_found_moving", "was_shutdown"), (), SHUTDOWN, "was ending the fire"),
    Step((BOOT,), ("water_found_moving", "was_degraded"), (), DEGRADED, "was degraded"),
    Step((BOOT,), ("water_found_moving", "was_dump"), (), DUMP, "was dumping"),
    Step((BOOT,), ("water_found_moving",), (), WARM_UP, "the water never stopped"),
    Step((BOOT,), ("boot_waited",), (), NO_FLOW, "no water seen within 3 s"),
    Step(RESTING, ("coil_may_be_dry",), (), DRY, "the coil may be dry"),
    Step(RESTING, ("row_dry",), (), DRY, "the water stood too long"),
    Step(RESTING, ("heat_unpermitted",), (), SHUTDOWN, "heat unpermitted"),
    Step(FIRED, ("row_dry",), (), DRY, "the coil may be dry"),
    Step(FIRED, ("coil_may_be_dry",), (), DRY, "the coil may be dry"),
    Step((DRY,), ("dry_reset",), (), STANDBY, "a person reset it, cold and full"),
    Step((NO_FLOW,), ("fire_out", "flow_returned"), (), SHUTDOWN, "water again, fire out"),
    Step((NO_FLOW,), ("flow_returned", "person_latched"), (), SHUTDOWN, "water again, latched"),
    Step((NO_FLOW,), ("flow_returned", "tank_low_low"), (), SHUTDOWN, "water again, tank low"),
    Step((NO_FLOW,), ("flow_returned", "was_warm_up"), (), WARM_UP, "water again"),
    Step((NO_FLOW,), ("flow_returned", "was_run"), (), RUN, "water again"),
    Step((NO_FLOW,), ("flow_returned", "was_dump"), (), DUMP, "water again"),
    Step((NO_FLOW,), ("flow_returned", "was_degraded"), (), DEGRADED, "water again"),
    Step((NO_FLOW,), ("flow_returned",), (), SHUTDOWN, "water again"),
    Step((NO_FLOW,), ("meter_dead_water_moves",), (), DEGRADED, "only the meter is dead"),
    Step((WARM_UP, RUN, DUMP, SHUTDOWN, DEGRADED), ("row_no_flow",), (), NO_FLOW, "no flow"),
    Step(HEATING, ("row_shutdown",), (), SHUTDOWN, "an interlock ends the fire"),
    Step(HEATING, ("finish",), (), SHUTDOWN, "last load"),
    Step(HEATING, ("fire_out",), (), SHUTDOWN, "the fire is out"),
    Step((WARM_UP, RUN, DUMP), ("row_degraded",), (), DEGRADED, "an instrument is lost"),
    Step((WARM_UP, RUN), ("row_dump",), (), DUMP, "too hot"),
    Step((WARM_UP, RUN), ("person_latched",), (), SHUTDOWN, "latched"),
    Step((WARM_UP, RUN), ("tank_finished",), (), SHUTDOWN, "the tub is warm enough"),
    Step((WARM_UP, RUN), ("no_heat",), (), SHUTDOWN, "no heat comes"),
    Step((WARM_UP,), ("warm",), (), RUN, "warm"),
    Step((DUMP,), ("cooled", "person_latched"), ("row_dump",), SHUTDOWN, "cooled, but latched"),
    Step((DUMP,), ("cooled",), ("row_dump",), RUN, "cooled"),
    Step((DEGRADED,), ("instruments_clean",), ("person_latched",), RUN, "agrees again"),
    Step((DEGRADED,), ("no_heat",), (), SHUTDOWN, "no heat comes"),
    Step((SHUTDOWN,), ("fire_out",), (), STANDBY, "burnt out"),
    Step((STANDBY, FREEZE), ("key_and_cold",), (), MAINTENANCE, "key, fire out, coil cold"),
    Step((MAINTENANCE,), ("key_off",), (), STANDBY, "key off"),
    Step((STANDBY, FREEZE), ("prepare",), ("person_latched",), COLD_START, "check first"),
    Step((STANDBY,), ("line_cold",), (), FREEZE, "an outdoor line is cold"),
    Step((COLD_START,), ("check_passed_and_lit", "person_latched"), (), SHUTDOWN, "lit, latched"),
    Step((COLD_START,), ("check_passed_and_lit",), (), WARM_UP, "lit"),
    Step((COLD_START,), ("finish",), (), STANDBY, "called off"),
    Step((COLD_START,), ("check_over",), (), STANDBY, "the check has run out"),
    Step((FREEZE,), ("line_warm",), (), STANDBY, "the lines are warm"),
)


def _mask(facts: tuple[str, ...]) -> int:
    return sum(fact(name) for name in facts)


def _rows_of(phase: int) -> tuple[Step, ...]:
    return tuple(step for step in TABLE if phase in step.sources)


_FLAT = [
    (_mask(step.needs), _mask(step.forbids), step.target)
    for phase in range(len(PHASES))
    for step in _rows_of(phase)
]
NEEDS: tuple[int, ...] = tuple(row[0] for row in _FLAT)
FORBIDS: tuple[int, ...] = tuple(row[1] for row in _FLAT)
TARGET: tuple[int, ...] = tuple(row[2] for row in _FLAT)
FIRST: tuple[int, ...] = tuple(
    accumulate((len(_rows_of(phase)) for phase in range(len(PHASES))), initial=0)
)
"""The rows of phase p are FIRST[p] to FIRST[p + 1] of the flat lists."""


def next_phase(phase: int, facts: int) -> int:
    """The flat walk: the phase of the next tick."""
    for row in range(FIRST[phase], FIRST[phase + 1]):
        if facts & NEEDS[row] == NEEDS[row] and facts & FORBIDS[row] == 0:
            return TARGET[row]
    return phase


class Facts:
    """The model that the `transitions` machine asks: one attribute a fact."""

    state: str

    def __init__(self, facts: int = 0) -> None:
        """All facts of one tick, as a mask."""
        self.load(facts)

    def load(self, facts: int) -> None:
        """Take over the facts of a tick."""
        for name in FACTS:
            setattr(self, name, bool(facts & fact(name)))


def machine(phase: int = BOOT) -> tuple[Machine, Facts]:
    """The same table as a `transitions` machine, to draw, step through and compare with.

    Its one trigger is ``tick``.
    """
    model = Facts()
    drawn = Machine(
        model,
        states=list(PHASES),
        initial=PHASES[phase],
        auto_transitions=False,
    )
    for step in TABLE:
        for source in step.sources:
            drawn.add_transition(
                "tick",
                PHASES[source],
                PHASES[step.target],
                conditions=list(step.needs),
                unless=list(step.forbids),
            )
    return drawn, model
