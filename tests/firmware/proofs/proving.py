"""Proves one claim on the C core, or on the core with its mistake."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

from coilward.controller.firmware import ARITHMETIC, CORE
from tests.firmware.proofs.claims import Claim, Mistake
from tests.firmware.proofs.written import rows_header

HERE = Path(__file__).parent
SOURCES = (CORE, ARITHMETIC)
LONGEST_S = 580
UNWIND = 46
"""The longest loop walks the 44 rows; an unwinding assertion proves that none is longer."""
UNDEFINED = (
    "--bounds-check", "--pointer-check", "--pointer-overflow-check", "--div-by-zero-check",
    "--signed-overflow-check", "--undefined-shift-check", "--conversion-check",
)
VERDICTS = {0: "holds", 10: "fails"}


class Verdict(NamedTuple):
    """What came out: "holds", "fails" or "unclear", and what the checker said."""

    verdict: str
    seconds: float
    said: str


def prove(cbmc: list[str], claim: Claim, mistaken: bool = False) -> Verdict:
    """One run of the checker, on a copy of the core that has the mistake if asked."""
    with tempfile.TemporaryDirectory() as name:
        here = Path(name)
        lay_out(here)
        if mistaken:
            make(claim.mistake, here)
        if claim.copied:
            for file in (here / "core").glob("*.[ch]"):
                file.write_text(claim.copied(file.read_text("utf-8")), "utf-8")
        command = [
            *cbmc, str(here / f"proofs/{claim.name}.c"),
            *(str(here / f"core/{module}.c") for module in claim.modules.split()),
            "-I", str(here / "core"), "-I", str(here / "proofs"), "--slice-formula",
            "--unwind", str(UNWIND),
            *(
                ("--property", claim.mistake.told_by, "--no-unwinding-assertions")
                if mistaken and claim.mistake.told_by else ("--unwinding-assertions",)
            ),
            *(UNDEFINED if claim.undefined else ("--no-standard-checks",)),
        ]  # fmt: skip
        start_s = time.monotonic()
        try:
            done = subprocess.run(
                command, capture_output=True, text=True, check=False, timeout=LONGEST_S
            )
        except subprocess.TimeoutExpired:
            return Verdict("unclear", time.monotonic() - start_s, "took too long")
    verdict = VERDICTS.get(done.returncode, "unclear")
    return Verdict(verdict, time.monotonic() - start_s, done.stdout + done.stderr)


def lay_out(folder: Path) -> None:
    """Core, arithmetic, harnesses and the table as C, in ``core`` and ``proofs`` of a folder."""
    for each in SOURCES:
        shutil.copytree(each, folder / "core", dirs_exist_ok=True)
    shutil.copytree(HERE, folder / "proofs", ignore=shutil.ignore_patterns("*.py", "__*"))
    (folder / "proofs/rows.h").write_text(rows_header(), "utf-8")


def make(mistake: Mistake, folder: Path) -> None:
    """Write the mistake into what was laid out. Raises ValueError where its text isn't once."""
    file = folder / "core" / mistake.file
    text = file.read_text("utf-8")
    if text.count(mistake.was) != 1:
        raise ValueError(f"{mistake.file} has not once: {mistake.was}")
    file.write_text(text.replace(mistake.was, mistake.becomes), "utf-8")
