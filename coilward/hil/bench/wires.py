"""What can befall the wire and the board: none of it may cost or change a decision."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from coilward.hil.bench.player import Player
from coilward.hil.bench.reactions import over
from coilward.hil.bench.report import Progress, Report, WireTrial
from coilward.hil.bench.scene import Scene
from coilward.hil.far_logic import Compared
from coilward.hil.frames import encode
from coilward.hil.messages import TICK_PARTS
from coilward.hil.plant_side import SPLIT
from coilward.hil.wire_faults import BadPort, Wire

PART = "wire"
WIRES: Final[dict[str, Wire]] = {
    "noise: one bit in ten thousand is turned": Wire(bit_errors=1e-4),
    "lost: one piece in twenty does not arrive": Wire(lost=0.05),
    "doubled: every second piece comes twice": Wire(doubled=0.5),
    "reordered: one piece in twenty comes after the next": Wire(swapped=0.05),
    "truncated: of one piece in twenty only the beginning comes": Wire(cut=0.05),
    "delayed: everything comes 10 ms late": Wire(late_s=0.01),
    "chatter: before every second piece comes what nobody sent": Wire(chatter=0.5),
}
TRIES: Final = 30
"""Ticks over each wire before the pump stalls, and after it."""
AWAY_S: Final = 600.0


def _stall(scene: Scene) -> None:
    scene.stop_water()


def try_wires(player: Player, burning: Scene, report: Report, progress: Progress) -> None:
    """Every trial. Raises Refused, LinkLost where the board does not talk any more."""
    names = [*WIRES, *BEFALLS]
    for place, name in enumerate(names):
        progress(f"wire: {name.partition(':')[0]}", place, len(names))
        if name in WIRES:
            touched, held = _over(player, burning, WIRES[name], report.seed)
        else:
            touched, held = 1, BEFALLS[name](player, burning)
        first = held.differences[0].words if held.differences else ""
        report.wires.append(WireTrial(name, touched, first))
        if first:
            report.find(PART, f"{name}: {first}")
    _forged(player, burning, report)


def _over(player: Player, burning: Scene, wire: Wire, seed: int) -> tuple[int, Compared]:
    """Some seconds of a loop in which the water stops, over a bad wire."""
    held, scene = _begun(player, burning)
    port = player.side.link.port
    bad = BadPort(port, wire, seed)
    player.through(lambda _: bad)
    player.side.counts = False
    try:
        _play(scene)
    finally:
        player.through(lambda _: port)
        player.side.counts = True
    return bad.touched, held


def _begun(player: Player, burning: Scene) -> tuple[Compared, Scene]:
    scene = burning.copy()
    held = player.begin(scene.state)
    over(held, scene)
    return held, scene


def _play(scene: Scene) -> None:
    for _ in range(TRIES):
        scene.tick()
    _stall(scene)
    for _ in range(TRIES):
        scene.tick()


def _unplugged(player: Player, burning: Scene) -> Compared:
    """The wire is pulled while the water stands; the next session goes on where it ended."""
    held, scene = _begun(player, burning)
    scene.run(2.0)
    _stall(scene)
    scene.run(2.0)
    before = held
    player.replug()
    held = player.begin(scene.state)
    held.differences += before.differences
    over(held, scene)
    scene.run(5.0)
    return held


def _restarts(player: Player, burning: Scene) -> Compared:
    """The board restarts with the water moving, and with it standing."""
    held, scene = _begun(player, burning)
    scene.run(2.0)
    scene.reboot(outage_s=2.0)
    scene.run(5.0)
    _stall(scene)
    scene.run(3.0)
    scene.reboot()
    scene.run(5.0)
    return held


def _browned_out(player: Player, burning: Scene) -> Compared:
    """The supply sags, the board restarts, the supply is back; then it is away for long."""
    held, scene = _begun(player, burning)
    healthy_v = scene.readings.supply_v
    scene.set(supply_v=0.6 * healthy_v)
    scene.run(2.0)
    scene.reboot(outage_s=1.0, supply_v=healthy_v)
    scene.run(5.0)
    scene.reboot(
        outage_s=AWAY_S, pump_contact=0.0, pump_a=0.0, flow_lpm=0.0, flow_switch=0.0,
        pulse_age_s=AWAY_S,
    )  # fmt: skip
    scene.run(5.0)
    return held


def _stuck(player: Player, burning: Scene) -> Compared:
    """The board gets no tick for three seconds of the plant's time, as one that hung."""
    held, scene = _begun(player, burning)
    scene.run(2.0)
    held.tick += 12
    scene.time_s += 3.0
    scene.run(5.0)
    return held


BEFALLS: Final[dict[str, Callable[[Player, Scene], Compared]]] = {
    "unplugged: the wire is pulled and put in again": _unplugged,
    "restart: the board restarts, wet and with the water standing": _restarts,
    "brown-out: the supply sags, and is away for long": _browned_out,
    "stuck: twelve ticks never come": _stuck,
}


def _forged(player: Player, burning: Scene, report: Report) -> None:
    """One digit of a line is not what its checksum says: the board has to ask for it again."""
    name = "forged: a line whose checksum is not its own"
    held, scene = _begun(player, burning)
    scene.run(1.0)
    side, tick = player.side, held.tick + 1
    raw = player.convert.raw(scene.readings._replace(time_s=scene.time_s + scene.constants.tick_s))
    for part, keys in SPLIT:
        values = {key: raw[key] for key in keys if key in raw}
        line = encode(side.link.session, part, side.link.sent, tick, values)
        if part == TICK_PARTS[0].name:
            line = line[:-2] + (b"0" if line[-2:-1] != b"0" else b"1") + b"\n"
        side.link.sent += 1
        side.link.port.write(line)
    said = _heard(player)
    words = "" if "commands" not in said else "the board decides on a line that is not sound"
    report.wires.append(WireTrial(name, 1, words))
    report.find(PART, words)


def _heard(player: Player) -> list[str]:
    """Names of what the board says within a moment."""
    side, said = player.side, list[str]()
    until_s = side.link.clock() + 0.3
    while side.link.clock() < until_s and not said:
        said += [frame.name for frame in side.link.receive()]
    return said
