"""What an answer to a person's question is made of."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal, NamedTuple

from coilward.desk.live.scene import Scene

Word = Literal["yes", "wait", "no"]


class Answer(NamedTuple):
    """One word, and the reason for it."""

    word: Word
    reason: str


Rule = tuple[str, Callable[[Scene], bool], Callable[[Scene], Answer]]
"""Name, when, what."""


def no(reason: str) -> Callable[[Scene], Answer]:
    """A no that is always for the same reason."""
    return lambda _: Answer("no", reason)


def first_fit(rules: tuple[Rule, ...], scene: Scene) -> Answer | None:
    """The answer of the first rule that fits."""
    for _, fits, says in rules:
        if fits(scene):
            return says(scene)
    return None
