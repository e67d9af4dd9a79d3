"""`coilward watch`: the live page of a rehearsal, of a replay, or of what runs now."""

from __future__ import annotations

import socket
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final

from coilward.hil.child import end_with_starter
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.units import System

if TYPE_CHECKING:
    import uvicorn

    from coilward.desk.live.buttons import Buttons
    from coilward.desk.live.source import Source

PORT: Final = 8420
SLOWEST, FASTEST = 0.1, 1000.0
NO_BUTTONS: Final = {
    "rehearsal": "No buttons: this is a rehearsal, and nobody is at its board.",
    "journal": "No buttons: the page only reads what was written, and no control started it.",
}


@dataclass(frozen=True)
class Asked:
    """What a person typed."""

    what: str
    night: str | None
    speed: float | None
    seed: int
    port: int
    address: str | None
    token_file: str | None
    controls: bool
    """True where the control process started us and reads our standard output."""


def watch(asked: Asked, *, today: date, units: System | None) -> int:
    """Serve the page until it is interrupted.

    Raises InputRefused for a bad loop, night, address or token, before anything is served.
    """
    from coilward.desk.live.serving import listening, server, step_back
    from coilward.desk.live.watching import Watching

    where = listening(asked.address, asked.port, asked.token_file)
    _free(where.address, where.port)
    source, start = _source(asked, today, units)
    watching = Watching(source, _buttons(asked))
    watching.take()
    sys.stderr.write(f"Watching {source.kind}: {where.url} (Ctrl-C ends it)\n")
    start()
    step_back()
    serving = server(watching, where)
    if asked.controls:
        end_with_starter(lambda: _stop(serving))
    serving.run()
    return 0


def _stop(serving: uvicorn.Server) -> None:
    serving.should_exit = serving.force_exit = True


def _source(
    asked: Asked, today: date, units: System | None
) -> tuple[Source, Callable[[], None]]:
    """What is watched, and how it is set going."""
    if asked.night is None:
        return _journal(asked, units), lambda: None
    from coilward.desk.live.rehearsing import Watched
    from coilward.desk.reading import checked_loop, possible_night

    loop = checked_loop(asked.what, today)
    night = possible_night(asked.night, loop)
    watched = Watched(
        loop, night, speed=_speed(asked.speed), seed=asked.seed, today=today, system=units
    )
    return watched.source, watched.start


def _journal(asked: Asked, units: System | None) -> Source:
    """A journal as it is written, or from its start where a speed was asked for."""
    from coilward.desk.live.journals import JournalSource, ReplaySource
    from coilward.loop.shipped import loop_names

    if asked.what in loop_names():
        raise _refused(
            "JOURNAL", asked.what, "this is a loop, and nothing says what happens on it",
            "--night NIGHT beside it, or the file of a journal",
        )  # fmt: skip
    if asked.speed is None:
        return JournalSource(asked.what, units)
    return ReplaySource(asked.what, units, _speed(asked.speed))


def _speed(speed: float | None) -> float:
    if speed is None:
        return 1.0
    if not SLOWEST <= speed <= FASTEST:
        raise _refused("--speed", f"{speed:g}", "too slow or too fast to watch",
                       f"{SLOWEST:g} to {FASTEST:g} times real time")  # fmt: skip
    return speed


def _buttons(asked: Asked) -> Buttons:
    """Requests go to who started us; without one there are none."""
    from coilward.desk.live.buttons import Buttons

    if asked.controls:
        return Buttons(sys.stdout)
    return Buttons(None, NO_BUTTONS["journal" if asked.night is None else "rehearsal"])


def _free(address: str, port: int) -> None:
    """Refuse a port that is taken, or an address that is not this machine's."""
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    with socket.socket(family) as trying:
        trying.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trying.bind((address, port))
        except OSError as error:
            raise _refused(
                "--port", f"{address}:{port}", (error.strerror or "can't listen there").lower(),
                "another --port, or an --address of this machine",
            ) from None  # fmt: skip


def _refused(option: str, value: str, problem: str, wanted: str) -> InputRefused:
    return InputRefused([Fault(option, None, "", f'"{value}"' if value else "", problem, wanted)])
