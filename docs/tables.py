"""Writes the tables of docs/ from the code: `python docs/tables.py`. A test keeps them equal."""

from __future__ import annotations

from pathlib import Path

from coilward.controller.interlocks import BESIDE, ROWS, TIERS
from coilward.controller.phases import PHASES, TABLE
from coilward.controller.plausibility import RULES
from coilward.controller.prelight import CHECKS
from coilward.hil.messages import LONGEST, MEMORY, MESSAGES, VERSION, Message
from coilward.simulator.faults import FAULTS, Fault

HERE = Path(__file__).parent
DERIVED = {
    "low_flow_debounce_s": "derived", "low_flow_total_s": "min(3, boil/4)",
    "refill_window": "refill window",
}
"""What stands in the table for a time that follows from the loop."""


def line(*cells: object) -> str:
    """One row of a Markdown table."""
    return "| " + " | ".join(str(cell) for cell in cells) + " |"


def interlocks() -> str:
    """The cause-and-effect table."""
    rows = [
        line(
            row.name, row.cause, row.pump, row.valve, row.fans, row.damper, row.dump, row.horn,
            row.latch, DERIVED.get(str(row.debounce_s), row.debounce_s),
            DERIVED.get(str(row.limit_s), row.limit_s), row.tier, row.next, row.rank,
        )
        for row in ROWS
    ]
    heads = (
        "row", "cause", "pump", "valve", "fans", "damper", "dump", "horn", "latch",
        "debounce, s", "limit, s", "tier", "leads to", "rank",
    )
    told = [
        f"**{row.name}, {row.cause}.** {row.happened} {row.machine} *{row.person}* Why: {row.why}"
        for row in ROWS
    ]
    return "\n".join(
        [
            "# Cause and effect", "",
            "Written by `python docs/tables.py` from `coilward/controller/interlocks.py`; "
            "don't edit.", "",
            "`=` means no opinion, `hold` beats every other row. Opposing effects are resolved by "
            "tier, highest first: " + ", ".join(TIERS) + ". Only the dry tier may stop the pump "
            "while a fire may be in. A row that says pump `on` means: unless the coil may be dry.",
            "", line(*heads), line(*["---"] * len(heads)), *rows, "",
            "## Not in the table", "",
            *[f"- **{name}, {cause}.** {why}" for name, cause, why in BESIDE], "",
            "## What happened, what the machine does, *what you do*", "",
            "\n\n".join(told), "",
        ]
    )


def rules() -> str:
    """What readings are held against each other."""
    rows = [
        line(rule.number, rule.name, rule.rule, ", ".join(rule.leads_to), rule.note)
        for rule in RULES
    ]
    heads = ("rule", "name", "what is compared", "leads to", "where it stops short")
    return "\n".join(
        [
            "# Plausibility", "",
            "Written by `python docs/tables.py` from `coilward/controller/plausibility.py`; "
            "don't edit.", "",
            "One bad reading may stop; one good reading may never start. A reading that is lost "
            "drops out of its vote; what is left is compared, and an unknown vote trips.", "",
            line(*heads), line(*["---"] * len(heads)), *rows, "",
        ]
    )


def phases() -> str:
    """The phase table, as a picture and as rows."""
    ids = {index: name.replace(" ", "_").replace("-", "_") for index, name in enumerate(PHASES)}
    arrows: dict[tuple[int, int], list[str]] = {}
    for step in TABLE:
        for source in step.sources:
            arrows.setdefault((source, step.target), []).append(step.why)
    drawing = [
        f"    {ids[source]} --> {ids[target]}: {', '.join(dict.fromkeys(whys))}"
        for (source, target), whys in sorted(arrows.items())
    ]
    rows = [
        line(
            ", ".join(PHASES[source] for source in step.sources), ", ".join(step.needs),
            ", ".join(step.forbids), PHASES[step.target], step.why,
        )
        for step in TABLE
    ]
    heads = ("from", "needs", "forbids", "to", "why")
    return "\n".join(
        [
            "# Phases", "",
            "Written by `python docs/tables.py` from `coilward/controller/phases.py`; don't edit.",
            "", "```mermaid", "stateDiagram-v2", "    [*] --> boot", *drawing, "```", "",
            "The first row that matches wins; no row means staying.", "",
            line(*heads), line(*["---"] * len(heads)), *rows, "",
            "## By hand", "",
            "While a fire may be in, a hand moves an output to its safer side only: valve and "
            "dump open, fans full, damper shut; the pump runs anyway. In the dry lock-out it "
            "moves nothing. In maintenance (key turned, fire out, coil under 50 degC) each output "
            "leaves its rest while its button is held: pump on, valve at its stop, fans full, "
            "damper and dump open. Level and current still stop the pump, no row starts it, and "
            "any heat ends the phase. A hold ends after 60 s; what is refused raises C33.", "",
            "## The check before a fire", "",
            *[f"- **{name}**: {words}" for name, words in CHECKS], "",
        ]
    )


