"""Output files: refused before the work starts, written whole or not at all."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from coilward.loop.errors import Fault, InputRefused

STANDARD_OUTPUT = "-"


def claim(outputs: Mapping[str, str | None], inputs: Sequence[str]) -> None:
    """Refuse every output that can't be written, before anything is computed.

    `outputs` is the path by option name (None or "-" need no file); `inputs` are the loop and
    night as typed, which must not be overwritten. Raises InputRefused with every fault.
    """
    faults: list[Fault] = []
    taken: dict[Path, str] = {
        _real(name): "the file that is read" for name in inputs if Path(name).is_file()
    }
    for option, name in outputs.items():
        if name is None or name == STANDARD_OUTPUT:
            continue
        path = _real(name)
        problem = _problem(path) or (f"this is {taken[path]}" if path in taken else "")
        taken.setdefault(path, f"the file of {option} too")
        if problem:
            wanted = "the name of a new or an old file in a folder that can be written to"
            faults.append(Fault(name or "(empty)", None, option, "", problem, wanted))
    if faults:
        raise InputRefused(faults)


def _real(name: str) -> Path:
    """Where a name leads; a link that leads to itself stays as it is."""
    return Path(os.path.realpath(name))


def _problem(path: Path) -> str:
    """Why a file can't be written there; empty where it can."""
    if path.is_dir():
        return "this is a directory"
    if path.is_symlink():
        return "this is a link to itself"
    if path.exists() and not path.is_file():
        return "this is not an ordinary file"
    if path.exists() and not os.access(path, os.W_OK):
        return "this file is write-protected"
    if not path.parent.is_dir():
        return "there is no such folder"
    try:
        with tempfile.TemporaryFile(dir=path.parent):
            return ""
    except OSError as error:
        return f"the folder can't be written to ({(error.strerror or str(error)).lower()})"


def write_whole(name: str, content: str | bytes) -> None:
    """Put text, in UTF-8, or bytes in the file in one step: a reader finds all old or all new.

    An interruption leaves the old file, or none, and nothing beside it. Raises OSError where
    the disk refuses.
    """
    path = _real(name)
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content.encode() if isinstance(content, str) else content)
            stream.flush()
            os.fsync(stream.fileno())
        Path(beside).chmod(path.stat().st_mode if path.exists() else 0o666 & ~_umask())
        Path(beside).replace(path)
    finally:
        Path(beside).unlink(missing_ok=True)


def deliver(texts: Mapping[str, str]) -> bool:
    """Write every text to its file, and the one named "-" to standard output.

    Whether one went there: then nothing else may be printed. Raises OSError as `write_whole`.
    """
    for name, text in texts.items():
        if name != STANDARD_OUTPUT:
            write_whole(name, text)
    sys.stdout.write(texts.get(STANDARD_OUTPUT, ""))
    return STANDARD_OUTPUT in texts


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
