"""A pretended board: a process of its own at the end of a terminal, that ends with its starter."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence
from datetime import date
from types import TracebackType

from coilward.loop.errors import Fault, InputRefused

ENDS_S = 5.0
REFERENCE = ("coilward.hil.board",)


class Pretended:
    """Starts the board, and ends it whatever happens; `url` is what to open."""

    def __init__(
        self, loop_name: str, today: date, *, on: str = "pty", program: Sequence[str] = REFERENCE
    ) -> None:
        """``program`` is a module, with its own first arguments, that takes those of the board.

        Raises InputRefused where it does not start.
        """
        command = [
            sys.executable, "-m", *program, loop_name, "--on", on, "--today", today.isoformat(),
            "--child",
        ]  # fmt: skip
        # In a session of its own: Ctrl-C is for the bench, which ends the board itself.
        self.process = subprocess.Popen(  # noqa: S603
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
            start_new_session=True,
        )
        self.url = self.process.stdout.readline().strip() if self.process.stdout else ""
        if not self.url:
            self.end()
            reason, wanted = "the pretended board does not start", "a machine with pseudo terminals"
            raise InputRefused([Fault("--pretend", None, "", on, reason, wanted)])

    def end(self) -> None:
        """End the process."""
        self.process.terminate()
        try:
            self.process.wait(ENDS_S)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        for stream in (self.process.stdin, self.process.stdout):
            if stream:
                stream.close()

    def __enter__(self) -> Pretended:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:  # fmt: skip
        self.end()
