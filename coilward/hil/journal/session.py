"""One start of a run: what ran, on which loop, with which numbers and by which code."""

from __future__ import annotations

import hashlib
from datetime import date
from functools import cache
from pathlib import Path
from typing import Literal, NamedTuple

import coilward.controller
from coilward.controller.constants import Constants, constants_for
from coilward.hil.journal.layout import Layout, layout_of
from coilward.loop.derived import derive
from coilward.loop.document import loop_id, read_text
from coilward.loop.model import Loop
from coilward.loop.rules import LOOP_RULES
from coilward.loop.shipped import loop_text

Kind = Literal["run", "rehearsal", "bench"]


class Session(NamedTuple):
    """What a journal knows of one start of a run, before any tick."""

    kind: Kind
    loop_text: str
    """The loop file as it was."""
    loop_id: str
    checksum: int
    """Of the constants."""
    code: str
    """Hash over the sources of the logic."""
    day: str
    """The day on which proofs of passive hardware were judged; constants follow from it."""
    tick_s: float
    began_s: float
    """Wall clock, seconds since 1970: only to be shown."""
    about: str = ""
    """What a person would call it: a night, a board."""
    seed: int | None = None
    layout: Layout = layout_of()
    number: int = 0
    """Of the session in its file, from 1; 0 before it is in one."""

    def loop(self) -> Loop:
        """The loop that ran. Raises InputRefused where this program takes such a file no more."""
        name = f"the loop file of session {self.number}"
        sample = loop_text("greenhouse")
        return read_text(self.loop_text, Loop, file=name, sample=sample, rules=LOOP_RULES)

    def constants(self) -> Constants:
        """The constants that follow from the loop file; `checksum` tells if they are the same.

        Raises InputRefused as `loop`.
        """
        loop = self.loop()
        return constants_for(loop, derive(loop, date.fromisoformat(self.day)))


def session_of(
    kind: Kind, text: str, loop: Loop, constants: Constants, *, day: date, began_s: float,
    about: str = "", seed: int | None = None, raw: tuple[str, ...] = (),
) -> Session:  # fmt: skip
    """The session of a loop and its file's text, with our logic; `raw` names a wire's values."""
    return Session(
        kind, text, loop_id(loop), constants.checksum, logic_hash(), day.isoformat(),
        constants.tick_s, began_s, about, seed, layout_of(raw),
    )  # fmt: skip


@cache
def logic_hash() -> str:
    """Sixteen digits that change with any source file of the logic."""
    folder = Path(str(coilward.controller.__file__)).parent
    digest = hashlib.sha256()
    for file in sorted(folder.glob("*.py")):
        digest.update(file.name.encode())
        digest.update(file.read_bytes())
    return digest.hexdigest()[:16]
