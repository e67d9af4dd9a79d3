"""`coilward flash`: the folder compiles, tests itself, and is the logic that was rehearsed."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys

import pytest
from elftools.elf.elffile import ELFFile

from coilward.desk import flash
from coilward.hil.emulated.building import M4
from coilward.hil.emulated.machine import Machine
from coilward.hil.flashing.boards import BOARDS
from coilward.hil.flashing.folder import TESTED
from coilward.hil.flashing.verifying import image_of
from coilward.loop.shipped import loop_names, loop_text
from tests.desk.cli import ON, run_here
from tests.hil.pairs import TODAY

ZIG = [sys.executable, "-m", "ziglang", "cc"]
STRICT = ["-std=c99", "-ffp-contract=off", "-Wall", "-Wextra", "-Wconversion", "-Werror"]
SHORT = (
    'coilward = 1\nname = "short"\nduration = "1 min"\nstart = "running"\n[[moment]]\n'
    'at = "8 s"\ndo = "fault"\nfault = "pump-dies"\n'
)


@pytest.fixture
def cli(monkeypatch, capsys):
    return lambda *args: run_here(monkeypatch, capsys, *args)


@pytest.fixture(scope="module")
def folders(tmp_path_factory):
    """A folder of each shipped loop, each for another board in turn."""
    made = {}
    for name, board in zip(loop_names(), (*BOARDS, *BOARDS), strict=False):
        made[name] = tmp_path_factory.mktemp(name) / "program"
        wanted = flash.Wanted(str(made[name]), board, False, [], 1, False)
        assert flash.flash_loop(name, wanted, today=TODAY, json_name=None) == 0
    return made


def run(command, cwd):
    return subprocess.run(command, cwd=cwd, capture_output=True, text=True, check=False)


def self_test(folder, compiler):
    """What the folder's self-test says, built as its Makefile does; and its exit code."""
    sources = [*folder.glob("core/*.c"), *folder.glob("selftest/*.c"),
               folder / "loop" / "loop_constants.c", *(folder / "wire" / each for each in TESTED)]
    places = [f"-I{each}" for each in ("core", "wire", "loop", "selftest")]
    made = run([*compiler, *STRICT, "-O2", *places, *map(str, sources), "-o", "run"], folder)
    assert (made.returncode, made.stderr) == (0, "")
    return run([str(folder / "run")], folder)


def host_compilers():
    found = {"ziglang": ZIG}
    if shutil.which("gcc"):
        found["gcc"] = ["gcc"]
    return found


@pytest.mark.parametrize("name", loop_names())
@pytest.mark.parametrize("compiler", ["ziglang", "gcc"])
def test_the_self_test_passes_where_it_is_built(folders, name, compiler):
    if compiler not in host_compilers():
        pytest.skip("gcc is not installed")
    done = self_test(folders[name], host_compilers()[compiler])
    assert done.returncode == 0, done.stdout
    assert "ticks of" in done.stdout
    assert "as they should be" in done.stdout


