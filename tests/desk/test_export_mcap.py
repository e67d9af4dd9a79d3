"""A journal as an MCAP file, read back with the format's own reader (library `mcap`)."""

from __future__ import annotations

import json
import math
import sys
from itertools import pairwise

import pytest
from mcap.reader import make_reader

from coilward.controller.interlocks import INDEX
from coilward.controller.phases import PHASES
from coilward.controller.types import Commands, Readings
from coilward.hil.journal.reader import Reader
from coilward.hil.journal.writer import Writer
from tests.desk.cli import run_here
from tests.hil.made import BEGAN_S, night, session


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    path = tmp_path_factory.mktemp("mcap") / "j"
    made = night()
    writer = Writer(path, session(), made.first)
    for tick in made.ticks:
        writer.put(tick, (b"came %d\xff" % tick.number,))
    writer.close()
    return path


@pytest.fixture
def cli(monkeypatch, capsys):
    return lambda *args: run_here(monkeypatch, capsys, *map(str, args))


@pytest.fixture
def read(cli, written, tmp_path):
    """All messages by topic, and the file's own summary, of an exported range."""

    def of(*more):
        told = cli("journal", "export", written, "--mcap", tmp_path / "o.mcap", *more)
        assert told.code == 0, told.err
        found = {}
        with (tmp_path / "o.mcap").open("rb") as stream:
            reader = make_reader(stream, validate_crcs=True)
            summary = reader.get_summary()
            for schema, channel, message in reader.iter_messages():
                assert schema.encoding == "jsonschema"
                assert channel.message_encoding == "json"
                fields = json.loads(message.data)
                properties = json.loads(schema.data)
                assert list(fields) == properties["required"] == list(properties["properties"])
                found.setdefault(channel.topic, []).append((message, fields))
        return found, summary

    return of


def same(seen, kept):
    return seen is None if math.isnan(kept) else seen == kept


def test_every_number_comes_back(read):
    found, summary = read()
    ticks = night().ticks
    assert summary.statistics.message_count == sum(map(len, found.values()))
    for topic, part, names in (("readings", "readings", Readings._fields),
                               ("commands", "commands", Commands._fields)):  # fmt: skip
        rows = found[f"/coilward/{topic}"]
        assert len(rows) == len(ticks)
        for (message, fields), tick in zip(rows, ticks, strict=True):
            assert fields["number"] == tick.number
            assert all(same(fields[name], getattr(getattr(tick, part), name)) for name in names)
            assert message.log_time == round(1e9 * BEGAN_S) + 250_000_000 * tick.number
            assert abs(message.publish_time - 1e9 * tick.wall_s) <= 1000.0


def test_phases_causes_notes_and_frames_come_back(cli, written, read):
    assert cli("journal", "note", written, "two logs, dry").code == 0
    found, _ = read()
    states = [fields for _, fields in found["/coilward/state"]]
    assert states[0]["phase"] == "run"
    assert states[0]["raised"] == []
    assert "no-flow fault" in [fields["phase"] for fields in states]
    for fields in states:
        state = night().ticks[fields["number"]].state
        assert fields["phase"] == PHASES[state.mode.phase]
        assert sum(1 << INDEX[name] for name in fields["raised"]) == state.raised
        assert sum(1 << INDEX[name] for name in fields["latched"]) == state.mode.latched
    masks = [0, *(tick.state.raised for tick in night().ticks)]
    begun = [(at, name) for at, (was, now) in enumerate(pairwise(masks))
             for name, place in INDEX.items() if now & ~was & 1 << place]  # fmt: skip
    causes = [fields for _, fields in found["/coilward/causes"]]
    assert [(fields["number"], fields["row"]) for fields in causes] == begun
    assert (causes[0]["row"], causes[0]["number"], causes[0]["first_out"]) == ("C02", 721, True)
    assert [fields["words"] for _, fields in found["/coilward/notes"]] == ["two logs, dry"]
    with Reader(written) as reader:
        frames = reader.frames(reader.sessions()[0])
    lines = [(fields["number"], fields["line"].encode("latin-1"))
             for _, fields in found["/coilward/frames"]]  # fmt: skip
    assert lines == frames
    assert len(lines) > 1000


def test_a_range_of_it(read):
    found, _ = read("--from", "2.9 min", "--to", "3.1 min")
    numbers = [fields["number"] for _, fields in found["/coilward/readings"]]
    assert numbers == list(range(696, 745))


def test_with_a_table_at_once(cli, written, tmp_path):
    told = cli("journal", "export", written, "--mcap", tmp_path / "o.mcap", "--csv",
               tmp_path / "o.csv", "--columns", "number")  # fmt: skip
    assert told.code == 0
    assert "1,440 ticks" in told.out
    assert len((tmp_path / "o.csv").read_text("utf-8").splitlines()) == 1441
    assert (tmp_path / "o.mcap").read_bytes().startswith(b"\x89MCAP0\r\n")


@pytest.mark.parametrize(
    ("more", "words"),
    [((), "nothing is to be written"), (("--mcap", "-"), "no text for a console"),
     (("--mcap", "o.mcap", "--columns", "number"), "has all of them"),
     (("--mcap", "o.mcap", "--from", "3 h"), "no ticks in this range")],
)  # fmt: skip
def test_what_makes_no_sense_is_refused(cli, written, tmp_path, monkeypatch, more, words):
    monkeypatch.chdir(tmp_path)
    told = cli("journal", "export", written, *more)
    assert told.code == 2
    assert words in " ".join(told.err.split())
    assert not (tmp_path / "o.mcap").exists()


def test_without_the_library_it_says_what_to_install(cli, written, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "mcap.writer", None)
    told = cli("journal", "export", written, "--mcap", tmp_path / "o.mcap")
    assert told.code == 2
    assert "pip install 'coilward[mcap]'" in " ".join(told.err.split())
    assert not (tmp_path / "o.mcap").exists()
    assert cli("journal", "export", written, "--csv", tmp_path / "o.csv").code == 0
