"""Is this the right board? And does it refuse to talk to the wrong plant?"""

from __future__ import annotations

from coilward.hil.bench.player import Player
from coilward.hil.bench.report import Report, WireTrial
from coilward.hil.frames import Values
from coilward.hil.logic_side import greeting

PART = "identity"
WAITS_S = 1.0


def identify(player: Player, report: Report) -> None:
    """Greet the board and read what it says of itself. Raises Refused, LinkLost."""
    board = player.greet()
    report.board = board
    if board["constants"] == 0:
        report.find(PART, "the board carries no logic: there is nothing to hold against ours")
    elif board["constants"] != player.constants.checksum:
        report.find(PART, f"the board's constants ({_hex(board['constants'])}) are not those of "
                    f"this loop ({_hex(player.constants.checksum)})")  # fmt: skip
    for name, change, reason in WRONG_PLANTS:
        said = _greeted(player, change)
        words = "" if said == reason else f"the board is greeted by a plant with {name} and " + (
            f"refuses it as {said}" if said else "talks to it"
        )
        report.wires.append(WireTrial(name, 1, words))
        report.find(PART, words)


WRONG_PLANTS: tuple[tuple[str, Values, str], ...] = (
    ("another table of messages", {"table": "00000000"}, "other-table"),
    ("another tick", {"tick_s": 17.0}, "other-tick"),
    ("a second logic in its place", {"side": "logic"}, "same-side"),
)
"""Wrong firmware at the other end: name, what its greeting says, why it has to be refused."""


def _greeted(player: Player, change: Values) -> str:
    """Why the board refuses such a greeting; empty where it does not."""
    side = player.side
    side.open()
    side.link.session = 0
    hello = {**greeting("plant", 1, player.being), **change}
    side.link.send(0, ("hello", hello))
    until_s = side.link.clock() + WAITS_S
    while side.link.clock() < until_s:
        for frame in side.link.receive():
            if frame.name == "refuse":
                return str(frame.values["reason"])
            if frame.name == "hello" and frame.values["opened"] == 1:
                return ""
    return "silence"


def _hex(checksum: object) -> str:
    return f"{int(str(checksum)):08x}"

