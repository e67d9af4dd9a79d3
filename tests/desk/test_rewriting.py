"""Writing a loop file back: whole, only when it is safe, never a shipped one."""

from __future__ import annotations

import os
import stat

import pytest

from coilward.desk.rewriting import plan, put, told
from coilward.loop.document import read_loop
from coilward.loop.editing import Change
from coilward.loop.errors import InputRefused
from coilward.loop.safer import BOUNDS
from coilward.loop.shipped import WRITTEN, loop_text

K = [Change("meter.pulses", 346.0)]


@pytest.fixture
def mine(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(loop_text("greenhouse"), encoding="utf-8")
    return path


def problems(work):
    with pytest.raises(InputRefused) as refused:
        work()
    return [fault.problem for fault in refused.value.faults]


def test_only_the_line_meant_is_another_one_on_disk(mine):
    before = mine.read_bytes()
    mine.chmod(0o640)
    rewrite = plan(str(mine), K, today=WRITTEN, note="calibrated 2026-11-26")
    assert mine.read_bytes() == before
    number = 1 + next(n for n, line in enumerate(before.splitlines()) if b"pulses = " in line)
    assert rewrite.diff() == [
        f' {number} - pulses = "345 pulses/L"         ',
        f' {number} + pulses = "346 pulses/L"  # calibrated 2026-11-26',
    ]
    put(rewrite)
    old, new = before.splitlines(), mine.read_bytes().splitlines()
    assert [n for n, (a, b) in enumerate(zip(old, new, strict=True), 1) if a != b] == [number]
    assert stat.S_IMODE(mine.stat().st_mode) == 0o640
    assert [each.name for each in mine.parent.iterdir()] == ["mine.toml"]


def test_a_link_is_followed_and_a_byte_order_mark_stays(mine, tmp_path):
    mine.write_bytes(b"\xef\xbb\xbf" + mine.read_bytes().replace(b"\n", b"\r\n"))
    before, link = mine.read_bytes(), tmp_path / "link.toml"
    link.symlink_to(mine)
    put(plan(str(link), K, today=WRITTEN))
    assert link.is_symlink()
    assert mine.read_bytes() == before.replace(b"345 pulses", b"346 pulses").replace(
        b'L"         \r', b'L"         \r'
    )


def test_a_file_that_changed_meanwhile_is_left_alone(mine):
    rewrite = plan(str(mine), K, today=WRITTEN)
    other = mine.read_text("utf-8") + "# typed meanwhile\n"
    mine.write_text(other, encoding="utf-8")
    assert problems(lambda: put(rewrite)) == ["the file has changed since it was read"]
    assert mine.read_text("utf-8") == other


def test_an_interruption_leaves_the_old_file(mine, monkeypatch):
    rewrite, before = plan(str(mine), K, today=WRITTEN), mine.read_bytes()

    def interrupted(_):
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupted)
    with pytest.raises(KeyboardInterrupt):
        put(rewrite)
    assert mine.read_bytes() == before
    assert [each.name for each in mine.parent.iterdir()] == ["mine.toml"]


def test_a_shipped_loop_is_planned_but_never_written():
    rewrite = plan("greenhouse", K, today=WRITTEN)
    assert len(rewrite.diff()) == 2
    with pytest.raises(InputRefused, match=r"coilward loops greenhouse > my-loop\.toml"):
        put(rewrite)


LESS_SAFE = {
    "fire.largest": (14.0, "tank trip from 59.8 °C to 64.7 °C, where lower is safer"),
    "valve.stop": (0.40, "flow at the stop from 3.83 L/min to 3.16 L/min, where"),
    "pump.current_low": (2.0, "pump current, low from 2.4 A to 2.0 A, where higher is safer"),
    "pump.current_high": (7.0, "pump current, high from 6.4 A to 7.0 A, where lower is safer"),
    "meter.pulses": (120.0, "pulse time-out from 1.0 s to "),
    "coil.peak_to_mean": (1.2, "refill window from "),
    "limits.set_point": (62.0, "set-point from 60.0 °C to 62.0 °C, where lower is safer"),
    "site.altitude": (500.0, "allowed outlet from "),
    "fire.nominal": (11.0, "minimum flow, throttled from "),
}


@pytest.mark.parametrize("key", LESS_SAFE)
def test_a_limit_that_gets_less_safe_is_named_and_needs_the_flag(mine, key):
    value, words = LESS_SAFE[key]
    before = mine.read_bytes()
    rewrite = plan(str(mine), [Change(key, value)], today=WRITTEN)
    said = [told(each, rewrite.loop) for each in rewrite.less_safe]
    assert any(each.startswith(words) for each in said), said
    refused = problems(lambda: put(rewrite))
    assert len(refused) == len(said)
    assert mine.read_bytes() == before
    put(rewrite, even_if_less_safe=True)
    assert mine.read_bytes() != before


@pytest.mark.parametrize(
    "change",
    [
        Change("fire.largest", 20.0), Change("coil.peak_to_mean", 1.7),
        Change("sensors.coil_outlet_a.error", 2.5), Change("pump.current_low", 2.8),
        Change("limits.set_point", 58.0), Change("valve.stop", 0.5), Change("tank.low_low", 0.5),
    ],
)  # fmt: skip
def test_a_move_to_the_safe_side_needs_no_flag(mine, change):
    put(plan(str(mine), [change], today=WRITTEN))


def test_a_typed_limit_that_would_become_the_less_safe_one_is_refused(mine):
    text = mine.read_text("utf-8").replace("[limits]", '[limits]\ntank_trip = "59 degC"')
    mine.write_text(text, encoding="utf-8")
    change = [Change("fire.largest", 20.0)]
    assert problems(lambda: plan(str(mine), change, today=WRITTEN)) == [
        "a typed limit may only be safer than the one that follows from the rest of the file"
    ]


def test_every_limit_that_can_be_typed_has_a_side():
    typed = {each.typed for each in BOUNDS if each.typed}
    fields = set(type(read_loop("greenhouse").limits).model_fields) - {"hose_rated_c"}
    assert typed == fields
