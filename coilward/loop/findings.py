"""What is said against a loop before it is lit."""

from __future__ import annotations

from typing import Literal, NamedTuple

Severity = Literal["stop", "attend", "note"]
"""stop: do not light. attend: only with a person beside it. note: worth having."""


class Finding(NamedTuple):
    """One finding: what is wrong, why it hurts, what to do."""

    key: str
    text: str
    severity: Severity
