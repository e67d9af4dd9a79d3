"""What is said of a proof: on the console, on paper, as JSON, and by the exit code."""

from __future__ import annotations

import io
import json
import math
import re
from datetime import date
from xml.etree import ElementTree

import pytest
from rich.console import Console

from coilward.desk.classes import (
    CLASSES,
    LOGIC,
    WORDS,
    bound_sentence,
    failed,
    one_in,
    stands,
    verdict_sentence,
)
from coilward.desk.page.margins import MOST, margins_pictures
from coilward.desk.page.proof import proof_page
from coilward.desk.proof_json import proof_json
from coilward.desk.proving import Asked, caught, margin, say_proof
from coilward.desk.sizes import NEVER, needs
from tests.desk import made_proof
from tests.desk.made_proof import NOT_SHOWN, STEAMING, row
from tests.desk.test_interlocks import SVG, setting
from tests.desk.test_page import read

ASKED = Asked("greenhouse", date(2026, 11, 25), None, None)


def said(proof, asked=ASKED):
    stream = io.StringIO()
    console = Console(file=stream, width=120, highlight=False, markup=False, emoji=False)
    say_proof(console, proof, setting(), asked)
    return stream.getvalue()


def test_299_and_29956_runs_bound_an_escape_as_they_should():
    """The success-run rule, n = ln 0.05 / ln(1 - p): textbook values for 1 in 100 and 10,000."""
    assert one_in(299) == 100
    assert one_in(29_956) == 10_000
    assert one_in(298) == 99
    assert one_in(0) == 0
    for runs in (10, 299, 5_000, 29_956):
        share = 1 / one_in(runs)
        assert (1 - share) ** runs <= 0.0501
        assert math.isclose((1 - 1 / (one_in(runs) + 1)) ** runs, 0.05, rel_tol=0.3)


def test_the_bound_says_what_it_does_not_say():
    said_ = bound_sentence(made_proof.proof(runs=29_956))
    assert said_.startswith("29,956 runs without an escape: at 95 % confidence fewer than 1 in "
                            "10,000 such cases would escape")  # fmt: skip
    assert "nothing of faults outside the catalogue" in said_
    assert "never counted as passed" in said_


def test_an_escape_takes_the_bound_away():
    told = bound_sentence(made_proof.escaped())
    assert "no bound is stated" in told
    assert "1 in" not in told


@pytest.mark.parametrize("status", sorted(WORDS))
def test_only_one_status_is_called_passed(status):
    word = WORDS[status].word.lower()
    assert ("passed" in word) == (status == "passed")


@pytest.mark.parametrize("cls", [each for each in CLASSES if each not in LOGIC])
def test_a_class_that_never_passes_is_told_as_that(cls):
    meaning = CLASSES[cls]
    assert "Never counted as passed" in meaning or "must not happen" in meaning


def test_a_proof_stands_only_where_every_row_that_could_pass_did():
    assert stands(made_proof.proof())
    assert not stands(made_proof.escaped())
    assert [each.fault for each in failed(made_proof.escaped())] == ["pump-weak"]
    assert not stands(made_proof.proof(STEAMING, NOT_SHOWN)), "nothing was shown"
    for status in ("invalid", "boils", "escaped", "lets the steam out"):
        assert not stands(made_proof.proof(row("fans-fail"), row("pump-weak", status=status)))


def test_a_row_that_steams_is_called_a_pass_nowhere():
    proof = made_proof.proof(row("fans-fail"), STEAMING)
    lines = [line for line in said(proof).splitlines() if line.strip().startswith("pump-dies ")]
    assert lines
    assert all("no pass: steams out" in line for line in lines)
    words = " ".join(read(proof_page(proof, setting(), ASKED)).words)
    assert "none of them is a pass" in verdict_sentence(proof)
    assert "no pass: steams out" in words
    told = json.loads(proof_json(proof, setting(), ASKED))
    assert told["rows"][1]["status"] == "lets the steam out"


def test_what_the_console_says_of_every_row():
    proof = made_proof.with_pairs()
    text = said(proof)
    for each in proof.rows:
        assert each.fault in text
    assert "C02" in text
    assert "coilward rehearse greenhouse --case fans-fail/17@1 --on 2026-11-25 --page" in text
    assert "fans-fail with dump-stuck" in text
    assert "--case fans-fail+dump-stuck/0@1" in text
    assert "No model can show what a person does." in text
    assert "0123456789ab" in text
    assert text.index("What no logic survives") < text.index("The faults")


