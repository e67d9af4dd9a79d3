"""Everything that the page says of one tick, as plain data: each word from its own rule."""

from __future__ import annotations

from typing import Any, Final

from coilward.controller.interlocks import ROWS
from coilward.controller.phases import PHASES
from coilward.controller.state import FIRE_STATES
from coilward.desk.live.alarms import STATES, Panel, Told, machine_words, out_of_service
from coilward.desk.live.bed import bed
from coilward.desk.live.health import battery, heat, link, outputs
from coilward.desk.live.margins import margins
from coilward.desk.live.readings import readings
from coilward.desk.live.scene import Scene
from coilward.desk.live.sentence import TONES, horn_words, sentence
from coilward.desk.live.trend import trend
from coilward.desk.live.wood import wood
from coilward.desk.times import clock

STALE_S: Final = 2.0
"""So long without a tick, and nothing on the page may be believed."""
RANKS: Final = {1: "get back", 2: "act now", 3: "act soon", 4: "note"}


def told(scene: Scene, panel: Panel, age_s: float, over: bool) -> dict[str, Any]:
    """One snapshot: strings, numbers, and words for shapes. ``age_s`` since the tick came."""
    stale = age_s > STALE_S and not over
    says = sentence(scene)
    arrow = trend(scene)
    return {
        "number": scene.tick.number,
        "time": clock(max(0.0, scene.tick.readings.time_s)),
        "time_s": scene.tick.readings.time_s,
        "over": over,
        "stale": stale,
        "age_s": round(age_s, 1),
        "tone": says.tone,
        "tone_words": TONES[says.tone],
        "sentence": says.text,
        "phase": PHASES[scene.phase],
        "fire": FIRE_STATES[scene.tick.state.mode.fire],
        "margins": [each._asdict() for each in margins(scene)],
        "trend": arrow._asdict(),
        "wood": wood(scene)._asdict(),
        "bed": bed(scene)._asdict(),
        "heat": heat(scene)._asdict(),
        "battery": battery(scene)._asdict(),
        "link": link(scene, age_s, stale)._asdict(),
        "horn": horn_words(scene.tick.commands.horn, scene.tick.state.watch.silence_s),
        "readings": [each._asdict() for each in readings(scene, stale)],
        "outputs": [
            {"key": key, "words": words, "on": on} for key, words, on in outputs(scene)
        ],
        "alarms": [_alarm(each, panel, scene) for each in panel.told],
        "out_of_service": [row.cause for row in out_of_service(scene.place)],
    }  # fmt: skip


def _alarm(each: Told, panel: Panel, scene: Scene) -> dict[str, Any]:
    row = ROWS[each.row]
    return {
        "name": row.name,
        "rank": row.rank,
        "rank_words": RANKS[row.rank],
        "state": each.state,
        "state_words": STATES[each.state],
        "first_out": each.first_out,
        "began": clock(max(0.0, panel.first_s)) if each.first_out else "",
        "since": clock(max(0.0, each.since_s)),
        "happened": row.happened,
        "machine": machine_words(each, scene.phase),
        "person": row.person,
    }
