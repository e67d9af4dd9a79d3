"""Calibrating with a connected board: a pretended one, in a process of its own."""

from __future__ import annotations

import math
import os
import pty
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

import pytest

from coilward.desk import from_board
from coilward.desk.asking import typed_readings
from coilward.desk.certify import pump, thermometer, valve
from coilward.desk.from_board import held, meter_fills
from coilward.loop.document import read_loop
from coilward.loop.errors import InputRefused
from coilward.loop.shipped import WRITTEN
from coilward.measuring import meter as meters
from coilward.measuring.thermometer import TYPICAL, ntc_ohm

ROOT = Path(__file__).parents[2]
LOOP = read_loop("greenhouse")
TIMES = 4.0
"""The board's time against the clock."""


@contextmanager
def board(night="quiet", times=TIMES):
    """The address of a pretended plain board that plays a night."""
    command = [
        sys.executable, "-m", "coilward.hil.plain_board", "greenhouse", "--night", night,
        "--today", str(WRITTEN), "--times", str(times),
    ]  # fmt: skip
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=ROOT) as process:
        try:
            yield process.stdout.readline().strip()
        finally:
            process.kill()


class Hand:
    """Presses Enter, waits as it is told to, and types the rest."""

    def __init__(self, *lines):
        self.lines = iter(lines)

    def __call__(self, _):
        line = next(self.lines)
        if isinstance(line, float):
            time.sleep(line)
            return ""
        return line


@pytest.fixture(autouse=True)
def soon(monkeypatch):
    monkeypatch.setattr(from_board, "STEADY_S", 0.6)


def readings(instrument, tmp_path, *lines, night="quiet"):
    hand = Hand(*lines)
    columns = instrument.columns(LOOP)
    with board(night) as port, held(port, LOOP, WRITTEN, instrument.sensor) as ours:
        return list(
            typed_readings(columns, tmp_path / "k.csv", hand, instrument.fills(ours, LOOP))
        )


def test_the_board_counts_and_times_what_a_person_weighs(tmp_path):
    """Of the pretended loop 12 L/min are known with the valve open: its pump curve, by hand."""
    hand = Hand("", 5.0, "6 kg", "", "end")
    with board() as port, held(port, LOOP, WRITTEN, "") as ours:
        fills = meter_fills(ours)
        time.sleep(2.0)
        (found,) = typed_readings(meters.COLUMNS, tmp_path / "k.csv", hand, fills)
    litres = found.number("time") / 60.0 * 12.0
    assert found.number("time") == pytest.approx(5.0 * TIMES, rel=0.2)
    assert found.number("pulses") / litres == pytest.approx(345.0, rel=0.06)
    assert found.number("water") == pytest.approx(8.0, abs=1.0)
    assert found.number("mass") == 6.0
    assert (tmp_path / "k.csv").read_text().count("\n") == 2


def test_a_thermistor_is_read_in_ohm(tmp_path):
    found = readings(
        thermometer.instrument("tank", None), tmp_path, "reference", "8 degC", "", "", ""
    )
    assert found[0].number("reading") == pytest.approx(ntc_ohm(TYPICAL, 8.0), rel=0.02)


def test_a_digital_thermometer_is_read_in_degrees(tmp_path):
    found = readings(
        thermometer.instrument("coil_outlet_b", None), tmp_path, "reference", "8 degC", "", "", ""
    )
    assert found[0].number("reading") == pytest.approx(0.0, abs=15.0)


def test_the_pumps_current_and_flow_are_read(tmp_path):
    found = readings(pump.instrument("0.01 A"), tmp_path, "running", 2.0, "shut off", 2.0, "")
    assert found[0].number("current") == pytest.approx(LOOP.pump.current_a, rel=0.1)
    assert found[0].number("flow") == pytest.approx(12.0, rel=0.1)
    assert found[1].number("current") < found[0].number("current")
    assert math.isnan(found[1].number("flow"))


def test_the_valve_is_moved_and_the_water_timed(tmp_path):
    hand = Hand("opening", "100 %", 1.5, 1.0, "4 kg", "closing", "50 %", 2.0, 1.0, "1 kg", "")
    made = valve.instrument(None, None)
    flows = []
    with board() as port, held(port, LOOP, WRITTEN, "") as ours:
        for _ in typed_readings(made.columns(LOOP), tmp_path / "k.csv", hand,
                                made.fills(ours, LOOP)):  # fmt: skip
            flows.append(ours.now().readings.flow_lpm)
    assert flows[0] > 10.0
    assert 1.0 < flows[1] < 0.7 * flows[0]


def test_a_position_off_the_stroke_moves_nothing(tmp_path):
    with pytest.raises(InputRefused, match="off the stroke"):
        readings(valve.instrument(149, 60), tmp_path, "opening", "20")


def test_nothing_is_measured_over_a_fire(tmp_path):
    with pytest.raises(InputRefused, match="cold, without a fire"):
        readings(pump.instrument("0.01 A"), tmp_path, "running", 1.0, night="largest-held")


def coilward(*args, cwd, stdin=subprocess.DEVNULL):
    return subprocess.run(
        [sys.executable, "-m", "coilward", "calibrate", *args], cwd=cwd, stdin=stdin,
        capture_output=True, text=True, env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["--port", "socket://127.0.0.1:9"], "this port can't be opened"),
        (["--port", "nothing://"], "this port can't be opened"),
        (["t.csv", "--port", "socket://127.0.0.1:9"], "a table or a board, not both"),
    ],
)
def test_a_port_that_will_not_do_is_refused(tmp_path, args, words):
    (tmp_path / "t.csv").write_text("pulses, mass kg, water degC\n3420, 9.98, 12\n")
    master, slave = pty.openpty()
    done = coilward("meter", *args, "--loop", "greenhouse", cwd=tmp_path, stdin=slave)
    os.close(master)
    assert done.returncode == 2
    assert words in done.stderr
    assert "Traceback" not in done.stderr


def test_the_whole_command_with_a_board(tmp_path):
    (tmp_path / "mine.toml").write_text(
        (ROOT / "coilward/loop/shipped/greenhouse.toml").read_text("utf-8"), "utf-8"
    )
    master, slave = pty.openpty()
    with board() as port:
        command = [sys.executable, "-m", "coilward", "calibrate", "pump", "--loop", "mine.toml",
                   "--port", port, "--json", "-", "--on", str(WRITTEN)]  # fmt: skip
        with subprocess.Popen(
            command, cwd=tmp_path, stdin=slave, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            text=True, env={**os.environ, "PYTHONPATH": str(ROOT)},
        ) as process:  # fmt: skip
            os.write(master, b"running\n\n" * 3 + b"\n")
            said, told = process.communicate(timeout=240)
    assert process.returncode in (0, 2), told
    assert "current: 4" in told
    assert "Traceback" not in told
    kept = next(tmp_path.glob("coilward-pump-*.csv")).read_text("utf-8")
    assert kept.count("running") == 3, told
    assert said == "" or '"answer"' in said
