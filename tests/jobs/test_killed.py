"""A run that is killed, at every step that touches the disk: the next one finds the old set or the new one, or mends.

The steps are those that Python's audit events tell of (PEP 578): every file that is opened to be written, every move,
every removal, every folder made; beside them each wait for the disk, which leaves half of a file.
"""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from nutgen.jobs import atomic
from nutgen.jobs.atomic import Staged, staged
from tests.calling import run
from tests.cases import cases
from tests.jobs.test_atomic import everything_in

OLD = {"a": b"1" * 9, "b": b"1", "plan": b"1", "record": b"1"}
NEW = {"a": b"2", "b": b"2" * 9, "c": b"2", "record": b"2"}
MOST = 200  # steps; far more than there are


def write(folder: Path, files: dict[str, bytes]) -> Staged:
    """Place a set, and take away what of the other set it does not have."""
    with staged(folder, durable=True) as stage:
        for name, content in files.items():
            stage.add(name, content)
        stage.place(without={*OLD, *NEW} - {*files})
    return stage


def killed_at(step: int, work: Callable[[], object]) -> bool:
    """Do some work in a copy of this process that is killed before its step of a number; whether it came so far."""
    child = os.fork()
    if child:
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) != 0
    left = step

    def count(handle: int = -1) -> None:
        nonlocal left
        left -= 1
        if left == 0:
            if handle >= 0:
                os.ftruncate(handle, os.fstat(handle).st_size // 2)
            os._exit(9)

    def audit(event: str, about: tuple[object, ...]) -> None:
        writes = event == "open" and isinstance(about[2], int) and about[2] & (os.O_WRONLY | os.O_RDWR)
        if writes or event in ("os.mkdir", "os.rename", "os.remove", "os.rmdir"):
            count()

    try:
        atomic.os.fsync = count  # type: ignore[assignment]
        sys.addaudithook(audit)
        work()
    finally:
        os._exit(0)


def steps(work: Callable[[], object], prepare: Callable[[], object]) -> Iterator[int]:
    """Every step of some work, which has been killed there."""
    for step in range(1, MOST):
        prepare()
        if not killed_at(step, work):
            return
        yield step
    raise AssertionError("the work never ended")


def seen(folder: Path) -> dict[str, bytes]:
    return {name: data for name, data in _files(folder).items() if not name.startswith(".")}


def _files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()} if folder.exists() else {}


@pytest.mark.parametrize("before", [OLD, {}])
def test_the_next_run_finds_one_set_and_nothing_beside_it(tmp_path: Path, before: dict[str, bytes]) -> None:
    folder, told = tmp_path / "set", []

    def prepare() -> None:
        atomic.shutil.rmtree(folder, ignore_errors=True)
        if before:
            write(folder, before)

    for _ in steps(lambda: write(folder, NEW), prepare):
        mixed = seen(folder) not in (before, NEW)
        with staged(folder) as stage:
            pass
        assert stage.mended or not mixed
        assert seen(folder) in (before, NEW)
        assert not list(folder.glob(".*") if folder.exists() else ())
        told.append(bool(stage.mended))
    assert len(told) > 15
    assert any(told)


@pytest.mark.parametrize("first", cases(12, slow=[step for step in range(1, 24) if step != 12]))
def test_a_run_killed_while_it_mends_is_mended_by_the_one_after(tmp_path: Path, first: int) -> None:
    folder = tmp_path / "set"

    def prepare() -> None:
        atomic.shutil.rmtree(folder, ignore_errors=True)
        write(folder, OLD)
        killed_at(first, lambda: write(folder, NEW))

    def look() -> None:
        with staged(folder):
            pass

    for _ in steps(look, prepare):
        look()
        assert seen(folder) in (OLD, NEW)
        assert not list(folder.glob(".*"))


def test_a_file_that_is_there_since_a_run_was_killed_has_what_came_with_it(tmp_path: Path) -> None:
    words = ("new", "bone.toml", "--from", "shin-bone-scan")
    whole = run(*words, cwd=tmp_path) and everything_in(tmp_path)
    for path in tmp_path.iterdir():
        path.unlink()
    for _ in steps(lambda: run(*words, cwd=tmp_path), lambda: None):
        run(*words, cwd=tmp_path)
        assert {path.name: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()} == whole
        assert not list(tmp_path.glob(".*"))
        for path in tmp_path.iterdir():
            path.unlink()


