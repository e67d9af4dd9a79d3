"""The printed page: self-contained, with every chart, limit and event that it promises."""

from __future__ import annotations

import base64
import gzip
import json
import re
import shutil
import subprocess
from html.parser import HTMLParser

import numpy as np
import pytest

from coilward.controller.phases import PHASES
from coilward.desk.answer import answer
from coilward.desk.findings import findings_on
from coilward.desk.page.charts import flows, heats, marks, temperatures
from coilward.desk.page.events import MOST_LINES, events, fitting
from coilward.desk.page.palette import PHASE_FILLS
from coilward.desk.page.sheet import page
from coilward.desk.page.window import Window, ticks, windows
from coilward.desk.verdict import evidence, judge
from coilward.simulator.run import OWN_LOGIC
from tests.desk.synthetic import TODAY, cause, dead_pump_run, quiet_run
from tests.desk.test_answer import changed

VOID = frozenset({"meta", "link", "br", "img", "path", "circle"})


class Reader(HTMLParser):
    """Ids, words, outside references, and tags left open."""


    def __init__(self):
        super().__init__()
        self.ids, self.words, self.references, self.open = [], [], [], []

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        self.ids += [found["id"]] if "id" in found else []
        self.references += [found[k] for k in ("src", "href", "data", "action") if k in found]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] not in ("script", "style"):
            self.words.append(data)


def made(run, system="si"):
    verdict = judge(evidence(run, findings_on(run.loop, run.derived, TODAY, system)))
    return page(run, verdict, answer(run, system), "coilward rehearse x --seed 7", system)


def read(text):
    reader = Reader()
    reader.feed(text)
    assert reader.open == []
    return reader


def items(text):
    """The charts that are embedded, as data."""
    found = re.search(r"for \(const item of (\[.*\])\) Bokeh\.embed", text)
    return {item["target_id"]: item for item in json.loads(found[1].replace("<\\/", "</"))}


def walk(value):
    if isinstance(value, dict):
        yield value
        value = list(value.values())
    if isinstance(value, list):
        for each in value:
            yield from walk(each)


def models(item, name):
    return [each["attributes"] for each in walk(item) if each.get("name") == name]


def numbers(value):
    raw = base64.b64decode(value["array"]["data"])
    raw = gzip.decompress(raw) if raw[:2] == b"\x1f\x8b" else raw
    return np.frombuffer(raw, dtype=value["dtype"])


def columns(item):
    """The data of each figure of one chart."""
    for source in models(item, "ColumnDataSource"):
        entries = dict(source["data"]["entries"])
        if "time_s" in entries:
            yield {
                key: numbers(value)
                for key, value in entries.items()
                if isinstance(value, dict)
            }


@pytest.fixture(scope="module")
def dead():
    return made(dead_pump_run())


@pytest.fixture(scope="module")
def quiet():
    return made(quiet_run())


@pytest.mark.parametrize("name", ["dead", "quiet"])
def test_the_page_stands_alone_and_is_small(name, request):
    text = request.getfixturevalue(name)
    reader = read(text)
    assert reader.references == []
    assert not re.search(r"@import|url\(", text.split("</style>")[0])
    assert len(text.encode()) < 3_000_000
    assert reader.ids == ["ribbon", "temperatures", "flow", "heat"]
    assert set(items(text)) == set(reader.ids)


def test_what_a_person_must_find_on_the_page(dead):
    words = " ".join(" ".join(read(dead).words).split())
    for wanted in (
        "greenhouse: pump dies", "At 30 min the pump stops", "DO NOT LIGHT",
        "The coil boiled in this night.", "Least to boiling", "none: the coil boiled",
        "Passive hardware", "Only lets the steam out", "neither is counted as a pass",
        "The water stopped moving.", "Machine:", "You:", "First boil.", "Take care.",
        "not a certified protective device", "seed 7", "coilward rehearse x --seed 7",
        "shaded: after first boil",
    ):  # fmt: skip
        assert wanted in words, wanted


def test_the_verdict_has_a_shape_beside_the_word(dead, quiet):
    shapes = [re.search(r'<svg viewBox="0 0 46 46".*?</svg>', text)[0] for text in (dead, quiet)]
    assert shapes[0] != shapes[1]
    assert "MAY BE LIT" in quiet


def test_the_temperatures_are_those_of_the_run(quiet):
    run = quiet_run()
    [data] = columns(items(quiet)["temperatures"])
    for series in temperatures(run).series:
        assert data[series.trace].max() == pytest.approx(run.trace[series.trace].max())
        assert data[series.trace].min() == pytest.approx(run.trace[series.trace].min())


def test_the_limits_are_drawn_where_they_are(quiet):
    run = quiet_run()
    item = items(quiet)["temperatures"]
    spans = models(item, "Span")
    levels = {each["location"] for each in spans if each.get("dimension", "width") == "width"}
    derived = run.derived
    assert levels == {
        derived.coil_boil_c, derived.outlet_hh_c, derived.allow_c, derived.outlet_dump_c,
    }  # fmt: skip
    for words in ("boiling 96.6", "high-high 86.6", "allowed 81.6", "dump 77.6"):
        assert words in json.dumps(item)


def test_flow_stands_against_the_minimum_of_the_moment(dead):
    whole, close = columns(items(dead)["flow"])
    assert {"flow_true_lpm", "flow_seen_lpm", "flow_min_lpm"} <= set(whole)
    stopped_s = close["time_s"][close["flow_true_lpm"] == 0.0].min()
    assert stopped_s == 1800.0


