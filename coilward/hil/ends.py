"""The board's end of a wire: a pseudo terminal, or a TCP port of this machine.

Like a board's UART neither waits for a reader: what nobody takes is lost.
"""

from __future__ import annotations

import os
import select
import socket
import tty
from contextlib import suppress

from coilward.hil.link import WAIT_S

CHUNK = 65_536


class PtyEnd:
    """The board's end of a pseudo terminal; `url` is what the other side opens."""

    def __init__(self) -> None:
        """Opens a new pseudo terminal. Raises OSError where there are none."""
        self._end, self._kept = os.openpty()
        tty.setraw(self._kept)
        os.set_blocking(self._end, False)
        self.url = os.ttyname(self._kept)

    def read(self) -> bytes:
        """What has arrived, waiting a moment for the first byte."""
        ready, _, _ = select.select([self._end], [], [], WAIT_S)
        return os.read(self._end, CHUNK) if ready else b""

    def write(self, data: bytes) -> None:
        """Send bytes; what finds no room is lost."""
        with suppress(BlockingIOError):
            os.write(self._end, data)

    def close(self) -> None:
        """Let go of the terminal."""
        os.close(self._end)
        os.close(self._kept)


class TcpEnd:
    """The board's end of a TCP port; takes one caller at a time, and the next one after it."""

    def __init__(self, port: int = 0) -> None:
        """Listens on this machine alone. Raises OSError where the port is taken."""
        self._server = socket.create_server(("127.0.0.1", port))
        self._caller: socket.socket | None = None
        self.url = f"socket://127.0.0.1:{self._server.getsockname()[1]}"

    def read(self) -> bytes:
        """What has arrived, waiting a moment for a caller or the first byte."""
        waits_for = self._caller or self._server
        ready, _, _ = select.select([waits_for], [], [], WAIT_S)
        if not ready:
            return b""
        if self._caller is None:
            self._caller, _ = self._server.accept()
            self._caller.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            self._caller.setblocking(False)
            return b""
        try:
            data = self._caller.recv(CHUNK)
        except OSError:
            data = b""
        if not data:
            self._hang_up()
        return data

    def write(self, data: bytes) -> None:
        """Send bytes; without a caller, or without room, they are lost."""
        if self._caller is not None:
            try:
                self._caller.send(data)
            except BlockingIOError:
                return
            except OSError:
                self._hang_up()

    def close(self) -> None:
        """Let go of caller and port."""
        self._hang_up()
        self._server.close()

    def _hang_up(self) -> None:
        if self._caller is not None:
            self._caller.close()
            self._caller = None


End = PtyEnd | TcpEnd


def end_of(kind: str) -> End:
    """The end that was asked for: "pty", "tcp" or "tcp:PORT".

    Raises ValueError for anything else, OSError where it can't be had.
    """
    if kind == "pty":
        return PtyEnd()
    name, _, port = kind.partition(":")
    if name != "tcp" or (port and not port.isdigit()):
        raise ValueError(f"{kind!r}; accepted: pty, tcp or tcp:PORT")
    return TcpEnd(int(port or 0))