def faults() -> str:
    """The catalogue of faults: what tells, what holds it, and what a night file can script."""
    rows = [
        line(
            fault.number, f"`{fault.name}`", fault.words, fault.size_meaning,
            "" if fault.lowest is None else f"{fault.lowest:g} to {fault.highest:g}",
            ", ".join(fault.caught_by), DUE.get(str(fault.deadline_s), fault.deadline_s),
            held_by(fault), "yes" if fault.wire else "", fault.response,
        )
        for fault in FAULTS.values()
        if not fault.unshown
    ]
    unshown = [
        f"- **{fault.number}**, {fault.words}: {fault.unshown}. {fault.response}"
        for fault in FAULTS.values()
        if fault.unshown
    ]
    heads = (
        "no.", "fault", "what happens", "size", "range", "caught by", "within, s", "held by",
        "on wires", "what should happen",
    )
    return "\n".join(
        [
            "# Faults", "",
            "Written by `python docs/tables.py` from `coilward/simulator/faults/`; don't edit.", "",
            "A night file scripts a fault by its name. *Caught by* names interlock rows of which "
            "any should be the first to tell; *within* counts from the onset, where the fault "
            "shows at once. *Held by* says what it takes that nothing boils: the logic alone, or "
            "any of the devices, which have to be fitted, proven by test, and large enough. *On "
            "wires* marks what `coilward bench` injects into a real board.", "",
            line(*heads), line(*["---"] * len(heads)), *rows, "",
            "## What no model can show", "",
            *unshown, "",
        ]
    )


DUE = {"None": "", "low_flow_total_s": "min(3, boil/4)"}
DEVICES = {
    "valve_stop": "a stop or bypass of the valve", "flow_switch": "a second proof of flow",
    "pump_battery": "a battery behind the pump with a no-volt release",
    "sensors.coil_outlet_b": "a second outlet thermometer", "dump": "a dump",
}
"""What stands in the table for names that are no words."""


def held_by(fault: Fault) -> str:
    """What it takes that nothing boils, in words."""
    if fault.base == "logic":
        return "the logic alone"
    if fault.base == "nothing":
        return "nothing"
    names = [fault.alone_with, *fault.prevents] if fault.alone_with else [*fault.prevents]
    devices = " or ".join(DEVICES.get(name, "a " + name.replace("_", " ")) for name in names)
    if fault.base == "hardware only":
        return f"only {devices}" if devices else "nothing that is known of"
    return f"the logic with {devices}"


def messages() -> str:
    """The table of messages: what may stand on the wire."""
    heads = ("message", "sent by", "field", "kind", "what it is")
    rows = []
    for message in MESSAGES.values():
        if message not in MEMORY:
            rows += _fields(message)
    memory = ", ".join(f"`{message.name}`" for message in MEMORY)
    return "\n".join(
        [
            "# Messages", "",
            "Written by `python docs/tables.py` from `coilward/hil/messages.py`; don't edit.", "",
            f"A line is at most {LONGEST} bytes: `{VERSION}`, the session (four hexadecimal "
            "digits), message, sequence, tick, then `field=value` for all that is known, and "
            "`*` with a CRC-32 (IEEE 802.3) over everything before it. A field marked * has to "
            "be there.", "",
            line(*heads), line(*["---"] * len(heads)), *rows, "",
            f"On the bench alone the plant also sends a whole state in the lines {memory}; their "
            "fields are those of `coilward/controller/state.py`.", "",
        ]
    )


def _fields(message: Message) -> list[str]:
    """The rows of one message: what it is, then its fields."""
    found = []
    for field in message.fields:
        name = f"`{field.name}`" + (" *" if field.name in message.needed else "")
        found.append(line("", "", name, field.kind, field.words))
    head = line(f"`{message.name}`", ", ".join(message.sent_by), "", "", message.words)
    return [head, *found]


PAGES = {
    "interlocks.md": interlocks, "plausibility.md": rules, "phases.md": phases, "faults.md": faults,
    "messages.md": messages,
}

if __name__ == "__main__":
    for name, page in PAGES.items():
        (HERE / name).write_text(page(), encoding="utf-8")
