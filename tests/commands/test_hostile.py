"""What is thrown at the door: no file and no argument gets past it with a traceback, or onto the terminal as it is."""

import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from nutgen.bench.dryfit.fitlog import Making, append_entry, log_path
from nutgen.jobs import run as jobs_run
from nutgen.spec.presets import kind_path, start_path
from nutgen.spec.read import parse_piece
from tests.calling import CODE, Done, in_a_process, run
from tests.cases import cases
from tests.commands.hostile import hostile_file, hostile_lines, hostile_set
from tests.kinds import text_of
from tests.spec.refused import refused
from tests.specs import EXAMPLES

STEERS = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\ufffd\uffff\udc80-\udcff]")
_KEY = r'([\w-]+|"[^"]*")'
_PATH = rf"(\[\[)?{_KEY}(\.{_KEY}|\[\d+(( to |, | and )\d+)*\])*(\]\])?"
PLACED = re.compile(rf"(x|sets/[^/]+)\.toml: ({_PATH}: |.* line \d+|is empty|no such file; string_set)")
STRINGS = re.compile(rf"cannot be made:|  (strings? \d|every string |the |{_KEY}(\.{_KEY})+: )")
LONGEST = 400  # letters of a line: the refusal of an unknown key names every key of its table
PATIENCE = 2.0  # s


def tame(done: Done) -> None:
    """Nothing steers a terminal, no line is endless."""
    for stream in (done.stdout, done.stderr):
        assert not STEERS.search(stream)
        assert all(len(line) <= LONGEST for line in stream.splitlines())


@pytest.mark.parametrize("first", cases(0, slow=range(100, max(200, 67 * EXAMPLES), 100)))
def test_a_hostile_file_is_refused_by_key_or_line(tmp_path: Path, first: int) -> None:
    for seed in range(first, first + 100):
        (tmp_path / "x.toml").write_bytes(hostile_file(seed))
        start = time.process_time()
        done = run("check", "x.toml", cwd=tmp_path)
        assert time.process_time() - start < PATIENCE, seed
        tame(done)
        named = {0: re.compile(""), 1: STRINGS, 2: PLACED}[done.returncode]
        assert [line for line in done.stderr.splitlines() if not named.match(line)] == [], seed


@pytest.mark.parametrize("first", cases(0, slow=range(100, max(200, EXAMPLES), 100)))
def test_a_hostile_piece_is_refused_or_read(first: int) -> None:
    from nutgen.errors import SpecFaults

    for seed in range(first, first + 100):
        text = hostile_file(seed, piece=True).decode("utf-8", "replace")
        try:
            parse_piece(text, source="x")
        except SpecFaults:
            refused(parse_piece, text)


READ = "[dry_fit]\nfeeler = [0.6, 0.55, 0.5, 0.45]\nrelief = 0.3\naction = 2.2\n"
SET_UP = {"setup.clearance_now": [0.5, 0.45, 0.4, 0.4], "setup.action_now": 2.2, "setup.relief_now": 0.3}
OF_THE_LOG = (
    ["log", "mine.toml"], ["log", "mine.toml", "--add"], ["log", "mine.toml", "--json"], ["compare", "mine.toml"],
    ["dryfit", "mine.toml", "--plot", "p.svg"], ["dryfit", "mine.toml", "--undo"],
)  # fmt: skip


