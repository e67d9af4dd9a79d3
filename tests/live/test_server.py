"""What the server answers: the page, its stream, its history, and the three requests."""

from __future__ import annotations

import contextlib
import json
import re

import numpy as np
import pytest

from coilward.desk.live.alarms import Panel
from coilward.desk.live.buttons import ACTS
from coilward.desk.live.hub import MOST_VIEWERS
from coilward.desk.live.strip import SIGNALS
from coilward.desk.live.told import told
from tests.live.scenes import scene
from tests.live.server import serving


@pytest.fixture(scope="module")
def bench():
    with serving() as made:
        made.tick(120.0)
        yield made


def test_the_page_comes_with_a_strict_policy_and_nothing_from_elsewhere(bench):
    status, headers, body = bench.ask()
    assert status == 200
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'self';" in policy
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cache-control"] == "no-store"
    assert "server" not in {name.lower() for name in headers}
    text = body.decode()
    assert not re.search(r"https?://(?!www\.w3\.org)", text)
    assert not re.search(r"<script(?![^>]* src=)|\son\w+=|style=", text)
    assert "{{" not in text


def test_every_page_has_a_nonce_of_its_own(bench):
    first, second = (bench.ask()[1]["content-security-policy"] for _ in range(2))
    assert first != second


@pytest.mark.parametrize("name", ["page.css", "page.js", "charts.js", "styles.js", "icon.svg"])
def test_its_files_name_no_other_machine(bench, name):
    status, _, body = bench.ask(path=f"/{name}")
    assert status == 200
    assert not re.search(rb"https?://(?!www\.w3\.org)|//cdn|import\(", body)


@pytest.mark.parametrize("path", [
    "/nothing", "/static/page.js", "/../pyproject.toml", "/page.html", "/%2e%2e/x", "/ask/silence",
    "/docs",
])  # fmt: skip
def test_nothing_else_is_there(bench, path):
    assert bench.ask(path=path)[0] in (404, 405)


def test_the_stream_tells_what_the_rules_say(bench):
    with bench.stream() as heard:
        said = next(heard)
        assert said["sentence"].startswith("Running well.")
        bench.tick(1.0)
        later = next(each for each in heard if each["number"] == bench.number - 1)
    here = told(scene(bench.rig), Panel(), 0.0, False)
    for key in ("wood", "bed", "readings", "outputs", "phase"):
        assert later[key] == here[key]


def test_history_is_what_was_fed(bench):
    status, _, body = bench.ask(path="/history?from=10&to=60")
    assert status == 200
    line, _, data = body.partition(b"\n")
    head = json.loads(line)
    assert head["columns"] == ["time_s", *SIGNALS]
    columns = np.frombuffer(data, "<f8").reshape(len(head["columns"]), head["count"])
    time_s = columns[0]
    assert time_s[0] >= 10.0
    assert time_s[-1] <= 60.0
    assert len(time_s) == pytest.approx(50, abs=1)
    assert columns[head["columns"].index("outlet_a_c")] == pytest.approx(60.0, abs=0.1)
    assert columns[head["columns"].index("heat_w")] == pytest.approx(
        scene(bench.rig).heat_w / 1000, rel=0.05)  # fmt: skip
    assert [each["phase"] for each in head["phases"]] == ["run"]


@pytest.mark.parametrize("query", [
    "", "from=1", "from=a&to=2", "from=nan&to=2", "from=inf&to=inf", "from=9&to=1",
    "from=1e400&to=2",
])  # fmt: skip
def test_a_stretch_that_is_none_is_refused(bench, query):
    assert bench.ask(path=f"/history?{query}")[0] == 400


@pytest.mark.parametrize("look", ["dark", "light"])
def test_the_charts_come_for_both_looks(bench, look):
    status, _, body = bench.ask(path=f"/strips?look={look}")
    assert status == 200
    assert json.loads(body)["target_id"] == "strips"
    assert bench.ask(path="/strips?look=sepia")[0] == 400


def test_only_three_things_can_be_asked_and_each_is_one_line():
    with serving() as bench:
        bench.tick()
        for act in ACTS:
            status, _, body = bench.ask("POST", f"/ask/{act}")
            assert status == 200
            assert json.loads(body)["said"]
        assert bench.pipe.getvalue() == "silence\nhorn\nfinish\n"
        assert bench.ask("POST", "/ask/reset")[0] == 404
        assert bench.ask("POST", "/ask/silence", body=b"now")[0] == 400
        assert bench.pipe.getvalue() == "silence\nhorn\nfinish\n"


def test_without_a_control_process_there_are_no_buttons_and_the_page_says_why():
    with serving(controlled=False) as bench:
        bench.tick()
        status, _, body = bench.ask("POST", "/ask/silence")
        assert (status, body) == (409, b"No buttons: nobody controls.")
        with bench.stream() as heard:
            said = next(each for each in heard if "sentence" in each)
        assert said["buttons"] is False
        assert said["why_none"] == "No buttons: nobody controls."


def test_before_the_first_tick_the_page_waits_and_then_is_stale():
    with serving() as bench, bench.stream() as heard:
        assert next(heard)["empty"]
        assert next(each for each in heard if each["stale"])["age_s"] > 2.0
        bench.tick()
        assert not next(each for each in heard if "sentence" in each)["stale"]
        stale = next(each for each in heard if each["stale"])
        assert stale["age_s"] > 2.0
        assert {each["trust"] for each in stale["readings"]} == {"stale"}


def test_a_night_that_is_over_is_not_stale():
    with serving() as bench:
        bench.tick()
        bench.source.end()
        with bench.stream() as heard:
            said = next(each for each in heard if each.get("over") and each["age_s"] > 2.2)
        assert not said["stale"]


def test_a_trip_is_told_at_once_with_its_alarm():
    with serving() as bench:
        bench.tick(10.0)
        with bench.stream() as heard:
            next(heard)
            bench.rig.stop_water()
            bench.tick(4.0)
            said = next(each for each in heard if each.get("alarms"))
        assert said["tone"] == "back"
        assert said["alarms"][0]["happened"]
        assert said["alarms"][0]["first_out"]


def test_so_many_viewers_and_no_more():
    with serving() as bench:
        bench.tick()
        with contextlib.ExitStack() as stack:
            for _ in range(MOST_VIEWERS):
                next(stack.enter_context(bench.stream()))
            assert bench.ask(path="/stream")[0] == 503
