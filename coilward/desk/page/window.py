"""Which part of the night a chart shows: all of it, and beside it the minutes that matter."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from coilward.desk.story import row

if TYPE_CHECKING:
    from coilward.simulator.run import Run

BEFORE_S: Final = 30.0
AFTER_S: Final = 60.0
SHORTEST_S: Final = 180.0
LONGEST_S: Final = 900.0
_STEPS_S: Final = (10, 20, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 14400, 21600)


class Window(NamedTuple):
    """A stretch of the night in seconds."""

    start_s: float
    end_s: float


def windows(run: Run) -> list[Window]:
    """The whole night; and, where something grave happened fast, a close look at it."""
    whole = Window(0.0, run.duration_s)
    grave = [cause.time_s for cause in run.causes if row(cause.name).rank <= 2]
    if run.first_boil_s is not None:
        grave.append(run.first_boil_s)
    if not grave:
        return [whole]
    first_s = min(grave)
    onsets = [
        moment.at_s
        for moment in run.night.moment
        if moment.do == "fault" and first_s - LONGEST_S / 2 <= moment.at_s <= first_s
    ]
    begin_s = max(onsets, default=first_s)
    marks = [time_s for time_s, _ in run.phases] + grave
    last_s = max(mark for mark in marks if mark <= begin_s + LONGEST_S - AFTER_S)
    start_s = max(begin_s - BEFORE_S, 0.0)
    end_s = min(max(last_s + AFTER_S, start_s + SHORTEST_S), run.duration_s)
    if end_s - start_s > run.duration_s / 4:
        return [whole]
    return [whole, Window(start_s, end_s)]


def ticks(window: Window, most: int) -> dict[int, str]:
    """Round times in the window with their labels, hours:minutes or with seconds."""
    span_s = window.end_s - window.start_s
    step = next((each for each in _STEPS_S if span_s / each <= most), 43200)
    first = -(-int(window.start_s) // step) * step
    found = {}
    for at in range(first, int(window.end_s) + 1, step):
        hours, minutes, seconds = at // 3600, at // 60 % 60, at % 60
        found[at] = f"{hours}:{minutes:02d}" + (f":{seconds:02d}" if step < 60 else "")
    return found
