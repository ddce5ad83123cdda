"""The log of an instrument, beside its file: one line a round of dry fit or what was made, only ever added to.

Each line is one JSON object: a round, what takes the round before it back, the file that was made, or the instrument
as it was read on one day. A line is written by one call and is on the disk before the command goes on; where a crash
has torn the last line, it is left where it is and passed over.
"""

import errno
import json
import os
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nutgen.bench.dryfit.readings import Gap
from nutgen.finding import unshowable

if TYPE_CHECKING:
    from pydantic import TypeAdapter


@dataclass(frozen=True, slots=True)
class LoggedString:
    """One string of a round; lengths in mm.

    gaps                   : its readings and the heights over the fret plane that each tells
    floor_low, floor_high  : between which its floor lies by all that was known then
    floor_wanted           : by the file at that time
    file_off               : what was told to come off
    doubt                  : code of why the reading was not taken as true, in old logs words; empty where it was
    """

    number: int
    note: str
    gaps: tuple[Gap, ...]
    floor_low: float
    floor_high: float
    floor_wanted: float
    file_off: float
    verdict: str
    doubt: str


@dataclass(frozen=True, slots=True)
class Round:
    """All readings taken at one time; strings bass to treble, lengths in mm.

    time  : UTC, ISO 8601
    after : what had been done to the nut since the round before
    """

    time: str
    after: str
    relief: float | None
    action: tuple[float, ...] | None
    face_to_fret_1: tuple[float, ...] | None
    strings: tuple[LoggedString, ...]

    def same_readings(self, other: "Round") -> bool:
        """Whether the two hold the same readings, whatever was made of them."""
        return self._read() == other._read()

    def _read(self) -> tuple[Any, ...]:
        gaps = tuple((s.note, *((gap.check, gap.passes, gap.drags) for gap in s.gaps)) for s in self.strings)
        return (self.after, self.relief, self.action, self.face_to_fret_1, gaps)


@dataclass(frozen=True, slots=True)
class Making:
    """What was made of the file.

    made    : UTC, ISO 8601
    hash    : of the values it was made from
    wanted  : what for
    text    : of the whole file, so that what was made can be told from what it says later
    """

    made: str
    hash: str
    wanted: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Reading:
    """The instrument as it was read on one day; strings bass to treble, lengths in mm.

    read : UTC, ISO 8601
    """

    read: str
    notes: tuple[str, ...]
    relief: float
    clearance: tuple[float, ...]
    action: tuple[float, ...]


Entry = Round | Making | Reading

LONGEST = 64_000_000
"""A log of more bytes is none of ours: a line has a few thousand."""

LARGEST = 1e4
"""No number of a log is larger [mm]."""

WORDS_OF_ITS_OWN = ("text", "doubt")
"""Keys whose text is never shown as it is."""


def log_path(file: Path) -> Path:
    """Where the log of an instrument file is: mine.toml has mine.dryfit.jsonl beside it."""
    return file.with_name(f"{file.stem}.dryfit.jsonl")


def append_entry(path: Path, entry: Entry) -> None:
    """Add a round, what was made or what was read to a log, made where it does not exist.

    raises : OSError; what stood in the log still stands
    """
    _append(path, asdict(entry))


def append_undo(path: Path, *, time: str) -> None:
    """Take the last round of a log back: its line stays, and one that undoes it follows.

    time   : UTC, ISO 8601
    raises : OSError; what stood in the log still stands
    """
    _append(path, {"undo": time})


def _append(path: Path, line_of: dict[str, Any]) -> None:
    line = json.dumps(line_of, ensure_ascii=False, allow_nan=False).encode() + b"\n"
    handle = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT, 0o644)
    try:
        size = os.fstat(handle).st_size
        if size and os.pread(handle, 1, size - 1) != b"\n":
            line = b"\n" + line  # a torn line ends here, and the new one stands by itself
        written = os.write(handle, line)
        if written < len(line):
            raise OSError(errno.ENOSPC, "no room left for the log", str(path))
        os.fsync(handle)
    finally:
        os.close(handle)


def read_rounds(path: Path) -> tuple[list[Round], int]:
    """Every round of a log, oldest first, and how many lines could not be read; raises as `read_log`."""
    entries, unread = read_log(path)
    return [one for one in entries if isinstance(one, Round)], unread


def read_log(path: Path) -> tuple[list[Entry], int]:
    """Everything in a log, oldest first, and how many lines could not be read.

    raises : OSError where the log is there but cannot be opened, or is no log
    """
    if not path.exists():
        return [], 0
    if not path.is_file() or path.stat().st_size > LONGEST:
        raise OSError(errno.EINVAL, "no file of ours, or too large for one", str(path))
    entries: list[Entry] = []
    unread = 0
    for line in path.read_bytes().split(b"\n"):
        if not line.strip():
            continue
        try:
            raw = json.loads(line)
            if isinstance(raw, dict) and "undo" in raw:
                for place in [at for at, one in enumerate(entries) if isinstance(one, Round)][-1:]:
                    del entries[place]
            else:
                entries.append(_entry(raw))
        except (ValueError, KeyError, TypeError, RecursionError):
            unread += 1
    return entries, unread


def by_nut(rounds: Sequence[Round]) -> list[list[Round]]:
    """The rounds of one nut after the other: it is another once it wears other strings, or was made anew."""
    nuts: list[list[Round]] = []
    for entry in rounds:
        if not nuts or entry.after == "new nut" or notes_of(entry) != notes_of(nuts[-1][0]):
            nuts.append([])
        nuts[-1].append(entry)
    return nuts


def of_these_strings(rounds: Sequence[Round], notes: Sequence[str]) -> list[Round]:
    """The rounds since the nut last wore other strings, or was made anew."""
    last = by_nut(rounds)[-1:]
    return last[0] if last and notes_of(last[0][0]) == list(notes) else []


def notes_of(entry: Round) -> list[str]:
    """Of its strings, bass to treble."""
    return [string.note for string in entry.strings]


@cache
def _shapes() -> "dict[str, TypeAdapter[Any]]":
    from pydantic import TypeAdapter

    return {"read": TypeAdapter(Reading), "made": TypeAdapter(Making), "time": TypeAdapter(Round)}


def _entry(raw: Any) -> Entry:
    """What a line says; raises ValueError or TypeError where it is none of ours, KeyError where it has no time."""
    _look_at(raw)
    when = next((key for key in ("read", "made") if key in raw), "time")
    if datetime.fromisoformat(raw[when]).tzinfo is None:
        raise ValueError(raw[when])
    found: Entry = _shapes()[when].validate_python(raw)
    if isinstance(found, Reading) and not len(found.notes) == len(found.clearance) == len(found.action):
        raise ValueError(raw)
    return found


def _look_at(raw: object, key: str = "") -> None:
    """Raise ValueError where a number is none that was measured, or a text would steer a terminal."""
    if isinstance(raw, dict):
        for name, value in raw.items():
            _look_at(value, name)
    elif isinstance(raw, list):
        for value in raw:
            _look_at(value, key)
    elif isinstance(raw, int | float) and not abs(raw) <= LARGEST:
        raise ValueError(raw)
    elif isinstance(raw, str) and key not in WORDS_OF_ITS_OWN and unshowable(raw):
        raise ValueError(key)
