"""What a board on the bench does when it hears nothing: its own dead-man.

A bench has no fire, and a board in bench mode is moved by nobody but the bench. When the bench
is gone, its outputs go where a dead board's hardware would bring them (C30), and it says so.
"""

from __future__ import annotations

from coilward.controller.state import State
from coilward.controller.types import Commands

SILENT_S = 2.0
"""Without a line of the plant for this long the outputs go to their safe side."""


def safe_outputs(told: Commands, state: State) -> Commands:
    """Where the outputs go, from what they were told last.

    Damper shut, dump open, horn continuous, no permission. The pump stays as it is: neither a
    start nor a stop is safe unseen. In a coil that may be dry the dump stays, too.
    """
    return told._replace(
        damper_open=False, dump_open=told.dump_open or not state.mode.dry, horn=3, may_light=False
    )


class DeadMan:
    """Counts the silences of one session."""

    def __init__(self) -> None:
        """Nothing was heard yet, and nothing is to be missed."""
        self.count = 0
        self._heard_s: float | None = None
        self._acted = False

    def begin(self) -> None:
        """A new session: it counts from none."""
        self.count, self._heard_s, self._acted = 0, None, False

    def heard(self, now_s: float) -> None:
        """A line of the plant has come."""
        self._heard_s, self._acted = now_s, False

    def acts(self, now_s: float) -> bool:
        """Whether the silence has just become too long: true once in each."""
        if self._acted or self._heard_s is None or now_s - self._heard_s < SILENT_S:
            return False
        self.count += 1
        self._acted = True
        return True