@pytest.fixture(scope="module")
def good_log(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The lines of a log with two rounds of dry fit, what was made, and four days on which it was read."""
    folder = tmp_path_factory.mktemp("log")
    file = folder / "mine.toml"
    for feeler in ("0.6", "0.7"):
        file.write_text(text_of("bass-4", SET_UP, READ.replace("0.6", feeler, 1)))
        run("dryfit", "mine.toml", cwd=folder)
    append_entry(log_path(file), Making("2030-01-01T12:00:00+00:00", "12", ("trace", "wall"), file.read_text("utf-8")))
    run("log", "mine.toml", "--add", cwd=folder)
    *lines, read = log_path(file).read_text("utf-8").splitlines()
    return [*lines, *(re.sub(r'"read": "....', f'"read": "{year}', read) for year in range(2030, 2034))]


@pytest.mark.parametrize("first", cases(0, slow=range(6, max(30, EXAMPLES // 5), 6)))
def test_a_hostile_log_is_passed_over_line_by_line(tmp_path: Path, good_log: list[str], first: int) -> None:
    (tmp_path / "mine.toml").write_text(text_of("bass-4", SET_UP, READ))
    log = log_path(tmp_path / "mine.toml")
    for seed in range(first, first + len(OF_THE_LOG)):
        before = hostile_lines(seed, good_log)
        log.write_bytes(before)
        done = run(*OF_THE_LOG[seed % len(OF_THE_LOG)], cwd=tmp_path)
        assert done.returncode == 0 or done.stderr, seed
        if "--json" not in OF_THE_LOG[seed % len(OF_THE_LOG)]:
            tame(done)
        assert log.read_bytes().startswith(before), seed


@pytest.mark.parametrize("first", cases(0, slow=range(20, max(100, EXAMPLES // 3), 20)))
def test_a_hostile_set_of_strings_is_refused_by_key_or_line(tmp_path: Path, first: int) -> None:
    (tmp_path / "mine.toml").write_text(text_of("bass-4"))
    (tmp_path / "sets").mkdir()
    for seed in range(first, first + 20):
        (tmp_path / "sets" / "mine.toml").write_bytes(hostile_set(seed))
        done = run("tension", "mine.toml", "--against-set", "mine", cwd=tmp_path)
        tame(done)
        assert done.returncode in (0, 2)
        if done.returncode:
            assert [line for line in done.stderr.splitlines() if not PLACED.match(line)] == []


@pytest.mark.parametrize("key", ["title", "back_line", "first_end", "scan.file", "scan.core"])
@pytest.mark.parametrize("letter", ["\n", "\x1b[31m", "\x00", "\x7f", "\x9b", "\u202e", "\u2028", "\ufffd", "\ue000"])
def test_letters_that_cannot_be_shown_are_refused_by_key(key: str, letter: str) -> None:
    text = start_path("shin-bone-scan").read_text("utf-8")
    name = key.rpartition(".")[2]
    line = f"{name} = {json.dumps(f'a{letter}b')}"
    text, count = re.subn(rf"(?m)^{name} = .*$", lambda _: line, text)
    if not count:
        text = text.replace("[scan]\n", f"[scan]\n{line}\n") if key == "scan.core" else f"{line}\n{text}"
    found = [one for one in refused(parse_piece, text) if one.code == "reading.unshowable-text"]
    assert [one.about[0].name for one in found] == [key]
    assert found[0].value("place") == 2


@pytest.mark.parametrize(
    "words",
    [
        ["check", "a\x1b[31m\nb.toml"],
        ["check", "a\udcff.toml"],
        ["check", "a" * 5000],
        ["check", "a" * 5000 + ".toml"],
        ["check", "a b " * 5000],
        ["new", "q.toml", "--from", "a\x1b[31m\n" * 99],
        ["check", "bass-4", "--units", "a\x1b[31m\n" * 99],
        ["explain", "a\x1b[31m\n" * 99],
        ["a\x1b[31m\n" * 99],
        ["check", "--a\x1b[31m\n" + "a" * 5000],
        ["make", "bass-4", "--for", "trace," + "a\x1b[31m\n" * 99],
        ["make", "bass-4", "--nozzle", "a\x1b[31m\n" * 99],
        ["make", "bass-4", "--nozzle", "٠.٤"],
        ["heights", "bass-4", "--frets", "1-999999999"],
        ["heights", "bass-4", "--frets", "9" * 5000],
        ["heights", "bass-4", "--frets", "١-١٢"],
        ["heights", "bass-4", "--force", "٣"],
        ["coupon", "bass-4", "--string=١"],
        ["tension", "bass-4", "--suggest", "١٨٠ N"],
        ["stock", "bass-4", "--piece", "shin-bone", "--count", "١"],
        ["stock", "bass-4", "--piece", "shin-bone", "--grain", "١"],
        ["make", "...toml"],
        ["make", "..toml"],
        ["stock", "bass-4", "--piece", "...toml"],
        ["check", "pipe"],
        ["check", "/dev/zero"],
        ["stock", "bass-4", "--piece", "pipe"],
        ["new", "dangling", "--from", "bass-4"],
        ["new", "a\udcff.toml", "--from", "bass-4"],
        ["make", "bass-4", "--for", "trace", "-o", "a\udcff"],
        ["coupon", "bass-4", "-o", "a\nb"],
        ["stock", "bass-4", "--piece", "shin-bone", "-o", "a\x1b"],
        ["heights", "bass-4", "--plot", "a\udcff.svg"],
        ["dryfit", "a\udcff.toml"],
        ["dryfit", "mine.toml", "--plot", "a\udcff.svg"],
    ],
)
def test_a_hostile_argument_is_refused_and_nothing_is_written(words: list[str], tmp_path: Path) -> None:
    for name in ("...toml", "..toml"):
        (tmp_path / name).write_bytes(kind_path("bass-4").read_bytes())
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "dangling").symlink_to(tmp_path / "nowhere")
    before = sorted(tmp_path.iterdir())
    done = run(*words, cwd=tmp_path)
    assert done.returncode == 2
    tame(done)
    assert len(done.stderr) < 700
    assert sorted(tmp_path.iterdir()) == before


def test_a_folder_named_like_a_kind_hides_no_kind(tmp_path: Path) -> None:
    (tmp_path / "bass-4").mkdir()
    assert run("check", "bass-4", cwd=tmp_path).returncode == 0


def test_a_link_that_leads_nowhere_is_told(tmp_path: Path) -> None:
    (tmp_path / "out").symlink_to(tmp_path / "nowhere")
    done = run("make", "bass-4", "--for", "trace", "-o", "out", cwd=tmp_path)
    assert (done.returncode, done.stderr) == (1, "out: is a link that leads nowhere; nothing was written there\n")


@pytest.mark.parametrize("stop", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_what_stops_a_run_leaves_the_older_set_whole(tmp_path: Path, monkeypatch, stop: signal.Signals) -> None:
    folder = tmp_path / "output" / "bass-4"
    folder.mkdir(parents=True)
    (folder / "nut.json").write_text("older")
    monkeypatch.setattr(jobs_run, "_proof", lambda file, path: os.kill(os.getpid(), stop))
    before = signal.signal(stop, signal.SIG_DFL)  # whoever runs the tests may have it ignored, as nohup does
    try:
        done = run("make", "bass-4", "--for", "trace", cwd=tmp_path)
    finally:
        signal.signal(stop, before)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == "stopped; files that were not finished were left as they were\n"
    assert {path.name: path.read_text() for path in folder.iterdir()} == {"nut.json": "older"}


@pytest.mark.parametrize("closed", [">&-", ">&- 2>&-", "<&- >&- 2>&-"])
def test_a_closed_stream_is_no_file_of_ours(tmp_path: Path, closed: str) -> None:
    command = [sys.executable, "-c", CODE, "new", "mine.toml", "--from", "bass-4"]
    done = subprocess.run(["sh", "-c", f'"$@" {closed}', "sh", *command], cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 0
    assert "Traceback" not in done.stderr
    assert (tmp_path / "mine.toml").read_bytes() == kind_path("bass-4").read_bytes()


@pytest.mark.parametrize("encoding", cases("ascii", slow=["cp1252"]))
def test_a_stream_of_few_letters_takes_every_result(tmp_path: Path, encoding: str) -> None:
    (tmp_path / "a.toml").write_text(text_of("bass-4", {"title": "木 Übung"}), "utf-8")
    as_json = in_a_process("check", "a.toml", "--json", cwd=tmp_path, PYTHONIOENCODING=encoding)
    assert json.loads(as_json.stdout)["title"] == "木 Übung"
    (tmp_path / "a.toml").write_text(text_of("bass-4", {"title": "木"}), "utf-8")
    shown = in_a_process("stages", "a.toml", cwd=tmp_path, PYTHONIOENCODING=f"{encoding}:strict", LC_ALL="C")
    assert (as_json.returncode, shown.returncode, shown.stderr) == (0, 0, "")
