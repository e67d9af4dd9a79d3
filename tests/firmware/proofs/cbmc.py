"""Where the bounded model checker CBMC is, and how it is got without touching the system.

    python -m tests.firmware.proofs.cbmc

`COILWARD_CBMC` (a command), else a ``cbmc`` on the path, else one in the user's cache. Run as a
program, it fetches the package of a Debian release into that cache, with the libraries it wants,
from the archive that this machine already uses, checked with the archive's own keys.
"""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

RELEASE = "trixie"
PACKAGES = ("cbmc", "libc6", "libstdc++6", "libgcc-s1", "minisat", "zlib1g")
KEYS = "/usr/share/keyrings/debian-archive-keyring.gpg"
CACHE = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "coilward" / "cbmc"
SKIPPED = "skipped: CBMC isn't here; python -m tests.firmware.proofs.cbmc fetches it"
LIBRARIES = ("usr/lib/x86_64-linux-gnu", "usr/lib")


def found() -> list[str] | None:
    """The command, or None where there is none."""
    if "COILWARD_CBMC" in os.environ:
        return shlex.split(os.environ["COILWARD_CBMC"])
    on_path = shutil.which("cbmc")
    if on_path:
        return [on_path]
    program = CACHE / "usr/bin/cbmc"
    if not program.exists():
        return None
    paths = [str(CACHE / folder) for folder in LIBRARIES]
    return [f"{paths[0]}/ld-linux-x86-64.so.2", "--library-path", ":".join(paths), str(program)]


def fetch() -> None:
    """Unpack the packages into the cache. Raises CalledProcessError where they can't be had."""
    with tempfile.TemporaryDirectory() as name:
        here = Path(name)
        for folder in ("sources", "lists/partial", "cache/archives/partial"):
            (here / folder).mkdir(parents=True)
        archive = _run("apt-get", "indextargets", "--format", "$(REPO_URI)").split()[0]
        source = f"deb [signed-by={KEYS}] {archive} {RELEASE} main\n"
        (here / "sources/proofs.list").write_text(source, "utf-8")
        settings = {
            "Dir::Etc::sourcelist": "/dev/null", "Dir::Etc::sourceparts": here / "sources",
            "Dir::State::lists": here / "lists", "Dir::Cache": here / "cache",
            "APT::Sandbox::User": "root",
        }
        apt = ["apt-get", "-q", *(f"-o{key}={value}" for key, value in settings.items())]
        _run(*apt, "update")
        _run(*apt, "download", *PACKAGES, cwd=here)
        unpacked = here / "unpacked"
        for package in here.glob("*.deb"):
            _run("dpkg", "-x", str(package), str(unpacked))
        shutil.rmtree(CACHE, ignore_errors=True)
        CACHE.parent.mkdir(parents=True, exist_ok=True)
        shutil.copytree(unpacked, CACHE, symlinks=True)


def _run(*command: str, cwd: Path | None = None) -> str:
    done = subprocess.run(command, cwd=cwd, capture_output=True, text=True, check=True)
    return done.stdout


if __name__ == "__main__":
    try:
        found() or fetch()
    except (OSError, IndexError, subprocess.CalledProcessError) as problem:
        sys.exit(f"CBMC can't be had here: {problem}")
    sys.stdout.write(f"{shlex.join(found() or [])}\n")
