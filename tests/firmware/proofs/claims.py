"""What is proved of the C core: one harness a claim, and a mistake that the proof must catch."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from tests.firmware.proofs.copying import alone, narrowed, summed, with_contracts


class Mistake(NamedTuple):
    """A change of one file, whose text stands there once."""

    file: str
    was: str
    becomes: str
    told_by: str = ""
    """The checker's name of the one property that is looked for, where all take too long."""


class Claim(NamedTuple):
    """One harness, ``name.c``, with the modules of the core that it runs on."""

    name: str
    says: str
    modules: str
    mistake: Mistake
    undefined: bool = False
    """Whether what C leaves undefined is looked for too."""
    short: bool = True
    """Whether the tests prove it each time."""
    copied: Callable[[str], str] | None = None
    """What the proof's copy of the core has otherwise, see copying.py."""


EVERY = (
    "acting by_hand causing coil debounce decide doubting estimating facts latching phases "
    "plausibility prelight remembering sensing state valve"
)
LOGIC = "acting by_hand debounce decide facts latching phases"
"""The modules of a tick that parts.h does not stand for."""

CLAIMS: tuple[Claim, ...] = (
    Claim(
        "whole_memory",
        "a whole tick from any state bytes touches no foreign memory and has no signed overflow, "
        "undefined shift or lossy conversion",
        EVERY,
        Mistake(
            "state.c", "(mode->phase <= LAST_PHASE)", "((mode->phase + 1) <= LAST_PHASE)",
            "is_sound.overflow.1",
        ),
        undefined=True, short=False,
    ),
    Claim(
        "sound_memory", "the same of the logic with any results of its parts", LOGIC,
        Mistake("phases.c", "row < (int64_t)FIRST[phase + 1]",
            "row < (int64_t)FIRST[phase + 2]",),
        undefined=True, short=False,
    ),
    Claim(
        "ranges",
        "valve from its stop to 1, fans 0, 1/2 or 1, horn 0 to 3, never NaN; phase, fire and coil "
        "of their lists",
        LOGIC,
        Mistake(
            "acting.c", "        valve = constants->valve.stop;", "        valve = 0.0;",
        ),
        short=False,
    ),
    Claim(
        "sound_state",
        "a damaged memory is found out, and becomes a restart that believes in a fire",
        "state plausibility debounce",
        Mistake("state.c", "(mode->phase <= LAST_PHASE)", "(mode->phase <= LAST_ROW)"),
    ),
    Claim(
        "contract_estimate", "what the other proofs take for granted of the estimate",
        "estimating",
        Mistake("estimating.c", "mode->dry || (mode->phase == DRY)", "mode->dry"),
    ),
    Claim(
        "contract_causes", "what the other proofs take for granted of the causes",
        "causing by_hand",
        Mistake("causing.c", "return mask & ANY_TIME;", "return mask;"),
    ),
    Claim(
        "debounce",
        "a cause counts from exactly its threshold of ticks without a gap; one tick without it "
        "starts anew; counters saturate",
        "debounce",
        Mistake("debounce.c", "k0 = present & ~at_top;", "k0 = present;"),
        undefined=True,
    ),
    Claim(
        "phases_only",
        "any facts lead to a phase of the table; the dry lock-out is left by a dry reset alone",
        "phases",
        Mistake("phases.c", " && ((facts & FORBIDS[row]) == 0U)", ""),
        undefined=True,
    ),
    Claim(
        "rows",
        "each of the 44 rows that counts has its effects, by tier, whatever the other rows",
        LOGIC,
        Mistake(
            "interlocks.h", "DAMPER_SHUT UINT64_C(0x1afbde96fff)",
            "DAMPER_SHUT UINT64_C(0x1afbde96ffe)",
        ),
        short=False,
    ),
    Claim(
        "dry_lock_out",
        "the dry latch keeps pump, damper and permission off, and the phase is the lock-out's",
        LOGIC,
        Mistake("acting.c", "    if (dry) {", "    if (dry && (fire != NO)) {"),
    ),
    Claim(
        "dry_held", "in the dry lock-out valve and dump stay where they are", LOGIC,
        Mistake(
            "acting.c", "if (((active & DUMP_HOLD) != 0U) || (phase == DRY)) {",
            "if ((active & DUMP_HOLD) != 0U) {",
        ),
        short=False,
    ),
    Claim(
        "dry_left",
        "the dry latch is cleared by a reset at the board alone, fire out and tank full", LOGIC,
        Mistake(
            "latching.c", "if ((now->fire == NO) && filled && seldom", "if (filled && seldom",
        ),
        short=False,
    ),
    Claim(
        "latches_agree",
        "after any tick dry phase and latched dry rows stand with the dry latch alone", LOGIC,
        Mistake("latching.c", "bool dry = now->dry;", "bool dry = mode->dry;"),
        short=False,
    ),
    Claim(
        "water_moves",
        "while a fire may be in the pump runs, but for lock-out, start and a retry", LOGIC,
        Mistake("acting.c", "pump = !retrying;", "pump = pump && !retrying;"),
    ),
    Claim(
        "permission",
        "permission to light only after all checks, in the cold start, with nothing latched", LOGIC,
        Mistake(
            "decide.c", "(passed == ALL) && (kept.latched == 0U);", "(passed == ALL);",
        ),
    ),
    Claim(
        "loud_rows", "a new row of the loudest kind sounds, silenced or not", LOGIC,
        Mistake("decide.c", "state->raised & HORN_CONTINUOUS", "state->raised & HORN_BEEP"),
        short=False,
    ),
    Claim(
        "believed",
        "what is believed of outlet, tank and flow can be one, whatever was read and remembered",
        "sensing",
        Mistake("sensing.c", "if (!(flow_lpm <= POSSIBLE_LPM)) {", "if (flow_lpm != flow_lpm) {"),
    ),
    Claim(
        "compare_exact",
        "the firmware's comparisons are those of IEEE 754 doubles, of any two; so are the core's "
        "own looks at a double's bits",
        "comparing",
        Mistake("comparing.c", "(size_of(a) | high(b) | low(b)) != 0U", "true"),
    ),
    Claim(
        "whole_exact", "whole numbers of every kind become the nearest double", "from_whole",
        Mistake("from_whole.c", "low(number) << 21", "low(number) << 22"),
    ),
    Claim(
        "sum_same", "the firmware's sum of any two doubles with the same sign is that of IEEE 754",
        "adding", Mistake("adding.c", "(lost >> 1) | (lost & 1U)", "(lost >> 1)"), short=False,
    ),
    Claim(
        "sum_level", "the same with different signs and one exponent", "adding",
        Mistake("adding.c", "raised(top ^ (TOP + 1U)", "raised(top"), short=False,
    ),
    Claim(
        "sum_beside", "the same with different signs and exponents side by side", "adding",
        Mistake("adding.c", "(needed < room)", "(needed <= room)"), short=False,
    ),
    Claim(
        "sum_far", "the same with different signs and exponents further apart", "adding",
        Mistake("adding.c", "places < 64U", "places < 54U"), short=False,
    ),
    Claim(
        "emergency", "pressing the emergency button never stops water: two ticks compared",
        "acting by_hand decide facts latching phases",
        Mistake("interlocks.h", "PUMP_OFF UINT64_C(0xe00)", "PUMP_OFF UINT64_C(0x20000e00)"),
        copied=summed,
    ),
    Claim(
        "contract_debounce", "a row's debounce knows of no other row", "debounce",
        Mistake("debounce.c", "k1 = c0 & k0;", "k1 = c0 & (k0 >> 1);"),
    ),
    Claim(
        "indices", "no index leaves the valve's curve or a flat row of numbers",
        "causing by_hand flat",
        Mistake("causing.c", "along_lpm(7, ", "along_lpm(8, "), undefined=True, copied=alone,
    ),
    Claim(
        "filters", "by induction, in binary16: a filter stays between what came in", "sensing",
        Mistake("sensing.c", "(value - slow) * share", "(slow - value) * share"), copied=narrowed,
    ),
    Claim(
        "valve_loop",
        "by induction: the valve's stroke and target stay within their limits, never NaN", "valve",
        Mistake("valve.c", "if (target_lpm > high_lpm) {", "if (target_lpm > (2.0 * high_lpm)) {"),
        copied=with_contracts,
    ),
    Claim(
        "contract_floats", "what valve_loop takes for granted of products and quotients", "",
        Mistake("../proofs/floats.h", "(x < 1.0 || y", "(x < 0.5 || y"),
    ),
)
