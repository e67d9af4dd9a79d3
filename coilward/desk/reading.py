"""Reading a loop for a command: the file, and the limits typed in it held against the derived."""

from __future__ import annotations

import tomllib
from datetime import date
from difflib import get_close_matches

from coilward.loop.document import read_loop, text_of
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.limits import RefusedLimit, refused_limits
from coilward.loop.model import Loop
from coilward.loop.places import places
from coilward.loop.shipped import loop_names, loop_text
from coilward.loop.units import show
from coilward.proving.case import Case, parse_case
from coilward.simulator.faults import FAULTS, lacking
from coilward.simulator.night import Night, read_night


def checked_loop(name: str, today: date) -> Loop:
    """The loop of a shipped name or a file.

    Raises InputRefused with every fault of the file or, in a file without any, every typed
    limit that is less safe than the derived one.
    """
    loop = read_loop(name)
    faults = limit_faults(name, loop, today)
    if faults:
        raise InputRefused(faults)
    return loop


def possible_night(name: str, loop: Loop) -> Night:
    """The night of a shipped name or a file, whose faults this loop can have.

    Raises InputRefused for a bad file and for every fault of a part that the loop lacks.
    """
    night = read_night(name)
    faults = [
        Fault(
            name,
            None,
            "moment.fault",
            f'"{moment.fault}"',
            f"the loop {loop.name} has nothing there to break: no {part}",
            "a night whose faults this loop can have",
        )
        for moment in night.moment
        if moment.fault and (part := lacking(FAULTS[moment.fault], loop))
    ]
    if faults:
        raise InputRefused(faults)
    return night


def possible_case(key: str, loop: Loop) -> Case:
    """The case of a key, whose faults can be rehearsed on this loop.

    Raises InputRefused for a text that is no key, and for each fault that is not known, that no
    model shows, or that this loop has no part for.
    """
    try:
        case = parse_case(key)
    except ValueError:
        raise InputRefused([_no_case(
            key, "this is no case", "a key as a proof prints it, such as pump-stalls/17@1",
        )]) from None  # fmt: skip
    refused = []
    for name in case.faults:
        if name not in FAULTS:
            refused.append(_no_case(key, f"there is no fault {name}", "a name of docs/faults.md"))
        elif FAULTS[name].unshown:
            refused.append(
                _no_case(key, f"{name} can't be shown: {FAULTS[name].unshown}", "another fault")
            )
        elif part := lacking(FAULTS[name], loop):
            refused.append(_no_case(
                key, f"the loop {loop.name} has nothing there to break: no {part}",
                "a fault that this loop can have",
            ))  # fmt: skip
    if refused:
        raise InputRefused(refused)
    return case


def named_faults(typed: str | None) -> list[str] | None:
    """The faults of a list with commas, in catalogue order; None where none is named.

    Raises InputRefused for each name that is not known.
    """
    if typed is None:
        return None
    names = [name.strip() for name in typed.split(",")]
    unknown = [name for name in names if name not in FAULTS]
    if unknown:
        raise InputRefused([
            Fault("--faults", None, "", f'"{name}"', "there is no such fault", _near(name))
            for name in unknown
        ])  # fmt: skip
    return [name for name in FAULTS if name in names]


def _near(name: str) -> str:
    found = get_close_matches(name, list(FAULTS), 3, 0.4)
    return ", ".join(found) if found else "a name of docs/faults.md, such as pump-dies"


def _no_case(key: str, problem: str, accepted: str) -> Fault:
    return Fault("--case", None, "", f'"{key}"', problem, accepted)


def limit_faults(name: str, loop: Loop, today: date) -> list[Fault]:
    """One fault for every typed limit on the unsafe side of the derived one."""
    file, text = text_of(name, "loop", loop_names(), loop_text)
    return limit_faults_in(file, text, loop, today)


def limit_faults_in(file: str, text: str, loop: Loop, today: date) -> list[Fault]:
    """The same for a text that need not be a file yet."""
    refused = refused_limits(loop, today)
    if not refused:
        return []
    lines, typed = places(text.replace("\r\n", "\n")), tomllib.loads(text)
    return [_fault(each, file, lines, typed, loop) for each in refused]


def _fault(
    each: RefusedLimit, file: str, lines: dict[tuple[str | int, ...], int],
    typed: dict[str, dict[str, object]], loop: Loop,
) -> Fault:  # fmt: skip
    section, key = each.key.split(".")
    derived = show(each.derived, each.unit, loop.units)
    side = "at most" if each.safer == "lower" else "at least"
    return Fault(
        file,
        lines.get((section, key)),
        each.key,
        f'"{typed[section][key]}"',
        "a typed limit may only be safer than the one that follows from the rest of the file",
        f"{side} {derived}, or no key {key} at all",
    )
