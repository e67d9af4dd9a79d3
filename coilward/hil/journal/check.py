"""Whether a journal is what was written: its pages, every chunk, every row, and no tick missing."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from coilward.hil.journal.packing import Damaged
from coilward.hil.journal.reader import Reader
from coilward.hil.journal.session import Session


class Checked(NamedTuple):
    """What was found in one journal."""

    ticks: int
    """That are there and whole."""
    thinned: int
    """Rows of what was thinned."""
    faults: tuple[str, ...]
    """What is damaged or missing, in words; empty where nothing is."""


def check(path: str | Path) -> Checked:
    """Look at all of a journal. Raises InputRefused where it is none."""
    ticks = thinned = 0
    faults: list[str] = []
    with Reader(path) as reader:
        try:
            faults += reader.pages()
            for session in reader.sessions():
                found = _check_session(reader, session)
                ticks, thinned = ticks + found.ticks, thinned + found.thinned
                faults += found.faults
        except sqlite3.DatabaseError as error:
            faults.append(f"the file can't be read to its end ({error})")
    return Checked(ticks, thinned, tuple(faults))


def _check_session(reader: Reader, session: Session) -> Checked:
    ticks = thinned = 0
    faults: list[str] = []
    whole: list[tuple[int, int]] = []
    about = f"session {session.number}"
    for chunk in reader.chunks(session):
        if not chunk.sound(session.layout):
            faults.append(f"{about}: ticks {chunk.first} to {chunk.last} are damaged")
            whole.append((chunk.first, chunk.last))
        elif chunk.every > 1:
            thinned += chunk.ticks
            whole.append((chunk.first, chunk.last))
        else:
            ticks += chunk.ticks
            numbers = chunk.inputs_of(session.layout)[0].view(np.int64)
            whole += list(_runs(numbers))
    try:
        recent = np.array(
            [int.from_bytes(row[:8], "little") for row in reader.recent(session)], np.int64
        )
        ticks += len(recent)
        whole += list(_runs(recent))
    except Damaged as damaged:
        faults.append(f"{about}: {damaged}")
    return Checked(ticks, thinned, tuple(faults + list(_gaps(about, whole, reader, session))))


def _runs(numbers: NDArray[np.int64]) -> Iterator[tuple[int, int]]:
    """First and last number of every stretch without a gap."""
    for run in np.split(numbers, np.flatnonzero(np.diff(numbers) != 1) + 1):
        if len(run):
            yield int(run[0]), int(run[-1])


def _gaps(
    about: str, whole: list[tuple[int, int]], reader: Reader, session: Session
) -> Iterator[str]:
    """Ticks that are missing between others; what was thinned is not missing."""
    loose = reader.thinned(session)
    for (_, end), (start, _) in pairwise(whole):
        if start == end + 1 or any(end <= high and start >= low for low, high in loose):
            continue
        if start <= end:
            yield f"{about}: ticks {start} to {end} are there twice, or out of order"
        else:
            yield f"{about}: {start - end - 1} ticks are missing after tick {end}"
