"""The log beside the file: only ever added to, whole lines, nothing lost to a crash."""

import errno
import json
import math
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import asdict, replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nutgen.bench.dryfit.fitlog import (
    LONGEST,
    LoggedString,
    Making,
    Reading,
    Round,
    append_entry,
    append_undo,
    log_path,
    of_these_strings,
    read_log,
    read_rounds,
)
from nutgen.bench.dryfit.readings import Gap

NOTES = ("E1", "A1")
OLD_LINE = (
    '{"time": "2030-01-01T12:00:00+00:00", "after": "filing", "relief": 0.3, "action": [2.4, 2.4],'
    ' "face_to_fret_1": null, "strings": [{"number": 1, "note": "E1", "gaps": [{"check": "feeler", "passes": 0.6,'
    ' "drags": 0.65, "floor_low": 0.312552, "floor_high": 0.368874}], "floor_low": 0.31, "floor_high": 0.37,'
    ' "floor_wanted": 0.3, "file_off": 0.0, "verdict": "measure again", "doubt": "it has risen by 0.10 mm at least"}]}'
    "\n"
)


MADE = Making("2030-01-02T12:00:00+00:00", "0123456789ab", ("trace", "mill"), 'title = "\u00dc \u201cx\u201d"\n' * 9)
READ = Reading("2030-01-03T12:00:00+00:00", ("E1", "A1"), 0.3, (0.5, 0.45), (2.3, 1.9))


def torn(work: Callable[[], object], share: float, *, killed: bool) -> None:
    """Do some work in a copy of this process, whose one write to the disk ends after a share of its bytes.

    killed : there, else with no room left, of which the work tells
    """
    child = os.fork()
    if child:
        assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
        return
    write = os.write

    def cut(handle: int, data: bytes) -> int:
        done = write(handle, data[: round(share * len(data))])
        if killed:
            os._exit(0)
        return done

    try:
        os.write = cut
        work()
        os._exit(int(share < 1.0))  # a line that is not whole must be told
    except OSError as error:
        os._exit(int(error.errno != errno.ENOSPC))
    finally:
        os._exit(3)


def entry(number: int = 0, *, notes: tuple[str, ...] = NOTES, after: str = "filing") -> Round:
    strings = tuple(
        LoggedString(
            number=len(notes) - index,
            note=note,
            gaps=(Gap("feeler", 0.45 + number / 1000, 0.5, 0.3, 0.36), Gap("sliver", 0.2, 0.25, 0.31, 0.38)),
            floor_low=0.31,
            floor_high=0.36,
            floor_wanted=0.3,
            file_off=0.04,
            verdict="file",
            doubt="it has risen; \u201cquoted\u201d\nand on two lines" if index else "",
        )
        for index, note in enumerate(notes)
    )
    return Round("2030-01-01T12:00:00+00:00", after, 0.3, (2.3, 1.9), (48.5,), strings)


