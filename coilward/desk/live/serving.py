"""The server: one process, loopback unless told otherwise, no patience with slow readers."""

from __future__ import annotations

import asyncio
import ipaddress
import os
import socket
import stat
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from coilward.desk.live.app import application
from coilward.desk.live.guard import Sessions
from coilward.desk.live.watching import Watching
from coilward.loop.errors import Fault, InputRefused

LOOPBACK: Final = "127.0.0.1"
SHORTEST_TOKEN: Final = 20
ASKS_S: Final = 5.0
"""A connection that has asked for nothing by then is cut."""
STUCK_S: Final = 8.0
"""A reader that takes nothing for so long is cut."""
WAITING_BYTES: Final = 131072
"""What the system may hold for one reader."""
MOST_CONNECTIONS: Final = 96
LONGEST_HEAD: Final = 16384
KINDER: Final = 5
"""Of the processor's time the page gets what the control does not want."""


@dataclass(frozen=True)
class Listening:
    """Where, and whom for."""

    address: str
    port: int
    token: str

    @property
    def hosts(self) -> frozenset[str]:
        """The names under which this page may be asked for."""
        own = f"[{self.address}]" if ":" in self.address else self.address
        names = {own} | ({"localhost"} if self.address == LOOPBACK else set())
        with_port = {f"{name}:{self.port}" for name in names}
        return frozenset(with_port | (names if self.port == 80 else set()))

    @property
    def url(self) -> str:
        """What a person types."""
        return f"http://{self.address}:{self.port}/"


def listening(address: str | None, port: int, token_file: str | None) -> Listening:
    """Checked: beyond loopback it takes one address of this machine and a token.

    Raises InputRefused.
    """
    host = address or LOOPBACK
    try:
        known = ipaddress.ip_address(host)
    except ValueError:
        raise _refused("--address", host, "this is no address", "such as 192.168.1.20") from None
    if known.is_unspecified:
        raise _refused(
            "--address", host, "this is every address at once",
            "the one address of this machine that is to answer, such as 192.168.1.20",
        )  # fmt: skip
    if not known.is_loopback and token_file is None:
        raise _refused(
            "--address", host, "beyond this machine the page asks for a token",
            "--token-file FILE beside it, a file with a long random word",
        )  # fmt: skip
    return Listening(str(known), port, "" if token_file is None else token_in(token_file))


def token_in(name: str) -> str:
    """The token of a file that nobody else may read.

    Raises InputRefused for one that is short, has blanks in it, or is open to others.
    """
    path = Path(name)
    try:
        text, mode = path.read_text("utf-8").strip(), path.stat().st_mode
    except (OSError, UnicodeDecodeError):
        raise _refused("--token-file", name, "this file can't be read", "a text file") from None
    if os.name == "posix" and mode & (stat.S_IRGRP | stat.S_IROTH):
        raise _refused(
            "--token-file", name, "others on this machine may read it", "chmod 600 first"
        )
    if len(text) < SHORTEST_TOKEN or not text.isascii() or not text.isprintable() or " " in text:
        raise _refused(
            "--token-file", name, "this is no token",
            f"one word of at least {SHORTEST_TOKEN} plain characters, drawn at random",
        )  # fmt: skip
    return text


def _refused(option: str, value: str, problem: str, wanted: str) -> InputRefused:
    return InputRefused([Fault(option, None, "", f'"{value}"', problem, wanted)])


class Impatient(H11Protocol):
    """Cuts connections that ask for nothing, and readers that take nothing."""

    _cut: asyncio.TimerHandle | None = None
    _stuck: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """A connection: it has some seconds to ask."""
        super().connection_made(transport)
        wire = transport.get_extra_info("socket")
        wire.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, WAITING_BYTES)
        self._cut = self.loop.call_later(ASKS_S, self._asked_nothing)

    def _asked_nothing(self) -> None:
        begun: Any = self.cycle
        if begun is None:
            self.transport.abort()

    def pause_writing(self) -> None:
        """The reader does not keep up: it has some seconds."""
        super().pause_writing()
        self._stuck = self.loop.call_later(STUCK_S, self.transport.abort)

    def resume_writing(self) -> None:
        """It does again."""
        super().resume_writing()
        if self._stuck is not None:
            self._stuck.cancel()

    def connection_lost(self, exc: Exception | None) -> None:
        """Nothing is left to wait for."""
        for timer in (self._cut, self._stuck):
            if timer is not None:
                timer.cancel()
        super().connection_lost(exc)


def server(watching: Watching, where: Listening) -> uvicorn.Server:
    """Ready to run. It logs nothing about requests: neither names nor cookies."""
    app, _ = application(watching, where.hosts, Sessions(where.token))
    return uvicorn.Server(uvicorn.Config(
        app, host=where.address, port=where.port, http=Impatient, ws="none", loop="asyncio",
        access_log=False, log_level="critical", server_header=False, date_header=False,
        limit_concurrency=MOST_CONNECTIONS, timeout_keep_alive=5, backlog=64,
        h11_max_incomplete_event_size=LONGEST_HEAD, lifespan="on",
        timeout_graceful_shutdown=1, proxy_headers=False,
    ))  # fmt: skip


def step_back() -> None:
    """Let the control have the processor first."""
    if hasattr(os, "nice"):
        os.nice(KINDER)
