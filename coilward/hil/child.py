"""A process that another one started, and that ends with it, however it ends."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable


def end_with_starter(end: Callable[[], None]) -> None:
    """Call ``end`` as soon as standard input ends: whoever started us holds it open."""
    threading.Thread(target=_wait, args=(end,), daemon=True).start()


def _wait(end: Callable[[], None]) -> None:
    while sys.stdin.buffer.read(1):
        pass
    end()
