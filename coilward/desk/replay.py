"""`coilward replay`: a logged night decided again, and both decisions side by side."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from coilward.desk.files import claim, deliver
from coilward.loop.errors import Fault, InputRefused
from coilward.loop.fields import printable

if TYPE_CHECKING:
    from coilward.controller.constants import Constants
    from coilward.hil.journal.reader import Reader
    from coilward.hil.journal.session import Session
    from coilward.hil.replay.changes import Change
    from coilward.hil.replay.imported import Imported
    from coilward.hil.replay.replaying import Replayed
    from coilward.hil.replay.rest import Rest

SQLITE = b"SQLite format 3\0"


class Wanted(NamedTuple):
    """What of a log is to be replayed, and how."""

    loop: str | None
    session: int | None
    from_s: float | None
    to_s: float | None
    speed: float | None
    columns: str | None


class Answer(NamedTuple):
    """All that is said of one replay of a journal."""

    found: Replayed
    other_loop: str
    """Name of the loop whose constants were taken; empty for the session's own."""
    same_code: bool
    same_constants: bool
    rest: Rest | None = None
    """What is simulated from where the commands part; None where they never do."""
    no_rest: str = ""
    """Why it isn't, where they do."""

    @property
    def now(self) -> list[Change]:
        """What is decided now: on the log while its readings answer, and then in the rest."""
        if self.rest is None or self.found.parts is None:
            return self.found.now
        parts = self.found.parts.number
        return [each for each in self.found.now if each.number <= parts] + self.rest.changes

    @property
    def expected_alike(self) -> bool:
        """Whether nothing was changed, so that every number must be the same."""
        return self.same_code and self.same_constants


def replay_file(
    name: str, wanted: Wanted, *, today: date, json_name: str | None, page_name: str | None
) -> int:
    """Replay it and tell; 1 where nothing was changed and it still isn't the same.

    Raises InputRefused for a bad file, loop, range or output.
    """
    inputs = [each for each in (name, wanted.loop, wanted.columns) if each]
    claim({"--json": json_name, "--page": page_name}, inputs)
    if wanted.from_s is not None and wanted.to_s is not None and wanted.from_s > wanted.to_s:
        raise _no("--from", f'"{wanted.from_s:g} s"', f"this is after --to, {wanted.to_s:g} s",
                  "a beginning before the end")  # fmt: skip
    if not Path(name).is_file():
        problem = "this is a directory" if Path(name).is_dir() else "there is no such file"
        raise _no(name, "", problem, "a journal, or a CSV file of a run")
    if not _is_database(name):
        return _replay_csv(name, wanted, today, json_name, page_name)
    from coilward.desk.console import out, say_files
    from coilward.desk.replay_told import as_json, page, say
    from coilward.hil.journal.reader import Reader

    with Reader(name) as reader:
        answer = _replay(name, reader, wanted, today)
    texts = {}
    if json_name:
        texts[json_name] = as_json(answer)
    if page_name:
        texts[page_name] = page(answer)
    if not deliver(texts):
        console = out()
        say(console, answer)
        say_files(console, texts)
    return 1 if answer.expected_alike and answer.found.differs else 0


def chosen_session(name: str, reader: Reader, number: int | None) -> Session:
    """A session by its number, or the newest that has ticks.

    Raises InputRefused where there is none.
    """
    sessions = reader.sessions()
    numbers = ", ".join(str(each.number) for each in sessions[-20:]) or "none is there"
    if number is not None:
        for session in sessions:
            if session.number == number:
                return session
        raise _no(name, f'"{number}"', "there is no such session", f"one of {numbers}")
    for session in reversed(sessions):
        if reader.span(session) is not None:
            return session
    raise _no(name, "", "there is no tick in this journal", "the journal of a run that has begun")


