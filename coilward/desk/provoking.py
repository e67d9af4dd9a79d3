"""How each interlock is provoked at a proof test, in one place, by the name of its row.

Nothing here needs a fire. What could hurt with a fire in is marked, and is done cold with
simulated signals whatever else a person may think of.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Procedure:
    """What to do, and whether it must never be done with a fire in."""

    how: str
    never_with_fire: bool = True
    """True where the test takes water, supply or cooling away, or lies to the logic about them."""


BEFORE: Final[tuple[str, ...]] = (
    "Every row is proven COLD: fire box empty, coil under 40 °C (104 °F), loop full, nobody "
    "near the coil. Nothing on this form is a reason to light a fire.",
    "Run the check. When it has passed, tell the board that the fire is lit although nothing "
    "burns: from then on it takes a fire to be in, and the rows are armed for 45 minutes.",
    "A simulated signal is a resistance box, a second sensor in a jug of hot water, or a "
    "switch in the place of the sensor. A sensor in hot water is late by its own lag: take that "
    "off what you measured. Mark every wire before you pull it.",
    "Measure from the moment of the cause to the moment at which the LAST actuator moves. Write "
    "the seconds down as read; a row slower than its limit has failed, and the loop is not lit.",
    "After each row put everything back, reset it at the board, and see it stay reset. At the end "
    "declare the fire out and run the check once again.",
)
"""What holds for every row."""

PROCEDURES: Final[dict[str, Procedure]] = {
    "C01": Procedure("Pull the flow meter's pulse wire while the pump runs."),
    "C02": Procedure(
        "Put the current sensor's clip around no wire (reads zero); then loop the pump's wire "
        "twice through it (reads double)."
    ),
    "C03": Procedure("Raise the simulated signal of one outlet thermometer over the trip."),
    "C04": Procedure(
        "Raise the simulated signal of one outlet thermometer in one step over the trip."
    ),
    "C05": Procedure("Raise the simulated signal of the tank thermometer over the trip."),
    "C06": Procedure(
        "Raise the simulated signal of the tank thermometer in one step over the trip."
    ),
    "C07": Procedure(
        "Raise the simulated tank signal to 1 K under its trip, and the outlet's as far over it "
        "as the largest fire would bring it; hold both."
    ),
    "C08": Procedure(
        "Turn the simulated signal of one outlet thermometer up faster than the limit for five "
        "seconds, from the tank's temperature and staying under the dump trip."
    ),
    "C09": Procedure("Raise a thermocouple simulator in the place of the metal's over the trip."),
    "C10": Procedure(
        "Pull the pulse wire; within the refill window raise the thermocouple simulator to "
        "200 °C (392 °F). The pump must go off and stay off."
    ),
    "C11": Procedure(
        "Pull the pump's fuse. The pump must be off and stay off when the fuse is put back."
    ),
    "C12": Procedure(
        "Switch the whole supply off for longer than the refill window, and on again. The pump "
        "must stay off."
    ),
    "C13": Procedure("Pull the wire of one outlet thermometer.", never_with_fire=False),
    "C14": Procedure("Pull the wires of both outlet thermometers."),
    "C15": Procedure("Pull the tank thermometer's wire."),
    "C16": Procedure(
        "With the pump off, feed pulses to the board from a generator, 10 a second. Do it in "
        "standby."
    ),
    "C17": Procedure(
        "With the fans on for a minute and the simulated radiator outlet held warm, pull the "
        "pulse wire and leave current and flow switch as they are. The pump must stay on."
    ),
    "C18": Procedure(
        "Hold the simulated outlet signal 20 K over the tank's with the radiator's left cold: "
        "heat that the coil is said to give then arrives nowhere."
    ),
    "C19": Procedure("Take the servo's horn off the valve's spindle and wait for it to be moved."),
    "C20": Procedure(
        "Choke the line by hand at a shut-off on the pump's side until the flow is under the "
        "minimum but over 1 L/min (0.26 gpm), with the outlet's signal raised."
    ),
    "C21": Procedure("Pull the plug of one fan.", never_with_fire=False),
    "C22": Procedure("Pull the plugs of all fans."),
    "C23": Procedure("Push the low float down by hand, or open its wire."),
    "C24": Procedure("Push the low-low float down by hand, or open its wire."),
    "C25": Procedure(
        "Dip the sensor at the end of the vent in hot water, or wet the drip switch."
    ),
    "C26": Procedure(
        "Put the line's sensor in a cup of ice and water with a spoon of salt. Do it in standby "
        "too.",
        never_with_fire=False,
    ),
    "C27": Procedure(
        "Press the test button of the alarm that is wired to the board, or use test gas from a "
        "can. Never make carbon monoxide.",
        never_with_fire=False,
    ),
    "C28": Procedure(
        "Press the test button of the smoke or heat alarm, or use test spray.",
        never_with_fire=False,
    ),
    "C29": Procedure("Feed the board's supply input from a bench supply; turn it under the limit."),
    "C32": Procedure(
        "Press the emergency button for a second. The pump must keep running.",
        never_with_fire=False,
    ),
    "C33": Procedure(
        "Ask for pump off from afar. It must be refused.", never_with_fire=False
    ),
    "C34": Procedure(
        "In standby, without the check, raise the simulated outlet signal 10 K over the tank's."
    ),
    "C35": Procedure("Wedge the damper open by hand, then cause any row that shuts it."),
    "C36": Procedure(
        "On the bench, change one digit of the stored constants and start the board; put it back."
    ),
    "C37": Procedure(
        "Raise the simulated outlet signal over the dump trip and hold it: the dump then seems "
        "not to cool."
    ),
    "C38": Procedure(
        "Hold the room's (or the tub's) thermometer in warm water over the limit.",
        never_with_fire=False,
    ),
    "C39": Procedure(
        "Put the radiator outlet's sensor in ice water while the fans run.", never_with_fire=False
    ),
    "C40": Procedure("Press the board's reset three times within ten minutes."),
    "C41": Procedure("Pull the wire of one level float, then of the flow switch."),
    "C42": Procedure(
        "Pull the pulse wire for a second until the no-flow fault comes, put it back, and pull "
        "it again within the hour."
    ),
    "C43": Procedure("Feed one outlet input a reading more than 10 K off its neighbour, cold."),
    "C44": Procedure("Hold the board's ticks up for a second, on the bench."),
    "C45": Procedure("Feed the carbon monoxide input 40 ppm for five minutes, on the bench."),
    "C46": Procedure("Pinch the hose behind the meter a little with the pump running, cold."),
}
"""By row; a row that is not here says so on the form."""


def procedure(name: str) -> Procedure:
    """How the row is provoked; one that nobody has written a procedure for is told as that."""
    return PROCEDURES.get(
        name,
        Procedure("No procedure written: write one for this row, cold, before you count on it."),
    )
