"""`coilward loops` and `coilward nights`: what comes with the package, and its text."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence

from coilward.desk.console import heading, item, lead, out
from coilward.loop.errors import Fault, InputRefused


def list_loops(name: str | None) -> int:
    """List the shipped loops, or print one."""
    from coilward.loop.shipped import loop_names, loop_text

    if name is not None:
        return _print("loop", name, loop_names(), loop_text)
    from coilward.loop.document import read_loop

    about = {}
    for each in loop_names():
        loop = read_loop(each)
        heats = f"{loop.fire.nominal_kw:g} kW fire, at most {loop.fire.largest_kw:g} kW"
        what = "a tub with people" if loop.room.kind == "tub" else "a room"
        about[each] = f"{heats}; {loop.tank.water_l:g} L of water; heats {what}."
    _list("Shipped loops", about, 'Copy one and make it yours: coilward loops {} > my-loop.toml')
    return 0


def list_nights(name: str | None) -> int:
    """List the shipped nights and the faults that a night may script, or print a night."""
    from coilward.simulator.faults import FAULTS
    from coilward.simulator.night import night_names, night_text, read_night

    if name is not None:
        return _print("night", name, night_names(), night_text)
    about = {each: read_night(each).about for each in night_names()}
    _list("Shipped nights", about, 'Copy one and make it yours: coilward nights {} > my-night.toml')
    heading(out(), "Faults that a night may script")
    shown = [fault for fault in FAULTS.values() if not fault.unshown]
    for fault in shown:
        sizes = ""
        if fault.size_meaning:
            sizes = f" ({fault.size_meaning}: {fault.lowest:g} to {fault.highest:g})"
        lead(out(), fault.name, f"{fault.words}{sizes} [{fault.number}]", width=max(len(each.name) for each in shown))
    return 0


def _list(title: str, about: dict[str, str], hint: str) -> None:
    console = out()
    heading(console, title)
    for name, words in about.items():
        lead(console, name, words, width=max(map(len, about)))
    console.print()
    item(console, hint.format(next(iter(about))), indent=0)


def _print(kind: str, name: str, names: Sequence[str], text: Callable[[str], str]) -> int:
    if name not in names:
        wanted = ", ".join(names)
        raise InputRefused([Fault(name, None, "", "", f"no shipped {kind} has this name", wanted)])
    sys.stdout.write(text(name))
    return 0