@pytest.mark.parametrize("name", loop_names())
def test_the_folder_compiles_for_its_board_without_a_warning(folders, name, tmp_path):
    folder = folders[name]
    board = next(b for b in BOARDS.values() if (folder / "board" / b.files[0]).exists())
    parts = ("core", "arithmetic", "wire", "loop", "board", "selftest")
    places = [f"-I{folder / each}" for each in parts]
    target = ["-target", "thumb-freestanding-eabi", f"-mcpu={board.processor.cpu}"]
    files = [str(each) for each in sorted(folder.glob("*/*.c")) if each.name != "host.c"]
    done = run([*ZIG, *target, *STRICT, *places, "-c", *files], tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    spoilt = tmp_path / "spoilt.c"
    spoilt.write_text("static int unused(void) { return 1; }\n")
    done = run([*ZIG, *target, *STRICT, *places, "-c", str(spoilt), *files], tmp_path)
    assert "unused" in done.stderr


@pytest.mark.skipif(shutil.which("make") is None, reason="make is not installed")
def test_make_builds_the_program_and_the_self_test(folders):
    folder = next(each for each in folders.values() if (each / "board/stm32f407.ld").exists())
    zig = f"CC={' '.join(ZIG)} -target thumb-freestanding-eabi"
    done = run(["make", "-B", zig, f"CPU=-mcpu={M4.cpu}"], folder)
    assert done.returncode == 0, done.stderr
    assert (folder / "board.elf").stat().st_size > 10_000
    done = run(["make", "-B", "check", f"HOST={' '.join(ZIG)}"], folder)
    assert "as they should be" in done.stdout


@pytest.mark.skipif(
    shutil.which("make") is None or shutil.which("arm-none-eabi-gcc") is None,
    reason="make or arm-none-eabi-gcc is not installed",
)
@pytest.mark.parametrize("cpu", ["cortex-m4", "cortex-m0plus"])
def test_the_usual_tool_chain_takes_our_doubles_for_its_own(folders, cpu):
    """Its library has others of the same names: twice the same name would not link."""
    folder = next(each for each in folders.values() if (each / "board/stm32f407.ld").exists())
    done = run(["make", "-B", f"CPU=-mcpu={cpu} -mthumb -nostartfiles"], folder)
    assert (done.returncode, done.stderr) == (0, "")
    with (folder / "board.elf").open("rb") as file:
        table = ELFFile(file).get_section_by_name(".symtab")
        sizes = {each.name: each["st_size"] for each in table.iter_symbols()}
    for name in ("dadd", "dsub", "dmul", "ddiv", "dcmplt", "dcmpeq", "l2d", "ui2d"):
        assert sizes[f"__aeabi_{name}"] > 0, name
    assert not {"__adddf3", "__muldf3", "__divdf3", "__ltdf2"} & set(sizes)


def test_a_changed_number_fails_the_self_test(folders, tmp_path):
    folder = tmp_path / "program"
    shutil.copytree(folders["greenhouse"], folder)
    constants = folder / "loop" / "loop_constants.c"
    text = constants.read_text("utf-8")
    [line] = [each for each in text.splitlines() if ".outlet_dump_c" in each]
    constants.write_text(text.replace(line, "        .outlet_dump_c = 40.0,"), "utf-8")
    done = self_test(folder, ZIG)
    assert done.returncode == 1
    assert "differs" in done.stdout


def test_what_a_person_reads_names_every_pin_and_what_is_dead(folders):
    for name, folder in folders.items():
        board = next(b for b in BOARDS.values() if (folder / "board" / b.files[0]).exists())
        text = (folder / "README.md").read_text("utf-8")
        for pin in board.pins:
            assert f"| {pin.what} | {pin.pin} |" in text
        assert "falls shut by its weight" in text
        assert "not a certified protective device" in text
        assert "at the burner" in (folder / "card.html").read_text("utf-8"), name


def forbidden(tmp_path):
    mine = tmp_path / "mine.toml"
    text = loop_text("greenhouse")
    mine.write_text(text.replace("vent_always_rising = true", "vent_always_rising = false"))
    return str(mine)


def test_a_loop_that_must_not_be_lit_gets_no_program(cli, tmp_path):
    result = cli("flash", forbidden(tmp_path), "--out", str(tmp_path / "program"), *ON)
    assert result.code == 1
    assert "stop" in result.out
    assert not (tmp_path / "program").exists()


def told_after(folder, *, jumper):
    """The emulated board's pins after a while, and whether it kicked its watchdog."""
    machine = Machine(image_of(folder, M4), bench=jumper)
    for _ in range(40):
        machine.run()
        machine.now_ms += 100
    return machine


def test_a_bench_program_never_drives_without_the_jumper(cli, tmp_path, folders):
    folder = tmp_path / "program"
    result = cli("flash", forbidden(tmp_path), "--out", str(folder), "--bench-only", *ON)
    assert result.code == 0
    assert "For the bench alone" in (folder / "README.md").read_text("utf-8")
    refused = told_after(folder, jumper=False)
    assert refused.pins["output_horn"] == 3.0
    assert refused.pins["output_pump"] != refused.pins["output_pump"]
    assert refused.kicks > 0
    driving = told_after(folders["greenhouse"], jumper=False)
    assert driving.pins["output_pump"] in (0.0, 1.0)
    benched = told_after(folder, jumper=True)
    assert benched.pins["output_horn"] != 3.0


def test_the_folder_as_machine_code_is_the_reference(cli, tmp_path):
    (tmp_path / "short.toml").write_text(SHORT, "utf-8")
    result = cli(
        "flash", "greenhouse", "--out", str(tmp_path / "program"), "--verify",
        "--night", str(tmp_path / "short.toml"), "--json", str(tmp_path / "told.json"), *ON,
    )  # fmt: skip
    assert result.code == 0
    told = json.loads((tmp_path / "told.json").read_text("utf-8"))["verified"]
    assert [each["processor"] for each in told] == ["cortex-m4", "cortex-m0plus"]
    for each in told:
        assert each["ticks"] == 240
        assert (each["differing"], each["digest"]) == (0, each["expected"])
    assert told[0]["digest"] == told[1]["digest"]
    assert (tmp_path / "program" / "core" / "decide.c").exists()


def test_a_difference_is_shown_and_nothing_is_written(cli, tmp_path, monkeypatch):
    (tmp_path / "short.toml").write_text(SHORT, "utf-8")
    sound = flash._files

    def changed(*args, **options):
        files = sound(*args, **options)
        files["core/acting.c"] = files["core/acting.c"].replace("= true", "= false")
        return files

    monkeypatch.setattr(flash, "_files", changed)
    result = cli(
        "flash", "greenhouse", "--out", str(tmp_path / "program"), "--verify",
        "--night", str(tmp_path / "short.toml"), *ON,
    )  # fmt: skip
    assert result.code == 1
    assert "ticks differ" in result.out
    assert "in the machine code" in result.out
    assert not (tmp_path / "program").exists()


@pytest.mark.parametrize(
    ("args", "words"),
    [
        ([], "--out FOLDER, --verify, or both"),
        (["--out", "full"], "this folder is not empty"),
        (["--out", "full/file"], "this is a file"),
        (["--out", "no-such/folder"], "there is no such folder"),
        (["--out", "new", "--board", "abacus"], "stm32f407 or rp2040"),
        (["--verify", "--night", "no-such-night"], "no-such-night"),
    ],
)
def test_bad_use_is_refused(cli, tmp_path, monkeypatch, args, words):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "file").write_text("mine")
    result = cli("flash", "greenhouse", *args, *ON)
    assert result.code == 2
    assert words in " ".join(result.err.split())
    assert sorted(each.name for each in tmp_path.iterdir()) == ["full"]
