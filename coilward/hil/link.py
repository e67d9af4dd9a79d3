"""A port with lines on it: what is sent and what arrives, and how well the wire carries it."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Mapping
from typing import Any, NamedTuple, Protocol

import serial

from coilward.hil.frames import Decoder, Frame, Value, encode
from coilward.loop.errors import Fault, InputRefused

BAUD = 115_200
WAIT_S = 0.02
"""How long a read of a port waits for a first byte."""
CHUNK = 65_536
KEPT_LINES = 20_000


class LinkLost(Exception):  # noqa: N818 - what happened, not an error of the program
    """The port is gone: unplugged, or the other end has closed it."""


class Port(Protocol):
    """What a link needs of a port."""

    def read(self) -> bytes:
        """What has arrived, waiting a moment for the first byte. Raises LinkLost."""

    def write(self, data: bytes) -> None:
        """Send bytes. Raises LinkLost."""

    def close(self) -> None:
        """Let go of the port."""


class Line(NamedTuple):
    """One line as it went over the wire."""

    at_s: float
    """Monotonic time of this machine."""
    sent: bool
    text: bytes


class SerialPort:
    """A port of pyserial, by any of its addresses.

    A socket tells that bytes are there, but not how many: the rest is read without waiting.
    """

    def __init__(self, url: str, baud: int = BAUD) -> None:
        """Opens the port. Raises InputRefused where it can't be."""
        try:
            self._port: Any = serial.serial_for_url(
                url, baudrate=baud, timeout=WAIT_S, write_timeout=1.0
            )
        except (serial.SerialException, OSError, ValueError) as error:
            wanted = "a serial port (COM3, a device file) or socket://HOST:PORT"
            reason = f"this port can't be opened ({_words(error)})"
            raise InputRefused([Fault("--port", None, "", url, reason, wanted)]) from None
        self._counts_poorly = url.startswith("socket://")

    def read(self) -> bytes:
        """What has arrived, waiting `WAIT_S` for the first byte. Raises LinkLost."""
        try:
            data: bytes = self._port.read(self._port.in_waiting or 1)
            if self._counts_poorly and data:
                self._port.timeout = 0
                data += self._port.read(CHUNK)
                self._port.timeout = WAIT_S
        except (serial.SerialException, OSError, TypeError) as error:
            raise LinkLost(_words(error)) from error
        return data

    def write(self, data: bytes) -> None:
        """Send bytes. Raises LinkLost."""
        try:
            self._port.write(data)
        except (serial.SerialException, OSError) as error:
            raise LinkLost(_words(error)) from error

    def close(self) -> None:
        """Let go of the port."""
        self._port.close()


def _words(error: BaseException) -> str:
    return " ".join(str(error).split()) or type(error).__name__


class Link:
    """Lines over a port. The session's number stands in every line but a greeting."""

    def __init__(self, port: Port) -> None:
        """Takes over the port."""
        self.port = port
        self.clock = time.monotonic
        self.session = 0
        self.decoder = Decoder()
        self.sent = 0
        self.lines: deque[Line] = deque(maxlen=KEPT_LINES)
        """The last lines both ways, as they went."""

    def send(self, tick: int, *lines: tuple[str, Mapping[str, Value]]) -> None:
        """Send lines, each a message's name and values, in one go. Raises LinkLost."""
        now_s = time.monotonic()
        data = b""
        for name, values in lines:
            line = encode(self.session, name, self.sent, tick, values)
            self.sent += 1
            self.lines.append(Line(now_s, True, line[:-1]))
            data += line
        self.port.write(data)

    def receive(self) -> list[Frame]:
        """What has arrived, after waiting a moment at most. Raises LinkLost."""
        found = self.decoder.feed(self.port.read())
        now_s = time.monotonic()
        for line, _ in found:
            self.lines.append(Line(now_s, False, line))
        return [frame for _, frame in found]

    def reopen(self, port: Port) -> None:
        """Go on over another port: the old one was lost."""
        self.port.close()
        self.port = port
        self.decoder.forget()
