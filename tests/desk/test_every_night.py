"""Every shipped night on every shipped loop: sentence, verdict and page agree with the run."""

from __future__ import annotations

import json

import pytest

from coilward.desk.answer import answer
from coilward.desk.findings import findings_on
from coilward.desk.page.sheet import page
from coilward.desk.passive import hardware
from coilward.desk.report_json import rehearsal_json
from coilward.desk.verdict import evidence, judge
from coilward.loop.document import read_loop
from coilward.loop.shipped import loop_names
from coilward.simulator.night import night_names, read_night
from coilward.simulator.rehearsal import rehearse
from tests.desk.synthetic import TODAY


@pytest.mark.parametrize("night_name", night_names())
@pytest.mark.parametrize("loop_name", loop_names())
def test_what_is_said_agrees_with_what_happened(loop_name, night_name):
    loop = read_loop(loop_name)
    run = rehearse(loop, read_night(night_name), seed=1, today=TODAY)
    verdict = judge(evidence(run, findings_on(loop, run.derived, TODAY, "si")))
    sentence = answer(run, "si")
    boiled = run.first_boil_s is not None
    assert ("boils after" in sentence) == boiled
    assert ("under boiling" in sentence) != boiled
    assert sentence.endswith(".")
    assert "\n" not in sentence
    if boiled:
        assert verdict.word == "do not light"
        assert not hardware(run).conclusion.startswith("What is fitted prevents boiling")
    if not all(run.faults_fired.values()):
        assert verdict.word == "do not light"
    data = json.loads(rehearsal_json(run, verdict, sentence))
    assert len(data["alarms"]) == len(run.causes)
    assert [alarm["time_s"] for alarm in data["alarms"]] == sorted(c.time_s for c in run.causes)
    text = page(run, verdict, sentence, "coilward rehearse", "si")
    assert verdict.word.upper() in text
    assert len(text) < 3_000_000
