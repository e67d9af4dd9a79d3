"""The three things that a person may ask from the page, and the pipe that carries them.

The process that decides starts the page as its child and reads the child's standard output:
one short line a request. Nothing else can be asked; there is no line for a reset, for an
override, or for anything toward the unsafe side, and a reader drops what it does not know.
"""

from __future__ import annotations

from typing import Final, Literal, Protocol, get_args

Act = Literal["silence", "horn", "finish"]
ACTS: Final[tuple[Act, ...]] = get_args(Act)
WORDS: Final[dict[Act, tuple[str, str]]] = {
    "silence": ("Silence for five minutes", "The horn is asked to be quiet for five minutes."),
    "horn": ("Test the horn", "The horn is asked to sound for a moment."),
    "finish": ("Last load", "The last load is told: the run ends with this wood."),
}
"""What stands on a button, and what is said once it was pressed."""
LONGEST_BYTES: Final = 16
"""No line is longer, with its end."""


class Pipe(Protocol):
    """Where lines go: standard output, or anything like it."""

    def write(self, text: str, /) -> object:
        """Take a text."""

    def flush(self) -> object:
        """Pass it on now."""


def line(act: Act) -> str:
    """The line of a request."""
    return f"{act}\n"


def act_of(text: str) -> Act | None:
    """The request of a line as it came; None for anything else."""
    word = text.removesuffix("\n")
    return next((act for act in ACTS if act == word), None)


class Buttons:
    """Hands requests on, or says why there are none."""

    def __init__(self, pipe: Pipe | None, why_none: str = "") -> None:
        self._pipe, self.why_none = pipe, why_none

    def there(self) -> bool:
        """Whether somebody listens."""
        return self._pipe is not None

    def press(self, act: Act) -> bool:
        """Ask; False where nobody listens. A pipe that breaks stays broken."""
        if self._pipe is None:
            return False
        try:
            self._pipe.write(line(act))
            self._pipe.flush()
        except (OSError, ValueError):
            self._pipe, self.why_none = None, "The process that decides has gone away."
            return False
        return True
