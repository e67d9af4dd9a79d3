"""How lengths of time and times of the night are written for people."""

from __future__ import annotations

import math


def span(seconds: float) -> str:
    """A length of time, such as "1.3 s", "34 s", "12 min 05 s" or "1 h 00 min"."""
    if not math.isfinite(seconds):
        return "no limit" if seconds > 0 else "not known"
    if seconds < 10 and seconds != round(seconds):
        return f"{seconds:.1f} s"
    whole = round(seconds)
    if whole < 120:
        return f"{whole} s"
    hours, rest = divmod(whole, 3600)
    minutes, left = divmod(rest, 60)
    if hours:
        return f"{hours} h {minutes:02d} min"
    return f"{minutes} min {left:02d} s" if left else f"{minutes} min"


def clock(seconds: float) -> str:
    """A time counted from the start of the night, as hours:minutes:seconds."""
    hours, rest = divmod(math.floor(seconds), 3600)
    return f"{hours}:{rest // 60:02d}:{rest % 60:02d}"
