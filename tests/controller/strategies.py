"""Random readings, requests and states: from plausible to wild."""

from __future__ import annotations

from hypothesis import strategies as st

from coilward.controller.interlocks import LATCH_DRY, ROWS
from coilward.controller.phases import COLD_START, DRY, FREEZE, MAINTENANCE, STANDBY
from coilward.controller.plausibility import EVERY_SUSPICION, Doubt
from coilward.controller.state import (
    LAST_PHASE,
    NO,
    UNKNOWN,
    Ages,
    Control,
    Mode,
    State,
    Watch,
    first_state,
)
from coilward.controller.types import Readings, Requests
from tests.controller.rig import NAN, constants_of, healthy

ANY_FLOAT = st.floats(allow_nan=True, allow_infinity=True, width=64)
EVERY_ROW = (1 << len(ROWS)) - 1
PHASES = st.integers(0, LAST_PHASE)


def near(usual: float) -> st.SearchStrategy[float]:
    """Mostly about the usual value, sometimes missing, sometimes anything."""
    return st.one_of(
        st.just(usual), st.floats(-40.0, 160.0), st.just(NAN), st.just(0.0), ANY_FLOAT
    )


READINGS = st.builds(
    Readings, **{name: near(value) for name, value in healthy(constants_of())._asdict().items()}
)
REQUESTS = st.builds(Requests, **{name: st.booleans() for name in Requests._fields})
TIMERS = st.one_of(st.floats(0.0, 5000.0), st.just(0.0), st.just(1e9))

def consistent(mode: Mode) -> Mode:
    """A fire that is out goes with phases that have none, a lock-out with all its traces."""
    out = mode.phase in (STANDBY, COLD_START, FREEZE, MAINTENANCE)
    out = out or (mode.phase == DRY and mode.fire == NO)
    dry = mode.dry or mode.phase == DRY
    return mode._replace(
        fire=mode.fire if out or mode.fire != NO else UNKNOWN, dry=dry,
        latched=mode.latched if dry else mode.latched & ~LATCH_DRY,
    )


MODES = st.builds(
    Mode, phase=PHASES, came_from=PHASES, fire=st.integers(0, 2), coil=st.integers(0, 3),
    dry=st.booleans(), latched=st.one_of(st.just(0), st.integers(0, EVERY_ROW)),
    first_out=st.integers(-1, len(ROWS) - 1), permitted=st.booleans(), meter_dead=st.booleans(),
).map(consistent)
AGES = st.builds(Ages, **dict.fromkeys(Ages._fields, TIMERS))
_WATCH = first_state(constants_of()).watch._asdict()
WATCHES = st.builds(
    Watch,
    **{
        name: st.integers(0, EVERY_ROW) if name == "held"
        else near(20.0) if name.endswith("_c") or name == "slow_lpm" else TIMERS
        for name in _WATCH
    },
)
DOUBTS = st.builds(
    Doubt,
    **{
        name: st.integers(0, EVERY_SUSPICION) if name == "suspects"
        else TIMERS if name.endswith("_s") else near(20.0)
        for name in Doubt._fields
    },
)
_CONTROL = first_state(constants_of()).control._asdict()
CONTROLS = st.builds(
    Control,
    **{
        name: st.booleans() if isinstance(value, bool)
        else st.integers(0, 1023) if name == "passed"
        else st.floats(0.0, 1.0) if name in ("valve", "fans", "stroke_was") else TIMERS
        for name, value in _CONTROL.items()
    },
)
COUNTERS = st.tuples(*[st.integers(0, EVERY_ROW)] * 12)
STATES = st.builds(
    State, mode=MODES, ages=AGES, watch=WATCHES, doubt=DOUBTS, control=CONTROLS, counters=COUNTERS,
    raised=st.one_of(st.just(0), st.integers(0, EVERY_ROW)),
    seen=st.one_of(st.just(0), st.integers(0, EVERY_ROW)),
).map(lambda s: s._replace(counters=tuple(c & s.seen for c in s.counters)))
"""Counters run only where a cause was seen."""

WILD_INT = st.integers(-(2**62), 2**62)
WILD_STATES = st.builds(
    State,
    mode=st.builds(
        Mode, phase=WILD_INT, came_from=WILD_INT, fire=WILD_INT, coil=WILD_INT,
        dry=st.booleans(), latched=WILD_INT, first_out=WILD_INT, permitted=st.booleans(),
        meter_dead=st.booleans(),
    ),
    ages=st.builds(Ages, **dict.fromkeys(Ages._fields, ANY_FLOAT)),
    watch=st.builds(
        Watch, **{n: WILD_INT if n == "held" else ANY_FLOAT for n in Watch._fields}
    ),
    doubt=st.builds(
        Doubt, **{n: WILD_INT if n == "suspects" else ANY_FLOAT for n in Doubt._fields}
    ),
    control=st.builds(
        Control,
        **{
            name: st.booleans() if isinstance(value, bool)
            else WILD_INT if name == "passed" else ANY_FLOAT
            for name, value in _CONTROL.items()
        },
    ),
    counters=st.tuples(*[WILD_INT] * 12),
    raised=WILD_INT,
    seen=WILD_INT,
)