def test_an_infinite_minimum_is_drawn_at_the_top_and_breaks_nothing():
    run = quiet_run()
    run.trace["flow_min_lpm"][5000:6000] = np.inf
    [data] = columns(items(made(run))["flow"])
    assert np.isfinite(data["flow_min_lpm"]).all()
    assert data["flow_min_lpm"].max() > run.derived.flow_open_lpm


def test_a_channel_that_was_never_known_is_left_out_of_chart_and_legend():
    run = quiet_run()
    run.trace["room_c"][:] = np.nan
    text = made(run)
    assert "room_c" not in next(columns(items(text)["temperatures"]))
    assert ">room</span>" not in text
    assert ">tank</span>" in text


def test_us_units_on_every_chart():
    run = quiet_run()
    text = made(run, "us")
    [heat] = columns(items(text)["heat"])
    [temperature] = columns(items(text)["temperatures"])
    assert heat["heat_fire_w"].max() == pytest.approx(run.trace["heat_fire_w"].max() / 293.0711)
    top_c = run.trace["tank_top_c"].max()
    assert temperature["tank_top_c"].max() == pytest.approx(1.8 * top_c + 32)
    for words in ("Temperatures, °F", "Flow, gpm", "Heat in and out, kBTU/h", "43.7 F°"):
        assert words in text


def test_every_phase_is_in_the_ribbon_with_its_name(quiet, dead):
    for text, run in ((quiet, quiet_run()), (dead, dead_pump_run())):
        item = json.dumps(items(text)["ribbon"])
        for _, phase in run.phases:
            assert f'"{phase}"' in item


def test_every_phase_has_its_own_look():
    assert list(PHASE_FILLS) == [*PHASES, OWN_LOGIC]
    assert len({(fill.colour, fill.hatch) for fill in PHASE_FILLS.values()}) == len(PHASE_FILLS)


@pytest.mark.parametrize("chart", [temperatures, flows, heats])
def test_no_two_lines_of_a_chart_differ_by_colour_alone(chart):
    strokes = [series.stroke for series in chart(quiet_run()).series]
    looks = {(stroke.dash, stroke.width) for stroke in strokes}
    assert len(looks) == len(strokes)


def test_a_hostile_name_can_not_break_the_page():
    run = quiet_run()
    loop = run.loop.model_copy(update={"name": "</script><b>x & y"})
    text = made(changed(run, loop=loop))
    read(text)
    assert "&lt;/script&gt;&lt;b&gt;x &amp; y: quiet night" in text


def test_the_close_look_holds_the_fault_and_the_first_boil():
    run = dead_pump_run()
    whole, close = windows(run)
    assert whole == Window(0.0, run.duration_s)
    assert close.start_s < 1800.0
    assert close.end_s > run.first_boil_s
    assert close.end_s - close.start_s <= 900.0
    assert windows(quiet_run()) == [Window(0.0, 28800.0)]


def test_marks_name_the_fault_and_the_first_boil_in_order():
    assert marks(dead_pump_run()) == [("a", 1800.0), ("b", 1874.0)]


def test_ticks_are_round_and_few():
    assert list(ticks(Window(0.0, 28800.0), 11).items())[:2] == [(0, "0:00"), (3600, "1:00")]
    close = ticks(Window(1770.0, 1950.0), 4)
    assert list(close.values()) == ["0:30", "0:31", "0:32"]
    assert next(iter(ticks(Window(1795.0, 1830.0), 4))) == 1800


def test_what_repeats_itself_is_told_once():
    [wood] = [event for event in events(quiet_run()) if event.times > 1]
    assert (wood.times, wood.when) == (24, "0:27:00 to 6:12:00")


def test_when_there_is_no_room_the_gravest_are_kept_in_order_of_time():
    run = dead_pump_run()
    notes = [(60.0 * i, f"note {i}") for i in range(100)]
    kept, left_out = fitting(events(changed(run, acts=[*run.acts, *notes])))
    assert left_out > 0
    assert sum(event.lines for event in kept) <= MOST_LINES
    assert [event.time_s for event in kept] == sorted(event.time_s for event in kept)
    heads = " ".join(event.head for event in kept)
    assert "First boil" in heads
    assert "The water stopped moving." in heads
    assert "the pump stops" in heads


def test_an_alarm_that_comes_again_is_told_short():
    run = quiet_run()
    causes = [cause(7200.0, "C03"), cause(9000.0, "C03"), cause(9900.0, "C03")]
    first, again = [e for e in events(changed(run, causes=causes)) if "too hot" in e.head]
    assert first.machine
    assert not again.machine
    assert (again.head[:7], again.times, again.when) == ("Again: ", 2, "2:30:00 to 2:45:00")


CHROMIUM = shutil.which("chromium") or shutil.which("google-chrome")


@pytest.mark.skipif(CHROMIUM is None, reason="needs a browser to print with")
@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("crowded", [False, True])
def test_it_prints_on_one_side_of_paper(tmp_path, paper, crowded):
    run = dead_pump_run()
    if crowded:
        names = ["C03", "C05", "C13", "C15", "C19", "C21", "C22", "C29", "C33", "C37", "C41"]
        extra = [cause(60.0 * i, name, latched=True) for i, name in enumerate(names)]
        run = changed(run, causes=[*extra, *run.causes])
    source, printed = tmp_path / "page.html", tmp_path / "page.pdf"
    source.write_text(made(run).replace("@page {", f"@page {{ size: {paper};"), encoding="utf-8")
    subprocess.run(
        [CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--virtual-time-budget=8000",
         f"--user-data-dir={tmp_path / 'browser'}", "--no-pdf-header-footer",
         f"--print-to-pdf={printed}", source.as_uri()],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    assert len(re.findall(rb"/Type\s*/Page\b", printed.read_bytes())) == 1
