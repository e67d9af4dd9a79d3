"""The list of events on the page: what happened, what the machine did, what the person does."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from coilward.desk.deeds import deeds
from coilward.desk.page.charts import marks
from coilward.desk.story import alarms
from coilward.desk.times import clock

if TYPE_CHECKING:
    from coilward.simulator.run import Run

AS_BEFORE: Final = "as before."
MOST_LINES: Final = 20
"""What one side of paper has room for; the rest stays in the JSON."""


@dataclass(frozen=True)
class Event:
    """One entry. `weight` says how much it matters when there is no room for all."""

    time_s: float
    head: str
    machine: str = ""
    person: str = ""
    weight: int = 9
    letter: str = ""
    times: int = 1
    last_s: float = 0.0

    @property
    def when(self) -> str:
        """The time, or the first and the last of several."""
        first = clock(self.time_s)
        return f"{first} to {clock(self.last_s)}" if self.times > 1 else first

    @property
    def lines(self) -> int:
        """About how many printed lines it takes."""
        return 1 + (len(self.head) + len(self.machine) + len(self.person)) // 85


def events(run: Run) -> list[Event]:
    """Everything that happened, in order of time; what repeats itself is told once."""
    letters = {at_s: letter for letter, at_s in reversed(marks(run))}
    told: set[str] = set()
    found = [Event(at_s, _sentence(text), weight=6) for at_s, text in run.acts]
    for alarm in alarms(run):
        new = alarm.happened not in told
        first = " This began it." if alarm.first_out and new else ""
        latched = " It latched." if alarm.latched and new else ""
        machine = alarm.machine if alarm.machine not in told else AS_BEFORE
        told |= {alarm.happened, alarm.machine}
        found.append(
            Event(
                alarm.time_s,
                ("" if new else "Again: ") + alarm.happened + first + latched,
                machine if new else "", alarm.person if new else "",
                weight=alarm.rank if new else 7,
            )
        )  # fmt: skip
    if run.logic:
        found += [
            Event(deed.time_s, f"Your own logic {deed.words}.", weight=5)
            for deed in deeds(run, 0.0, run.duration_s)
        ]
    if run.first_boil_s is not None:
        found.append(
            Event(run.first_boil_s, "First boil. Nothing after it is a margin.", weight=0)
        )
    found.sort(key=lambda event: event.time_s)
    return [_lettered(event, letters) for event in _joined(found)]


def fitting(every: list[Event]) -> tuple[list[Event], int]:
    """The events that matter most and fit on the page, in order of time; how many are left out."""
    kept: set[int] = set()
    lines = 0
    for index in sorted(range(len(every)), key=lambda each: (every[each].weight, each)):
        if lines + every[index].lines <= MOST_LINES:
            lines += every[index].lines
            kept.add(index)
    return [event for index, event in enumerate(every) if index in kept], len(every) - len(kept)


def _sentence(text: str) -> str:
    text = text[:1].upper() + text[1:]
    return text if text.endswith(".") else text + "."


def _lettered(event: Event, letters: dict[float, str]) -> Event:
    letter = letters.get(event.time_s, "")
    if not letter or event.machine:
        return event
    return replace(event, letter=letter, weight=min(event.weight, 1))


def _joined(found: list[Event]) -> list[Event]:
    """Short entries that come again told once, at their first time."""
    joined: dict[object, Event] = {}
    for event in found:
        key = (event.head, event.machine, event.person)
        first = joined.get(key)
        if first:
            joined[key] = replace(first, times=first.times + 1, last_s=event.time_s)
        else:
            joined[key] = event
    return list(joined.values())


def words(event: Event) -> str:
    """The heading, with how often it happened."""
    return event.head if event.times == 1 else f"{event.head.rstrip('.')} ({event.times} times)."
