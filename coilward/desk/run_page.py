"""The live page beside a run: a process of its own that may ask for three harmless things."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections.abc import Callable
from typing import IO

from coilward.desk.live.buttons import LONGEST_BYTES, Act, act_of


class Page:
    """Serves a journal's page until it is stopped. Whatever happens to it, control goes on."""

    def __init__(self, journal: str, port: int, ask: Callable[[Act], None]) -> None:
        """``ask`` gets what a person asks for on the page, from a thread of its own."""
        command = [
            sys.executable, "-m", "coilward", "watch", journal, "--port", str(port),
            "--requests-to-stdout",
        ]  # fmt: skip
        # In a session of its own: Ctrl-C is for who decides, and may mean "not yet". It ends when
        # its standard input does, and so with us, however we end.
        self._process = subprocess.Popen(  # noqa: S603
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, start_new_session=True
        )
        out = self._process.stdout
        if out is not None:
            threading.Thread(target=heard, args=(out, ask), daemon=True).start()

    def stop(self) -> None:
        """End it."""
        self._process.terminate()
        try:
            self._process.wait(5.0)
        except subprocess.TimeoutExpired:
            self._process.kill()


def heard(lines: IO[bytes], ask: Callable[[Act], None]) -> None:
    """Pass on what is known of what comes, until the other end is gone."""
    while line := lines.readline(LONGEST_BYTES):
        act = act_of(line.decode("ascii", "replace"))
        if act is not None:
            ask(act)