@pytest.mark.slow
@pytest.mark.parametrize(
    ("folder", "words"),
    [
        ("bass-4", ["coupon", "bass-4", "--string", "1"]),
        ("bass-4-in-shin-bone", ["stock", "bass-4", "--piece", "shin-bone"]),
    ],
)
def test_what_an_ended_run_left_is_told(tmp_path: Path, folder: str, words: list[str]) -> None:
    left = tmp_path / "output" / folder / ".nutgen-abcdefgh.whole"
    left.mkdir(parents=True)
    (left / "early").write_bytes(b"1")
    assert "placed now: early" in " ".join(run(*words, cwd=tmp_path).stdout.split())


def test_names_that_are_not_ours_and_runs_that_go_on_are_left_alone(tmp_path: Path) -> None:
    for name in (".nutgen-short", ".nutgen-abcdefgh.other", "nutgen-abcdefgh", ".nutgen-abcdefgi.whole.x"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "mine").write_bytes(b"1")
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "mine").write_bytes(b"1")
    (tmp_path / ".nutgen-abcdefgh.whole").symlink_to(elsewhere)
    with staged(tmp_path) as going:
        going.add("late", b"1")
        write(tmp_path / ".", {"early": b"1"})
        assert going.place() == [tmp_path / "late"]
    assert everything_in(elsewhere) == {"mine": b"1"}
    assert {path.name for path in tmp_path.iterdir() if path.is_file()} == {"early", "late"}
    assert len([path for path in tmp_path.iterdir() if path.is_dir()]) == 6


def test_a_file_that_finds_no_place_is_told_and_placed_by_the_next_run(tmp_path: Path, monkeypatch) -> None:
    write(tmp_path, OLD)
    real = os.replace

    def failing(source: Path, to: Path) -> None:
        if Path(to).name == "b":
            raise PermissionError(13, "Permission denied", str(source), None, str(to))
        real(source, to)

    with monkeypatch.context() as patch:
        patch.setattr(atomic.os, "replace", failing)
        with pytest.raises(atomic.CannotBeMade, match=r"files\.not-all-placed.*/b, reason permission denied"):
            write(tmp_path, NEW)
    with staged(tmp_path) as stage:
        pass
    assert stage.mended == ("b", "c", "record")
    assert everything_in(tmp_path) == NEW


@pytest.mark.skipif(sys.platform != "linux", reason="the system has no such bond")
@pytest.mark.parametrize("work", ["beside", "scan"])
def test_children_end_with_their_parent(tmp_path: Path, work: str) -> None:
    fifo = tmp_path / "never.stl"
    os.mkfifo(fifo)
    code = {
        "beside": "from nutgen.jobs import beside; import time\n"
        "beside._can_copy = lambda: True\n"
        "with beside.beside([lambda: (print(os.getpid(), flush=True), time.sleep(60))]): time.sleep(60)",
        "scan": "import subprocess, time\n"
        f"command = [sys.executable, '-m', 'nutgen.stock.scan.child', {str(fifo)!r}, 'stl']\n"
        "print(subprocess.Popen(command).pid, flush=True); time.sleep(60)",
    }[work]
    command = [sys.executable, "-c", f"import os, sys\n{code}"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as parent:
        assert parent.stdout
        child = int(parent.stdout.readline())
        if work == "scan":
            with fifo.open("wb"):  # until it is read: the child has begun
                parent.kill()
                assert _ended(child)
            return
        parent.kill()
        assert _ended(child)


def _ended(process: int) -> bool:
    for _ in range(100):
        try:
            state = Path(f"/proc/{process}/stat").read_text("ascii").rpartition(")")[2].split()[0]
        except (FileNotFoundError, ProcessLookupError):
            return True
        if state == "Z":
            return True
        time.sleep(0.1)
    os.kill(process, signal.SIGKILL)
    return False
