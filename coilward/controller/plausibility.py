"""What readings are held against each other: the rules, and what they remember.

A rule that fails marks a reading as lost or in doubt, or raises a row that only tells; none
starts or stops water by itself. The rules that need time are judged once a second. `RULES` is
the whole list, with those that the logic does not apply and why.
"""

from __future__ import annotations

from typing import NamedTuple

(
    OUTLET_A_FROZEN, OUTLET_B_FROZEN, TANK_FROZEN, OUTLET_LOW, OUTLET_UNMOVED, RESIDUAL,
    RESIDUAL_LASTS, FLOW_ODD, GUARD_LOST, AIR_FOUL,
) = (1, 2, 4, 8, 16, 32, 64, 128, 256, 512)
"""What is suspected, as bits."""
EVERY_SUSPICION = 1023


class Rule(NamedTuple):
    """One rule: its number, what it compares, what it leads to, and where it stops short."""

    number: int
    name: str
    rule: str
    leads_to: tuple[str, ...]
    """Rows that it can raise; empty for a rule that the logic does not apply."""
    note: str = ""


RULES: tuple[Rule, ...] = (
    Rule(1, "range", "A thermometer outside -30 to 130 degC is lost, and so is a digital one that "
         "starts with its power-on value of 85.0.", ("C13", "C14", "C15", "C41")),
    Rule(2, "rate", "A step of an outlet thermometer beyond what the fire can do is dropped until "
         "it has lasted for 2 s: a steam slug is real.", ("C13", "C14")),
    Rule(3, "coil against radiator", "Outlet of the coil less inlet of the radiator is what the "
         "hot line loses, within 2 K and the thermometers' stated errors, in calm water.",
         ("C18", "C43")),
    Rule(4, "tank against meter", "Flow from the warming of the tank against the meter.", (),
         "Not applied. A tank has layers and one thermometer: over ten minutes the ratio runs "
         "from 0.35 to 1.7 in sound nights of the shipped loops, and the stated errors of two "
         "thermometers are as large as the difference that it divides by."),
    Rule(5, "transit", "A step at the coil is seen at the radiator one transit later.", (),
         "Not applied. It needs a memory of minutes at every tick; rules 3, 6 and 7 see the same "
         "broken thermometers."),
    Rule(6, "order", "A pipe does not heat water: the radiator's inlet is not over the coil's "
         "outlet, nor the tank over the outlet with a fire in. Each by 1 K and the stated errors.",
         ("C13",)),
    Rule(7, "frozen", "An outlet thermometer that reads the same for 120 s, the last 30 of them "
         "after its neighbour has moved by 2 K, is lost; so is a tank thermometer that reads the "
         "same for 300 s with a fire in, where its own noise would move it.",
         ("C13", "C14", "C15")),
    Rule(8, "isothermal", "All thermometers of the loop agree within 1 K in moving water, before "
         "each fire.", ("check",), "Offsets are not stored and no trend over weeks is kept."),
    Rule(9, "flow against pump and valve", "With the valve at rest the flow is within a band of "
         "what the installed curve gives at this supply, for 120 s.", ("C46",),
         "The band is 0.7 to 1.35 of the curve, with the backlash either way: the curve is "
         "derived, not measured, and warm water runs a tenth faster."),
    Rule(10, "pulses at rest", "More than 0.3 L/min for 10 s with pump and current off, in a loop "
         "too cold to circulate by itself.", ("C16",)),
    Rule(11, "flow and outlet up together", "Flow 15 % over its mean while the outlet rises, "
         "without a command, is steam or air in the meter: no flow.", ("C01",),
         "Only with the valve fully open for a minute: a throttling valve does the same."),
    Rule(12, "pump current", "Inside the window of the loop file.", ("C02",),
         "The signature of a pump against a shut valve is not learned."),
    Rule(13, "radiator outlet", "With the fans on it falls when the water stands.",
         ("C11", "C17"), "Only from the core's air stream, 10 K over the room, fans on for 60 s."),
    Rule(14, "outlet does not respond", "The coil's rise stays within 0.3 K for ten minutes while "
         "the flue moves by more than 50 K.", ("C13",)),
    Rule(15, "pair", "Two outlet thermometers more than 3 K apart: the hotter counts. More than "
         "10 K apart: the run is degraded.", ("C13", "C43")),
    Rule(16, "level against heat", "A tank that warms too fast holds less water than believed.",
         (), "Not applied, for the reason of rule 4; the float tells."),
    Rule(17, "supply", "Pump and fans move with the supply.", ("C21", "C22", "C46"),
         "Through rule 9 and the fans' current: neither current has a stated curve over voltage."),
    Rule(18, "clock", "Time never runs back, and no tick is missed. A gap counts as time without "
         "water seen.", ("C44",)),
)


class Doubt(NamedTuple):
    """What the rules that need time remember. Starts afresh after a reboot."""

    suspects: int
    slow_outlet_c: float
    slow_inlet_c: float
    slow_rise_k: float
    raw_a_c: float
    same_a_s: float
    near_a_c: float
    """What the neighbour read when outlet thermometer A last moved."""
    raw_b_c: float
    same_b_s: float
    near_b_c: float
    raw_tank_c: float
    same_tank_s: float
    residual_s: float
    rise_low_k: float
    rise_high_k: float
    flue_low_c: float
    flue_high_c: float
    watched_s: float
    """How long rise and flue have been watched for rule 14."""
    foul_s: float


def fresh_doubt() -> Doubt:
    """Nothing suspected, nothing remembered."""
    nan = float("nan")
    return Doubt(
        suspects=0, slow_outlet_c=nan, slow_inlet_c=nan, slow_rise_k=nan, raw_a_c=nan,
        same_a_s=0.0, near_a_c=nan, raw_b_c=nan, same_b_s=0.0, near_b_c=nan, raw_tank_c=nan,
        same_tank_s=0.0, residual_s=0.0, rise_low_k=nan, rise_high_k=nan, flue_low_c=nan,
        flue_high_c=nan, watched_s=0.0, foul_s=0.0,
    )
