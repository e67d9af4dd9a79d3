"""`coilward size`: the sums of a loop before anything is bought, by itself or beside another."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from coilward.desk.files import claim, deliver
from coilward.loop.units import System

if TYPE_CHECKING:
    from coilward.desk.findings import Findings
    from coilward.sizing.comparing import Compared
    from coilward.sizing.sized import Sized


@dataclass(frozen=True)
class Sums:
    """One loop's sums with what is said against it."""

    sized: Sized
    found: Findings


@dataclass(frozen=True)
class Told:
    """What is printed: the loop, and the one that it is held against."""

    after: Sums
    before: Sums | None
    compared: tuple[Compared, ...]
    command: str

    @property
    def system(self) -> System:
        """Units of the output."""
        return self.after.sized.system


def size_loop(
    loop_name: str, other_name: str | None, *, today: date, json_name: str | None,
    page_name: str | None, units: System | None,
) -> int:  # fmt: skip
    """Print the sums and write the files that are asked for; 1 where something forbids a fire.

    Raises InputRefused for a bad loop or output before anything is written.
    """
    inputs = [loop_name] if other_name is None else [loop_name, other_name]
    claim({"--json": json_name, "--page": page_name}, inputs)
    from coilward.desk.size_told import say
    from coilward.sizing.comparing import compared

    after = sums(loop_name, today, units)
    system = after.sized.system
    before = None if other_name is None else sums(other_name, today, system)
    beside = f" --against {other_name}" if other_name else ""
    command = f"coilward size {loop_name}{beside} --units {system} --on {today}"
    told = Told(
        after, before,
        compared(before.sized.rows, after.sized.rows) if before else (), command,
    )  # fmt: skip
    texts: dict[str, str] = {}
    if json_name:
        from coilward.desk.size_json import size_json

        texts[json_name] = size_json(told)
    if page_name:
        from coilward.desk.page.size import size_page

        texts[page_name] = size_page(told)
    if not deliver(texts):
        say(told, list(texts))
    return 1 if after.found.stops else 0


def sums(name: str, today: date, units: System | None) -> Sums:
    """All the sums of a loop file, judged by the rules of `coilward check`.

    Raises InputRefused for a bad loop.
    """
    from coilward.desk.findings import findings_on
    from coilward.desk.reading import checked_loop
    from coilward.sizing.sized import size

    loop = checked_loop(name, today)
    system = units or loop.units
    sized = size(
        loop, today, system, lambda each, derived: findings_on(each, derived, today, system).every
    )
    return Sums(sized, findings_on(loop, sized.derived, today, system))