def _replay(name: str, reader: Reader, wanted: Wanted, today: date) -> Answer:
    from coilward.desk.console import progress
    from coilward.hil.journal.packing import Damaged
    from coilward.hil.journal.session import logic_hash
    from coilward.hil.replay.replaying import NoSuchTicks, replay

    if wanted.columns is not None:
        raise _no("--columns", f'"{wanted.columns}"', "a journal has its own names",
                  "no --columns, or a CSV file")  # fmt: skip
    session = chosen_session(name, reader, wanted.session)
    constants = session.constants()
    if wanted.loop is not None:
        constants = _others(wanted.loop, session, today)
    first, last = (None if at_s is None else round(at_s / session.tick_s)
                   for at_s in (wanted.from_s, wanted.to_s))  # fmt: skip
    try:
        with progress(f"{Path(name).name}, session {session.number}") as show_share:
            found = replay(reader, session, constants, first=first, last=last,
                           speed=wanted.speed, progress=show_share)  # fmt: skip
    except NoSuchTicks as none:
        span = reader.span(session) or (0, 0)
        ends = " to ".join(f"{number * session.tick_s:g} s" for number in span)
        raise _no(name, "", str(none), f"a range of session {session.number}: {ends}") from None
    except (Damaged, ValueError) as damaged:
        raise _no(name, "", str(damaged), "a whole journal of this version; `coilward journal "
                  "check` tells what is left of it") from None  # fmt: skip
    same = constants.checksum == session.checksum
    answer = Answer(found, wanted.loop or "", session.code == logic_hash(), same)
    return _with_rest(answer, reader, constants, last)


def _with_rest(answer: Answer, reader: Reader, constants: Constants, last: int | None) -> Answer:
    from coilward.desk.console import progress
    from coilward.hil.replay.rest import NoRest, simulated_rest

    found = answer.found
    if found.parts is None or answer.expected_alike:
        return answer
    try:
        with progress("the rest, simulated") as show_share:
            rest = simulated_rest(reader, found.session, constants, found.parts, last=last,
                                  progress=show_share)  # fmt: skip
    except NoRest as none:
        return answer._replace(no_rest=str(none))
    return answer._replace(rest=rest)


def _others(loop_name: str, session: Session, today: date) -> Constants:
    from coilward.controller.constants import constants_for
    from coilward.desk.reading import checked_loop
    from coilward.loop.derived import derive

    loop = checked_loop(loop_name, today)
    if loop.tick_s != session.tick_s:
        raise _no(loop_name, f"{loop.tick_s:g} s", "the journal's ticks are of another length",
                  f"a loop file whose tick is {session.tick_s:g} s")  # fmt: skip
    return constants_for(loop, derive(loop, date.fromisoformat(session.day)))


def _replay_csv(
    name: str, wanted: Wanted, today: date, json_name: str | None, page_name: str | None
) -> int:
    from coilward.controller.constants import constants_for
    from coilward.desk.console import out, say_files
    from coilward.desk.reading import checked_loop
    from coilward.desk.replay_told import imported_json, imported_page, say_imported
    from coilward.hil.replay.imported import decided, lacking
    from coilward.learning.reading import read_log
    from coilward.loop.derived import derive

    if wanted.session is not None or wanted.speed is not None or (
        wanted.from_s is not None or wanted.to_s is not None
    ):
        raise _no(name, "", "--session, --from, --to and --speed are for a journal",
                  "a plain CSV without them")  # fmt: skip
    log = read_log(name, wanted.columns)
    if wanted.loop is None:
        raise _no(name, "", "a plain log says nothing of its loop", "--loop with the loop's file")
    missing = lacking(log)
    if missing:
        raise _no(name, "", f"there is no {' and no '.join(missing).replace('_', ' ')} in it",
                  "columns for coil outlet, tank and flow at least")  # fmt: skip
    loop = checked_loop(wanted.loop, today)
    found: Imported = decided(log, constants_for(loop, derive(loop, today)))
    texts = {}
    if json_name:
        texts[json_name] = imported_json(log, loop, found)
    if page_name:
        texts[page_name] = imported_page(log, loop, found)
    if not deliver(texts):
        console = out()
        say_imported(console, log, loop, found)
        say_files(console, texts)
    return 0


def _is_database(name: str) -> bool:
    """Whether it is for the journal's reader to read, or to refuse."""
    try:
        with Path(name).open("rb") as stream:
            return stream.read(len(SQLITE)) == SQLITE
    except (OSError, ValueError):
        return False


def _no(file: str, value: str, problem: str, accepted: str) -> InputRefused:
    return InputRefused([Fault(printable(file, 300) or "(no name)", None, "", value, problem,
                               accepted)])  # fmt: skip
