"""The cause-and-effect table: one row an interlock, and the masks that follow from it.

A row says what raises it, what it does to each actuator, how long its cause must last,
whether it stays until a person resets it, where it leads, how loud it is, and what a person
is told. Nothing about a row stands anywhere else: the logic reads the masks below, the
tests, the alarms and the printed tables read the rows.

Codes. Pump: ``on``, ``off`` or ``=`` (no opinion); "on" always means "unless the coil may
be dry". Valve: ``open``, ``hold`` or ``=``. Fans: ``full``, ``half``, ``off`` or ``=``.
Damper: ``shut`` or ``=``. Dump: ``open``, ``hold`` or ``=``. Horn: 0 silent, 1 beep,
2 intermittent, 3 continuous. A ``hold`` beats every other row.

Opposing effects are resolved by tier, highest first: dry, water, emergency, heat, fire,
instruments, comfort, freeze. Only the dry tier may stop the pump while a fire may be in.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal, NamedTuple

Tier = Literal["dry", "water", "emergency", "heat", "fire", "instruments", "comfort", "freeze"]
TIERS: tuple[Tier, ...] = (
    "dry", "water", "emergency", "heat", "fire", "instruments", "comfort", "freeze",
)
Latch = Literal["no", "person", "dry"]
Next = Literal["dry", "no-flow", "shutdown", "degraded", "dump", "stay"]
Channel = Literal[
    "", "outlet", "tank", "metal", "level", "supply", "line", "current", "co", "smoke", "vent",
    "damper", "people", "radiator",
]
Derivable = Literal["low_flow_debounce_s"]


class Row(NamedTuple):
    """One interlock. `limit_s` is the longest time from true cause to moving actuator."""

    name: str
    cause: str
    debounce_s: float | Derivable
    limit_s: float | Literal["low_flow_total_s", "refill_window"]
    tier: Tier
    next: Next
    latch: Latch
    rank: int
    horn: int
    pump: Literal["on", "off", "="]
    valve: Literal["open", "hold", "="]
    fans: Literal["full", "half", "off", "="]
    damper: Literal["shut", "="]
    dump: Literal["open", "hold", "="]
    happened: str
    machine: str
    person: str
    why: str
    any_time: bool = False
    """True for a row that also counts when the fire is known to be out."""
    hangs_on: Channel = ""
    """The channel without which the row can't be judged: losing it clears nothing. The rows
    that stop the pump have none, since they must never count without a reading."""
    returns: bool = False
    """True for a row without a latch that lets go only when its cause has been gone for long."""
    cause_of: Callable[[Any, Any, Any, Any], bool] | None = None
    """Condition on (readings, seen, estimate, mode) of a row that is added at run time."""


COOLED = "Opened the valve and the dump, ran the fans, shut the damper; the water keeps moving."
NO_WOOD = "Don't add wood. Stay away from the coil and the vent."
GET_BACK = (
    "Keep 10 m away from coil and vent. Don't pour water. Don't restart the pump. "
    "Let the fire die; smother it with dry sand only from the safe side."
)

ROWS: list[Row] = [
    Row("C01", "flow under 1 L/min, or no pulses", "low_flow_debounce_s", "low_flow_total_s",
        "water", "no-flow", "no", 1, 3, "on", "open", "full", "shut", "open",
        "The water stopped moving.", COOLED + " The pump is retried while that cannot hurt.",
        "Stay away from the coil and the vent. Don't add wood.",
        "Still water in the coil boils within a minute or so; flow shows it first, the outlet "
        "thermometer never does."),
    Row("C02", "pump current outside its window", 0.5, 2.0,
        "water", "no-flow", "no", 1, 3, "on", "open", "full", "shut", "open",
        "The pump draws the wrong current.", COOLED, "Stay away from the coil. Don't add wood.",
        "A stalled or dry pump shows in its current before the flow is gone.",
        hangs_on="current"),
    Row("C03", "outlet at its dump trip", 2.0, 4.0,
        "heat", "dump", "no", 2, 2, "on", "open", "full", "shut", "open",
        "The water leaving the coil is too hot.", COOLED, NO_WOOD,
        "Early enough that surge, sensor lag and reaction stay under the allowed temperature.",
        hangs_on="outlet"),
    Row("C04", "outlet at its high-high trip", 0.5, 2.0,
        "heat", "shutdown", "person", 1, 3, "on", "open", "full", "shut", "open",
        "The water leaving the coil came close to boiling.", COOLED, NO_WOOD,
        "The dump has failed to hold it.", hangs_on="outlet"),
    Row("C05", "tank at its trip", 5.0, 10.0,
        "heat", "dump", "no", 2, 2, "on", "open", "full", "shut", "open",
        "The tank is too hot to take a surge.", COOLED, NO_WOOD,
        "From here the largest fire would bring the outlet over the allowed temperature.",
        hangs_on="tank"),
    Row("C06", "tank at its high-high trip", 5.0, 10.0,
        "heat", "shutdown", "person", 1, 3, "on", "open", "full", "shut", "open",
        "The tank kept warming after its trip.", COOLED, NO_WOOD,
        "Cooling has failed; the fire has to end.", hangs_on="tank"),
    Row("C07", "more flow needed than the loop can give", 0.25, 15.0,
        "heat", "dump", "no", 2, 2, "on", "open", "full", "shut", "open",
        "The fire needs more water than the loop can move.", COOLED, NO_WOOD,
        "Known minutes before the temperature shows it."),
    Row("C08", "outlet rising too fast", 3.0, 5.0,
        "heat", "dump", "no", 2, 2, "on", "open", "full", "shut", "open",
        "The water leaving the coil warms faster than the fire could make it.", COOLED, NO_WOOD,
        "Steam, or flow that the meter does not see.", hangs_on="outlet"),
    Row("C09", "coil metal hotter than wetted metal can be", 2.0, 3.0,
        "water", "shutdown", "person", 1, 3, "on", "open", "full", "shut", "open",
        "The coil's metal is hotter than water would let it be.", COOLED, NO_WOOD,
        "Wetted metal stays within about 10 K of boiling.", hangs_on="metal"),
    Row("C10", "coil metal at 150 degC and no flow", 1.0, 2.0,
        "dry", "dry", "dry", 1, 3, "off", "hold", "full", "shut", "hold",
        "The coil is dry and hot.", "Locked the pump off; valve and dump stay where they are.",
        GET_BACK, "Water meeting hot dry copper flashes to steam."),
    Row("C11", "no flow for longer than the refill window", 0.25, "refill_window",
        "dry", "dry", "dry", 1, 3, "off", "hold", "full", "shut", "hold",
        "The water stood for longer than the coil can bear.",
        "Locked the pump off; valve and dump stay where they are.", GET_BACK,
        "After half the time to boil a restart may meet steam."),
    Row("C12", "power was away for longer than the refill window", 0.25, 5.0,
        "dry", "dry", "dry", 1, 3, "off", "hold", "full", "shut", "hold",
        "The power was away while the fire was in.",
        "Locked the pump off; valve and dump stay where they are.", GET_BACK,
        "Nobody knows what the coil holds."),
    Row("C13", "one outlet thermometer lost or in doubt", 3.0, 4.0,
        "instruments", "stay", "no", 3, 1, "on", "=", "half", "=", "=",
        "One outlet thermometer is lost, or the two disagree.",
        "Goes by the hotter one.", "Mend or replace it after this fire.",
        "One bad reading may stop; one good reading may never start.", returns=True),
    Row("C14", "both outlet thermometers lost", 3.0, 5.0,
        "instruments", "shutdown", "person", 2, 2, "on", "open", "full", "shut", "open",
        "No outlet thermometer answers.", "Ends the fire with everything that cools.",
        "Don't add wood. Mend the thermometers before the next fire.",
        "Without it no temperature trip is left."),
    Row("C15", "tank thermometer lost", 5.0, 10.0,
        "instruments", "degraded", "no", 2, 2, "on", "open", "full", "shut", "=",
        "The tank thermometer is lost.", "Goes by the radiator's outlet plus 2 K.",
        "Don't add wood.", "The tank trip and the minimum flow hang on it.", returns=True),
    Row("C16", "pulses with the pump off", 10.0, 15.0,
        "instruments", "stay", "person", 3, 1, "=", "open", "=", "=", "=",
        "The flow meter counts while the pump rests.",
        "Takes back the permission to light.",
        "Find what disturbs the meter before the next fire.",
        "A meter that counts still water would hide a loss of flow.", any_time=True),
    Row("C17", "flow meter dead while water moves", 0.25, "refill_window",
        "instruments", "degraded", "person", 2, 2, "on", "open", "full", "shut", "open",
        "The flow meter is dead, but other evidence says that water moves.",
        "Keeps the pump on and ends the run on full cooling.",
        "Don't add wood. Mend the meter before the next fire.",
        "A dead meter must never stop the pump."),
    Row("C18", "heat out of the coil is not what reaches the radiator", 120.0, 180.0,
        "instruments", "stay", "no", 3, 1, "on", "=", "=", "=", "=",
        "Coil and radiator disagree about the heat between them.",
        "Goes on, and ends the run on full cooling if it lasts.",
        "Look which thermometer has come off or lies.",
        "A thermometer that lies by itself is seen by its neighbours.", returns=True),
    Row("C19", "valve does not follow", 2.0, 20.0,
        "instruments", "degraded", "person", 3, 1, "on", "open", "=", "=", "=",
        "The valve was told to move and the flow did not change.",
        "Tries to open it and goes on with full flow.", "Don't add wood. Check the servo's horn.",
        "A valve that does not answer cannot hold the minimum flow."),
    Row("C20", "opened valve does not restore the minimum flow", 3.0, 4.0,
        "water", "dump", "person", 1, 3, "on", "open", "full", "shut", "open",
        "The valve was opened and the flow stayed below what the fire needs.", COOLED, NO_WOOD,
        "Valve, filter or line is blocked in part."),
    Row("C21", "one fan lost", 5.0, 10.0,
        "instruments", "stay", "no", 3, 1, "on", "=", "full", "=", "=",
        "A fan does not turn.", "Runs the others at full speed.", "Mend it after this fire.",
        "The radiator gives less; the tank will settle hotter."),
    Row("C22", "all fans lost", 5.0, 10.0,
        "heat", "shutdown", "person", 2, 2, "on", "open", "full", "shut", "open",
        "No fan turns.", COOLED, NO_WOOD,
        "The dump must start before the tank is hot, not after."),
    Row("C23", "tank level low", 10.0, 15.0,
        "fire", "shutdown", "no", 2, 2, "on", "open", "=", "shut", "=",
        "The tank is low.", "Ends the fire while there is water to move.",
        "Don't add wood. Top up slowly only while water moves.",
        "The pump will draw air when it falls further.", hangs_on="level"),
    Row("C24", "tank level very low", 3.0, 4.0,
        "water", "shutdown", "person", 1, 3, "on", "open", "full", "shut", "open",
        "The tank is nearly empty.", COOLED + " The pump runs until the flow is lost.",
        "Stay away from the coil. Don't add wood.", "The coil will be dry soon.",
        hangs_on="level"),
    Row("C25", "vent or relief discharging", 2.0, 3.0,
        "fire", "shutdown", "person", 1, 3, "on", "open", "full", "shut", "open",
        "Water or steam leaves by the vent.", COOLED,
        "Don't cap it. Stay away from coil and vent. Don't add wood.",
        "The loop is losing water, or boils already.", hangs_on="vent"),
    Row("C26", "outdoor line under 1 degC", 30.0, 60.0,
        "freeze", "stay", "no", 2, 2, "on", "open", "off", "=", "=",
        "An outdoor line is about to freeze.",
        "Keeps the water moving, where it may, and saves its heat.",
        "Drain the loop now, or make heat.",
        "Ice blocks a line before it looks frozen.", any_time=True, hangs_on="line"),
    Row("C27", "carbon monoxide", 10.0, 15.0,
        "fire", "shutdown", "person", 1, 3, "=", "=", "=", "shut", "=",
        "There is carbon monoxide in the room.", "Shut the damper; the water keeps moving.",
        "Leave the room and leave the door open. Call for help if anybody feels ill.",
        "It kills before it is noticed.", any_time=True, hangs_on="co"),
    Row("C28", "heat or smoke outside the firebox", 2.0, 3.0,
        "fire", "shutdown", "person", 1, 3, "=", "=", "=", "shut", "open",
        "There is heat or smoke where the fire should not be.",
        "Shut the damper and opened the dump; the water keeps moving.",
        "Get everybody out, then call the fire brigade.",
        "The house comes before the loop.", any_time=True, hangs_on="smoke"),
    Row("C29", "supply low", 30.0, 35.0,
        "fire", "shutdown", "no", 2, 2, "on", "open", "=", "shut", "open",
        "The supply is low.", "Ends the fire while the battery can still move water.",
        "Don't add wood. Mend the charger.",
        "The pump must outlast the embers.", hangs_on="supply"),
    Row("C32", "emergency button", 0.25, 0.5,
        "emergency", "shutdown", "person", 1, 3, "on", "open", "full", "shut", "open",
        "Somebody pressed the emergency button.", COOLED,
        "Say why you pressed it; reset it when the cause is gone.",
        "Stop never means: stop the water.", any_time=True),
    Row("C33", "request toward the unsafe side", 0.25, 0.5,
        "comfort", "stay", "no", 3, 1, "=", "=", "=", "=", "=",
        "A request toward the unsafe side came in.", "Refused it.",
        "Do it at the board, with the fire out, if it has to be done.",
        "A page left open must not stop the pump.", any_time=True),
    Row("C34", "heat without permission", 10.0, 15.0,
        "fire", "shutdown", "no", 2, 2, "on", "open", "=", "shut", "open",
        "There is heat in the coil without a finished check.",
        "Moves water if the coil is known to hold it, and lets the fire end.",
        "Don't add wood. Run the check before you light.",
        "Nothing has been proven tonight."),
    Row("C35", "damper does not prove shut", 5.0, 10.0,
        "heat", "shutdown", "person", 2, 2, "on", "open", "full", "shut", "open",
        "The damper was told to shut and did not arrive.", COOLED,
        "Shut it by hand if you can reach it from the safe side. Don't add wood.",
        "A fire that keeps its air does not end.", hangs_on="damper"),
    Row("C36", "constants or program are not this loop's", 0.25, 5.0,
        "fire", "degraded", "person", 2, 2, "on", "open", "full", "shut", "open",
        "The board runs on numbers that don't belong to this loop.", COOLED,
        "Don't add wood. Load the right constants before the next fire.",
        "Every trip may be wrong."),
    Row("C37", "dumped too often, or the dump does not cool", 0.25, 1.0,
        "heat", "shutdown", "person", 1, 3, "on", "open", "full", "shut", "open",
        "The loop keeps overheating, or the dump does not help.", COOLED, NO_WOOD,
        "The fire is larger than the loop."),
    Row("C38", "too hot for people", 30.0, 60.0,
        "comfort", "dump", "no", 2, 2, "on", "open", "off", "shut", "open",
        "The room, or the tub, is too hot for people.",
        "Stops heating it: shut the damper, opened the dump, rested the room's fans.",
        "Get out and let it cool. Don't add wood.",
        "Heat harms people long before it harms the loop.", hangs_on="people"),
    Row("C39", "radiator outlet under 3 degC with fans on", 10.0, 20.0,
        "comfort", "stay", "no", 3, 1, "on", "open", "off", "=", "=",
        "The radiator is close to freezing.", "Rested the fans; the water keeps moving.",
        "Look for cold air on the radiator.", "A core freezes and bursts first.",
        hangs_on="radiator"),
    Row("C40", "three reboots within ten minutes", 0.25, 5.0,
        "fire", "shutdown", "person", 2, 2, "on", "open", "full", "shut", "open",
        "The board keeps restarting.", COOLED,
        "Don't add wood. Find out why before the next fire.",
        "A board that restarts is blind for seconds each time."),
    Row("C41", "a proof of flow or a guard is lost", 5.0, 10.0,
        "instruments", "stay", "no", 3, 1, "=", "=", "=", "=", "=",
        "An instrument that the logic leans on does not answer.",
        "Goes on with the others.", "Mend it after this fire.",
        "Each lost witness leaves fewer to tell still water from a lying meter.",
        any_time=True, returns=True),
    Row("C42", "water stopped twice within an hour", 0.25, 1.0,
        "water", "shutdown", "person", 1, 3, "on", "open", "full", "shut", "open",
        "The water stopped for the second time within an hour.", COOLED, NO_WOOD,
        "What came back once by itself has not been mended."),
    Row("C43", "readings contradict each other by far, or for long", 3.0, 5.0,
        "instruments", "degraded", "no", 2, 2, "on", "open", "full", "shut", "=",
        "Thermometers contradict each other.",
        "Goes by the hotter one and ends the run on full cooling.",
        "Don't add wood. Find the thermometer that lies before the next fire.",
        "Nobody can say which of them is right.", hangs_on="outlet", returns=True),
    Row("C44", "the clock jumped, or ticks were missed", 0.25, 1.0,
        "instruments", "stay", "no", 3, 1, "=", "=", "=", "=", "=",
        "The board's clock jumped, or the board was too slow.",
        "Counts the gap as time without water seen.",
        "Have the board looked at after this fire.",
        "Every delay here counts in ticks.", any_time=True, returns=True),
    Row("C45", "carbon monoxide at 30 ppm for five minutes", 0.25, 305.0,
        "instruments", "stay", "no", 3, 1, "=", "=", "=", "=", "=",
        "There is some carbon monoxide in the room.", "Tells you; nothing moves.",
        "Air the room, and look where the smoke gets in.",
        "A little for long harms as well.", any_time=True, hangs_on="co"),
    Row("C46", "flow does not fit pump and valve", 120.0, 180.0,
        "instruments", "stay", "no", 3, 1, "on", "=", "=", "=", "=",
        "The flow is not what this pump and this valve should give.", "Goes on.",
        "Look for a blocked filter, a kinked hose, a tired pump or a meter that lies.",
        "A flow that is wrong by a third is wrong for a reason.", returns=True),
]

BESIDE: tuple[tuple[str, str, str], ...] = (
    ("C30", "board heartbeat lost",
     "A dead board decides nothing. Hardware does it within 2 s: the pump's contactor keeps what "
     "was, the damper's magnet lets go, the dump opens without power, the horn sounds from its "
     "own battery. The rehearsal shows it as a reboot or a hang."),
    ("C31", "link to the bench lost",
     "The board runs alone and needs no link; there is nothing to move."),
)
"""Interlocks of the trade that are no rows here, and why: number, cause, reason."""

INDEX: dict[str, int] = {row.name: index for index, row in enumerate(ROWS)}


def bit(name: str) -> int:
    """The mask of one row."""
    return 1 << INDEX[name]


MASKS: dict[str, tuple[str, *tuple[object, ...]]] = {
    "LATCHING": ("latch", "person", "dry"),
    "LATCH_DRY": ("latch", "dry"),
    "ANY_TIME": ("any_time", True),
    "RETURNING": ("returns", True),
    "TO_DRY": ("next", "dry"),
    "TO_NO_FLOW": ("next", "no-flow"),
    "TO_SHUTDOWN": ("next", "shutdown"),
    "TO_DEGRADED": ("next", "degraded"),
    "TO_DUMP": ("next", "dump"),
    "ON_OUTLET": ("hangs_on", "outlet"),
    "ON_TANK": ("hangs_on", "tank"),
    "ON_METAL": ("hangs_on", "metal"),
    "ON_LEVEL": ("hangs_on", "level"),
    "ON_SUPPLY": ("hangs_on", "supply"),
    "ON_LINE": ("hangs_on", "line"),
    "ON_CURRENT": ("hangs_on", "current"),
    "ON_CO": ("hangs_on", "co"),
    "ON_SMOKE": ("hangs_on", "smoke"),
    "ON_VENT": ("hangs_on", "vent"),
    "ON_DAMPER": ("hangs_on", "damper"),
    "ON_PEOPLE": ("hangs_on", "people"),
    "ON_RADIATOR": ("hangs_on", "radiator"),
    "PUMP_ON": ("pump", "on"),
    "PUMP_OFF": ("pump", "off"),
    "VALVE_OPEN": ("valve", "open"),
    "VALVE_HOLD": ("valve", "hold"),
    "FANS_FULL": ("fans", "full"),
    "FANS_HALF": ("fans", "half"),
    "FANS_OFF": ("fans", "off"),
    "DAMPER_SHUT": ("damper", "shut"),
    "DUMP_OPEN": ("dump", "open"),
    "DUMP_HOLD": ("dump", "hold"),
    "HORN_BEEP": ("horn", 1),
    "HORN_INTERMITTENT": ("horn", 2),
    "HORN_CONTINUOUS": ("horn", 3),
}
"""Which rows belong to each mask: a column, and the values it has in them."""


def mask_of(name: str) -> int:
    """The mask of all rows that belong to it now."""
    column, *values = MASKS[name]
    return sum(1 << index for index, row in enumerate(ROWS) if getattr(row, column) in values)


LOW_FLOW = bit("C01")
PUMP_CURRENT = bit("C02")
OUTLET_DUMP = bit("C03")
OUTLET_HH = bit("C04")
TANK_TRIP = bit("C05")
TANK_HH = bit("C06")
FLOW_SHORT = bit("C07")
OUTLET_RATE = bit("C08")
METAL_HIGH = bit("C09")
METAL_DRY = bit("C10")
STOOD_TOO_LONG = bit("C11")
POWER_AWAY = bit("C12")
OUTLET_DOUBT = bit("C13")
OUTLETS_LOST = bit("C14")
TANK_LOST = bit("C15")
PULSES_AT_REST = bit("C16")
METER_DEAD = bit("C17")
HEAT_RESIDUAL = bit("C18")
VALVE_DEAF = bit("C19")
FLOW_NOT_RESTORED = bit("C20")
FAN_LOST = bit("C21")
FANS_LOST = bit("C22")
LEVEL_LOW = bit("C23")
LEVEL_LOW_LOW = bit("C24")
VENT_WET = bit("C25")
LINE_FREEZING = bit("C26")
CARBON_MONOXIDE = bit("C27")
SMOKE = bit("C28")
SUPPLY_LOW = bit("C29")
EMERGENCY = bit("C32")
REFUSED = bit("C33")
UNPERMITTED_HEAT = bit("C34")
DAMPER_OPEN = bit("C35")
CONSTANTS_BAD = bit("C36")
DUMP_FAILS = bit("C37")
TOO_HOT_FOR_PEOPLE = bit("C38")
RADIATOR_FREEZING = bit("C39")
REBOOTS = bit("C40")
WITNESS_LOST = bit("C41")
SECOND_STOP = bit("C42")
CONTRADICTED = bit("C43")
CLOCK_JUMPED = bit("C44")
FOUL_AIR = bit("C45")
FLOW_ODD = bit("C46")

LATCHING = mask_of("LATCHING")
LATCH_DRY = mask_of("LATCH_DRY")
ANY_TIME = mask_of("ANY_TIME")
RETURNING = mask_of("RETURNING")
TO_DRY = mask_of("TO_DRY")
TO_NO_FLOW = mask_of("TO_NO_FLOW")
TO_SHUTDOWN = mask_of("TO_SHUTDOWN")
TO_DEGRADED = mask_of("TO_DEGRADED")
TO_DUMP = mask_of("TO_DUMP")
ON_OUTLET = mask_of("ON_OUTLET")
ON_TANK = mask_of("ON_TANK")
ON_METAL = mask_of("ON_METAL")
ON_LEVEL = mask_of("ON_LEVEL")
ON_SUPPLY = mask_of("ON_SUPPLY")
ON_LINE = mask_of("ON_LINE")
ON_CURRENT = mask_of("ON_CURRENT")
ON_CO = mask_of("ON_CO")
ON_SMOKE = mask_of("ON_SMOKE")
ON_VENT = mask_of("ON_VENT")
ON_DAMPER = mask_of("ON_DAMPER")
ON_PEOPLE = mask_of("ON_PEOPLE")
ON_RADIATOR = mask_of("ON_RADIATOR")
PUMP_ON = mask_of("PUMP_ON")
PUMP_OFF = mask_of("PUMP_OFF")
VALVE_OPEN = mask_of("VALVE_OPEN")
VALVE_HOLD = mask_of("VALVE_HOLD")
FANS_FULL = mask_of("FANS_FULL")
FANS_HALF = mask_of("FANS_HALF")
FANS_OFF = mask_of("FANS_OFF")
DAMPER_SHUT = mask_of("DAMPER_SHUT")
DUMP_OPEN = mask_of("DUMP_OPEN")
DUMP_HOLD = mask_of("DUMP_HOLD")
HORN_BEEP = mask_of("HORN_BEEP")
HORN_INTERMITTENT = mask_of("HORN_INTERMITTENT")
HORN_CONTINUOUS = mask_of("HORN_CONTINUOUS")
EVERY_ROW = (1 << len(ROWS)) - 1
LAST_ROW = len(ROWS) - 1


def names(mask: int) -> list[str]:
    """The names of the rows in a mask, in table order."""
    return [row.name for index, row in enumerate(ROWS) if mask >> index & 1]
