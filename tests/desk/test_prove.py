"""`coilward prove`: what is refused, the exit codes, the files, going on after Ctrl-C."""

from __future__ import annotations

import json
import sys
from types import SimpleNamespace

import pytest

from coilward.desk.prove import Wanted, prove_loop
from tests.desk import made_proof
from tests.desk.cli import run_here
from tests.desk.test_interlocks import TODAY

AS_TYPED = Wanted(None, 299, None, False, 1, 1, None, None, None)


@pytest.fixture
def campaign(monkeypatch, tmp_path):
    """A campaign that gives a made-up proof and remembers how it was asked."""
    asked = SimpleNamespace(proof=made_proof.proof(), calls=[])

    def prove(loop, **how):
        asked.calls.append((loop.name, how))
        if isinstance(asked.proof, BaseException):
            raise asked.proof
        return asked.proof

    monkeypatch.setitem(sys.modules, "coilward.proving.campaign", SimpleNamespace(prove=prove))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return asked


@pytest.fixture
def cli(monkeypatch, capsys):
    return lambda *args: run_here(monkeypatch, capsys, *args)


@pytest.mark.parametrize(
    ("args", "named"),
    [
        (("--faults", "pump-dyes"), "pump-dies"),
        (("--faults", "fans-fail,,pump-dies"), "there is no such fault"),
        (("--runs", "3", "--confidence", "0.9"), "--runs is given as well"),
        (("--runs", "0"), "--runs"),
        (("--confidence", "1"), "--confidence"),
        (("--workers", "2", "--cluster", "tcp://a:1"), "--cluster is given as well"),
        (("--json", "/no/such/folder/x"), "there is no such folder"),
    ],
)  # fmt: skip
def test_bad_input_is_refused_before_anything_runs(cli, campaign, args, named):
    result = cli("prove", "greenhouse", *args)
    assert result.code == 2
    assert named in " ".join(result.err.split())
    assert campaign.calls == []


def test_a_proof_that_stands_is_0_and_one_that_does_not_is_1(cli, campaign):
    assert cli("prove", "greenhouse", "--runs", "299").code == 0
    campaign.proof = made_proof.escaped()
    result = cli("prove", "greenhouse", "--runs", "299")
    assert result.code == 1
    assert "NOT PROVEN" in result.out
    assert "C07 told after 21 s" in result.out


def test_what_was_typed_reaches_the_campaign(cli, campaign, tmp_path):
    store = tmp_path / "kept"
    result = cli(
        "prove", "hot-tub", "--faults", "pump-dies, fans-fail", "--confidence", "0.9999",
        "--pairs", "--seed", "7", "--workers", "2", "--store", str(store),
    )  # fmt: skip
    assert result.code == 0, result.err
    [(name, how)] = campaign.calls
    assert name == "hot tub"
    assert set(how["faults"]) == {"pump-dies", "fans-fail"}
    assert (how["confidence"], how["pairs"], how["seed"], how["workers"]) == (0.9999, True, 7, 2)
    assert how["store"] == store
    assert store.is_dir()
    assert how["today"] == TODAY


def test_finished_cases_are_kept_in_the_users_cache_folder(cli, campaign, tmp_path):
    cli("prove", "greenhouse")
    if sys.platform == "linux":
        assert campaign.calls[0][1]["store"] == tmp_path / "cache" / "coilward" / "proofs"


def test_a_store_that_cannot_be_is_refused(cli, campaign, tmp_path):
    (tmp_path / "file").write_text("x", "utf-8")
    result = cli("prove", "greenhouse", "--store", str(tmp_path / "file"))
    assert result.code == 2
    assert "--store" in result.err
    assert campaign.calls == []


def test_interrupted_it_says_how_to_go_on(campaign, capsys, tmp_path):
    campaign.proof = KeyboardInterrupt()
    code = prove_loop(
        "greenhouse", AS_TYPED._replace(store=str(tmp_path)), today=TODAY, json_name=None,
        page_name=None, units=None,
    )  # fmt: skip
    said = capsys.readouterr()
    assert code == 130
    assert "type the same command again to go on" in said.err
    assert str(tmp_path) in said.err
    assert said.out == ""


def test_the_files_and_the_same_bytes_twice(cli, campaign, tmp_path):
    files = [str(tmp_path / name) for name in ("a.json", "b.json", "a.html", "b.html")]
    for data, page in ((files[0], files[2]), (files[1], files[3])):
        assert cli("prove", "greenhouse", "--json", data, "--page", page).code == 0
    texts = [(tmp_path / name).read_bytes() for name in ("a.json", "b.json", "a.html", "b.html")]
    assert texts[0] == texts[1]
    assert texts[2] == texts[3]
    assert json.loads(texts[0])["seed"] == 1
    printed = cli("prove", "greenhouse", "--json", "-")
    assert json.loads(printed.out) == json.loads(texts[0])


@pytest.mark.parametrize(
    ("key", "named"),
    [
        ("pump-dies", "this is no case"), ("pump-dies/x@1", "this is no case"),
        ("goat/0@1", "there is no fault goat"),
        ("cap-opened/0@1", "can't be shown"),
        ("fans-fail+goat/0@1", "there is no fault goat"),
    ],
)  # fmt: skip
def test_a_case_that_cannot_be_is_refused(cli, key, named):
    result = cli("rehearse", "greenhouse", "--case", key)
    assert result.code == 2
    assert named in " ".join(result.err.split())


def test_a_case_of_a_part_that_the_loop_lacks_is_refused(cli):
    result = cli("rehearse", "hot-tub", "--case", "fans-fail/0@1")
    assert result.code == 2
    assert "no radiator" in result.err


def test_a_small_campaign_from_the_command_line_to_the_page(cli, tmp_path):
    """For real, and again from the store: the same bytes, and one of its cases as a night."""
    args = ("prove", "greenhouse", "--faults", "fans-fail,cap-opened", "--runs", "2",
            "--store", str(tmp_path / "kept"))  # fmt: skip
    first, again, page = (str(tmp_path / name) for name in ("1.json", "2.json", "p.html"))
    result = cli(*args, "--json", first, "--page", page)
    assert result.code == 0, result.out + result.err
    assert cli(*args, "--json", again).code == 0
    assert (tmp_path / "1.json").read_bytes() == (tmp_path / "2.json").read_bytes()
    told = {row["fault"]: row for row in json.loads((tmp_path / "1.json").read_text())["rows"]}
    assert told["fans-fail"]["runs"] == 2
    assert "C22" in told["fans-fail"]["caught"]
    assert told["cap-opened"]["status"] == "not shown"
    assert told["fans-fail"]["again"] in (tmp_path / "p.html").read_text("utf-8")
    case = cli("rehearse", "greenhouse", "--case", told["fans-fail"]["worst_key"])
    assert case.code in (0, 1)
    assert "all fans stop" in " ".join(case.out.split())
