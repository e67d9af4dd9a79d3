"""Output files: refused early, written whole, nothing left behind."""

from __future__ import annotations

import os
import stat

import pytest

from coilward.desk.files import claim, write_whole
from coilward.loop.errors import InputRefused


def _problems(outputs, inputs=()):
    with pytest.raises(InputRefused) as refused:
        claim(outputs, inputs)
    return [fault.problem for fault in refused.value.faults]


def test_a_new_file_an_old_file_and_standard_output_are_accepted(tmp_path):
    old = tmp_path / "old.json"
    old.write_text("old")
    claim({"--json": str(old), "--page": str(tmp_path / "new.html")}, ["greenhouse"])
    claim({"--json": "-", "--page": None}, ["greenhouse"])
    assert [path.name for path in tmp_path.iterdir()] == ["old.json"]
    assert old.read_text() == "old"


def test_every_bad_output_is_told_in_one_go(tmp_path):
    outputs = {"--json": str(tmp_path), "--page": str(tmp_path / "no" / "page.html")}
    assert _problems(outputs) == ["this is a directory", "there is no such folder"]


def test_a_device_is_not_replaced_by_a_file():
    assert _problems({"--json": os.devnull}) == ["this is not an ordinary file"]


def test_a_link_to_itself_is_refused(tmp_path):
    link = tmp_path / "link"
    link.symlink_to(link)
    assert _problems({"--json": str(link)}) == ["this is a link to itself"]


def test_two_outputs_can_not_share_a_file(tmp_path):
    name = str(tmp_path / "both")
    assert _problems({"--json": name, "--page": name}) == ["this is the file of --json too"]


def test_the_loop_file_is_never_overwritten(tmp_path):
    loop = tmp_path / "my.toml"
    loop.write_text("mine")
    link = tmp_path / "link"
    link.symlink_to(loop)
    for name in (loop, link):
        assert _problems({"--page": str(name)}, [str(loop)]) == ["this is the file that is read"]


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_without_the_right_to_write_is_refused(tmp_path):
    tmp_path.chmod(0o500)
    try:
        [problem] = _problems({"--json": str(tmp_path / "a.json")})
    finally:
        tmp_path.chmod(0o700)
    assert problem.startswith("the folder can't be written to")


def test_an_old_file_is_replaced_whole_with_its_rights_kept(tmp_path):
    path = tmp_path / "page.html"
    path.write_text("old and longer than the new one")
    path.chmod(0o640)
    write_whole(str(path), "new °C\n")
    assert path.read_bytes() == "new °C\n".encode()
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_new_file_follows_the_umask(tmp_path):
    old = os.umask(0o027)
    try:
        write_whole(str(tmp_path / "a"), "x")
    finally:
        os.umask(old)
    assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == 0o640


@pytest.mark.parametrize("before", [None, "old"])
def test_an_interruption_while_writing_leaves_the_old_file_and_nothing_else(
    tmp_path, monkeypatch, before
):
    path = tmp_path / "page.html"
    if before:
        path.write_text(before)

    def interrupted(_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_whole(str(path), "new")
    assert [each.name for each in tmp_path.iterdir()] == (["page.html"] if before else [])
    assert not before or path.read_text() == before