class TestAppend:
    def test_reads_back_what_was_added(self, tmp_path: Path) -> None:
        path = tmp_path / "mine.dryfit.jsonl"
        rounds = [entry(n) for n in range(5)]
        for one in rounds:
            append_entry(path, one)
        assert read_rounds(path) == (rounds, 0)

    def test_every_line_is_json_of_its_own(self, tmp_path: Path) -> None:
        """Read by the standard library, line by line, as another program would."""
        path = tmp_path / "log"
        append_entry(path, entry(1))
        append_entry(path, entry(2))
        raw = [json.loads(line) for line in path.read_text("utf-8").splitlines()]
        assert [one["strings"][0]["gaps"][0]["passes"] for one in raw] == [0.451, 0.452]
        assert {"time", "after", "relief", "action", "face_to_fret_1", "strings"} == set(raw[0])

    def test_what_stood_there_is_never_changed(self, tmp_path: Path) -> None:
        path = tmp_path / "log"
        append_entry(path, entry(1))
        before = path.read_bytes()
        append_entry(path, entry(2))
        assert path.read_bytes().startswith(before)

    def test_undo_takes_a_round_back_and_keeps_its_line(self, tmp_path: Path) -> None:
        path = tmp_path / "log"
        for one in (entry(1), entry(2)):
            append_entry(path, one)
        before = path.read_bytes()
        append_undo(path, time="2030-01-02T12:00:00+00:00")
        assert path.read_bytes().startswith(before)
        assert read_rounds(path) == ([entry(1)], 0)
        append_entry(path, entry(3))
        append_undo(path, time="2030-01-03T12:00:00+00:00")
        append_undo(path, time="2030-01-03T12:00:00+00:00")
        assert read_rounds(path) == ([], 0)

    @given(st.integers(0, 400))
    @settings(max_examples=40)
    def test_a_torn_line_loses_itself_alone(self, tmp_path_factory: pytest.TempPathFactory, cut: int) -> None:
        """The last line cut anywhere: the rounds before and after it are whole."""
        path = tmp_path_factory.mktemp("log") / "log"
        append_entry(path, entry(1))
        whole = path.read_bytes()
        append_entry(path, entry(2))
        torn = path.read_bytes()[: len(whole) + cut]
        path.write_bytes(torn)
        append_entry(path, entry(3))
        rounds, unread = read_rounds(path)
        assert rounds[0] == entry(1)
        assert rounds[-1] == entry(3)
        assert unread == (1 if cut else 0)
        assert path.read_bytes().startswith(torn)

    def test_killed_while_writing_nothing_is_lost(self, tmp_path: Path) -> None:
        """A process that adds rounds without end is killed; every round it has reported is there."""
        path = tmp_path / "log"
        code = (
            "import sys; from pathlib import Path; from tests.bench.dryfit.test_fitlog import entry, append_entry\n"
            "for n in range(100000):\n"
            "    append_entry(Path(sys.argv[1]), entry(n)); print(n, flush=True)\n"
        )
        with subprocess.Popen([sys.executable, "-c", code, str(path)], stdout=subprocess.PIPE, text=True) as process:
            assert process.stdout is not None
            process.stdout.readline()
            time.sleep(0.3)
            process.send_signal(signal.SIGKILL)
            reported = [0, *map(int, process.stdout.read().split())]
        rounds, unread = read_rounds(path)
        assert unread <= 1
        assert rounds[: len(reported)] == [entry(n) for n in reported]

    def test_two_at_once_do_not_mix_their_lines(self, tmp_path: Path) -> None:
        """One adds rounds, the other what was made and read."""
        path = tmp_path / "log"
        code = (
            "import sys; from pathlib import Path\n"
            "from tests.bench.dryfit.test_fitlog import append_entry, entry, MADE, READ\n"
            "for n in range(25):\n"
            "    for one in [entry(n)] if sys.argv[2] == 'rounds' else [MADE, READ]:\n"
            "        append_entry(Path(sys.argv[1]), one)\n"
        )
        both = [subprocess.Popen([sys.executable, "-c", code, str(path), what]) for what in ("rounds", "others")]
        assert [process.wait(60) for process in both] == [0, 0]
        entries, unread = read_log(path)
        assert [sum(isinstance(one, kind) for one in entries) for kind in (Round, Making, Reading)] == [25, 25, 25]
        assert unread == 0

    @pytest.mark.parametrize("share", [0.0, 0.01, 0.4, 0.97, 1.0])
    @pytest.mark.parametrize("fails", ["killed", "full"])
    @pytest.mark.parametrize("kind", ["round", "made", "read"])
    def test_a_write_that_ends_early_costs_its_own_line_alone(
        self, tmp_path: Path, kind: str, fails: str, share: float
    ) -> None:
        """Killed, or out of room, after any part of the line: what stood there stands, and what comes after too."""
        path, line = tmp_path / "log", {"round": entry(7), "made": MADE, "read": READ}[kind]
        before = [entry(1), MADE, READ]
        for one in before:
            append_entry(path, one)
        stood = path.read_bytes()
        torn(lambda: append_entry(path, line), share, killed=fails == "killed")
        assert path.read_bytes().startswith(stood)
        for one in before:
            append_entry(path, one)
        entries, unread = read_log(path)
        assert entries == [*before, *([line] if share == 1.0 else []), *before]
        assert unread == (0.0 < share < 1.0)

    @pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
    def test_no_room_left(self) -> None:
        with pytest.raises(OSError, match="No space left"):
            append_entry(Path("/dev/full"), entry())

    @pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="the owner may write anywhere")
    def test_read_only(self, tmp_path: Path) -> None:
        path = tmp_path / "log"
        append_entry(path, entry(1))
        path.chmod(0o444)
        with pytest.raises(OSError, match="denied"):
            append_entry(path, entry(2))
        assert read_rounds(path) == ([entry(1)], 0)