def test_the_command_of_a_case_repeats_how_it_was_asked_for():
    asked = Asked("my loop.toml", date(2027, 1, 2), "mine.py:decide", "us")
    assert asked.again("pump-dies/3@9") == (
        "coilward rehearse 'my loop.toml' --case pump-dies/3@9 --on 2027-01-02 "
        "--logic mine.py:decide --units us --page worst.html"
    )


def test_margins_and_catchers_in_words():
    assert margin(row("x"), "si") == "11.3 K, 14 s"
    assert margin(row("x"), "us").startswith("20.3 F°")
    assert margin(STEAMING, "si") == "boils in 299 of 299"
    assert margin(row("x", margin_k=None, margin_s=None), "si") == "never hot"
    assert caught(row("x")) == "C02 (280), C01 (19)"
    assert caught(row("x", caught={"": 4, "C03": 4})) == "C03 (4), none (4)"
    assert caught(row("x", caught={})) == "-"


@pytest.mark.parametrize("proof", [made_proof.with_pairs(), made_proof.escaped()])
def test_the_page_is_whole_and_begins_with_what_no_logic_survives(proof):
    text = proof_page(proof, setting(), ASKED)
    reader = read(text)
    assert reader.references == []
    words = " ".join(reader.words)
    order = [
        "What no logic survives", "What the classes mean", "What was shown",
        "Worst margins to boiling", "Pairs of faults", "Cause and effect",
    ]  # fmt: skip
    assert [words.index(each) for each in order] == sorted(words.index(each) for each in order)
    for wanted in (
        "of finned pipe at 8 W/K", "60 Ah", "28.0 mm bore", "0123456789ab", "ba9876543210",
        "not a certified protective device", *NEVER,
    ):  # fmt: skip
        assert wanted in words.replace("\N{NO-BREAK SPACE}", " "), wanted


def test_the_picture_marks_every_row_by_shape_and_word():
    proof = made_proof.proof(
        row("fans-fail", margin_k=8.0), row("pump-weak", status="escaped", margin_k=1.5), STEAMING
    )
    [picture] = margins_pictures(proof, "si")
    root = ElementTree.fromstring(picture)
    words = [each.text for each in root.iter(f"{SVG}text")]
    assert "boiling" in words
    assert "8.0  passed" in words
    assert "1.5  ESCAPED" in words
    assert "no pass: steams out" in words
    [dot] = root.iter(f"{SVG}circle")
    at = [float(each.get("x")) for each in root.iter(f"{SVG}text") if each.text in ("5", "10")]
    ticks = {each.text: float(each.get("x")) for each in root.iter(f"{SVG}text")}
    assert at or "1" in ticks
    zero = next(float(each.get("x")) for each in root.iter(f"{SVG}text") if each.text == "boiling")
    per_k = (ticks["1"] - zero) if "1" in ticks else (ticks["2"] - zero) / 2
    assert float(dot.get("cx")) == pytest.approx(zero + 8.0 * per_k, abs=0.3)


def test_many_rows_make_more_pictures_and_none_makes_no_picture():
    many = made_proof.proof(*(row(f"fault-{n}") for n in range(MOST + 1)))
    assert len(margins_pictures(many, "si")) == 2
    assert margins_pictures(made_proof.proof(NOT_SHOWN), "si") == []


def test_the_json_is_strict_and_whole():
    told = json.loads(proof_json(made_proof.with_pairs(), setting(), ASKED))
    assert told["stands"] is True
    assert told["rows"][0]["again"].startswith("coilward rehearse greenhouse --case fans-fail/17")
    assert told["pair_escapes"][0]["what"] == "boils"
    assert {need["key"] for need in told["needs"]} >= {"open-vent", "still-water", "supply"}
    assert json.loads(proof_json(made_proof.escaped(), setting(), ASKED))["fewer_than_one_in"] == 0


def test_sizes_of_the_missing_hardware():
    """Against plain sums: 18 kW over 56.6 K is 318 W/K, at 8 W/K a metre 40 m; 18 kW through
    50 K of mains water is 5.16 L/min and as steam 28.7 kg/h (from h_fg 2257 kJ/kg); twice the
    4.3 A of pump and board is 9 Ah for an hour."""
    told = {need.key: need for need in needs(setting())}
    assert re.search(r"318 W/K, which is 40 m of finned pipe", told["still-water"].what)
    assert "5.16 L/min" in told["still-water"].what
    assert not told["still-water"].held
    steam = float(re.search(r"([\d.]+) kg an hour", told["open-vent"].what)[1])
    assert steam == pytest.approx(3600 * 18 / 2257, rel=0.01)
    assert "9 Ah" in told["supply"].what
    assert told["supply"].held