class TestRead:
    def test_none_yet(self, tmp_path: Path) -> None:
        assert read_rounds(tmp_path / "log") == ([], 0)

    def test_a_log_from_before_findings_is_read_and_written_back_alike(self, tmp_path: Path) -> None:
        """A line as it was written when a doubt was kept in words."""
        path = tmp_path / "log"
        path.write_text(OLD_LINE, "utf-8")
        (old,), unread = read_rounds(path)
        assert unread == 0
        assert (old.action, old.face_to_fret_1, old.relief) == ((2.4, 2.4), None, 0.3)
        assert old.strings[0].gaps == (Gap("feeler", 0.6, 0.65, 0.312552, 0.368874),)
        assert old.strings[0].doubt.startswith("it has risen")
        append_entry(path, old)
        assert path.read_text("utf-8") == 2 * OLD_LINE

    def test_a_log_of_an_earlier_version_and_one_of_a_later(self, tmp_path: Path) -> None:
        """A making as it was first kept; what a later version adds to a line is left out, and the line is read."""
        path = tmp_path / "log"
        made = {"made": MADE.made, "hash": MADE.hash, "wanted": ["trace", "mill"], "text": MADE.text}
        lines = [made, {**made, "version": "9.9"}, {"read": READ.read, "notes": ["E1"], "relief": 0.3, "clearance": []}]
        path.write_text(OLD_LINE + "".join(json.dumps(line) + "\n" for line in lines), "utf-8")
        entries, unread = read_log(path)
        assert [type(one) for one in entries] == [Round, Making, Making]
        assert entries[1:] == [MADE, MADE]
        assert unread == 1  # a reading without its action is none

    def test_strange_lines_are_passed_over_and_counted(self, tmp_path: Path) -> None:
        path = tmp_path / "log"
        append_entry(path, entry(1))
        with path.open("ab") as log:
            log.write(b'{"time": 3}\n[1, 2]\n\xff\xfe\n\n')
        append_entry(path, entry(2))
        assert read_rounds(path) == ([entry(1), entry(2)], 3)

    @pytest.mark.parametrize(
        "spoilt",
        [
            {"relief": 1.1e4},
            {"relief": math.nan},
            {"clearance": [0.5, -math.inf]},
            {"read": "2030-01-03T12:00:00"},
            {"read": "a day in May"},
            {"notes": ["E1", "A1\x1b[31m"]},
            {"notes": ["E1"]},
            {"clearance": [0.5]},
            {"action": [2.3, 1.9, 1.9]},
            {"relief": "much"},
        ],
        ids=str,
    )
    def test_a_reading_that_nobody_took_is_passed_over(self, tmp_path: Path, spoilt: dict[str, object]) -> None:
        """Numbers of no instrument, texts that steer a terminal, a time without its zone, lists that do not match."""
        path = tmp_path / "log"
        append_entry(path, READ)
        with path.open("a", encoding="utf-8") as log:
            log.write(json.dumps({**asdict(READ), **spoilt}) + "\n")
        assert read_log(path) == ([READ], 1)

    def test_a_line_of_many_lists_in_lists_is_passed_over(self, tmp_path: Path) -> None:
        path = tmp_path / "log"
        path.write_text("[" * 200_000 + "\n", "utf-8")
        append_entry(path, READ)
        assert read_log(path) == ([READ], 1)

    def test_what_is_no_log_is_refused(self, tmp_path: Path) -> None:
        path = tmp_path / "log"
        with path.open("wb") as log:
            log.truncate(LONGEST + 1)
        for one in (path, tmp_path):
            with pytest.raises(OSError, match="no file of ours"):
                read_log(one)

    def test_is_named_after_the_file(self) -> None:
        assert log_path(Path("a/mine.toml")) == Path("a/mine.dryfit.jsonl")

    def test_other_strings_and_a_new_nut_start_anew(self) -> None:
        rounds = [entry(1), entry(2, notes=("D1", "A1")), entry(3), entry(4, after="new nut"), entry(5)]
        assert of_these_strings(rounds, NOTES) == [rounds[3], rounds[4]]
        assert of_these_strings(rounds[:3], NOTES) == [rounds[2]]
        assert of_these_strings(rounds[:1], ("E1", "A1", "D2")) == []

    def test_same_readings_whatever_was_made_of_them(self) -> None:
        one = entry(1)
        other = replace(one, time="later", strings=tuple(replace(s, file_off=0.0, doubt="x") for s in one.strings))
        assert one.same_readings(other)
        assert not one.same_readings(entry(2))
        assert not one.same_readings(replace(one, after="shim"))
