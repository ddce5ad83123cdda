"""Sets of files are written whole or not at all."""

import errno
import os
from pathlib import Path

import pytest

from nutgen.jobs import atomic
from nutgen.jobs.atomic import write_all


def everything_in(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_writes_a_set_and_replaces_an_older_one(tmp_path: Path) -> None:
    write_all(tmp_path / "a" / "b", {"one": b"1", "two": b"2"})
    write_all(tmp_path / "a" / "b", {"one": b"new"})
    assert everything_in(tmp_path / "a" / "b") == {"one": b"new", "two": b"2"}


def test_files_can_be_read_by_others(tmp_path: Path) -> None:
    (path,) = write_all(tmp_path, {"one": b"1"})
    assert path.stat().st_mode & 0o777 == 0o644


@pytest.mark.parametrize("failure", [OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt()])
def test_failure_in_the_middle_leaves_all_as_it_was(tmp_path: Path, monkeypatch, failure: BaseException) -> None:
    write_all(tmp_path, {"one": b"good", "two": b"good"})
    real, calls = os.fsync, []

    def failing(handle: int) -> None:
        calls.append(handle)
        if len(calls) == 2:
            raise failure
        real(handle)

    monkeypatch.setattr(atomic.os, "fsync", failing)
    with pytest.raises(type(failure)):
        write_all(tmp_path, {"one": b"bad", "two": b"bad", "three": b"bad"})
    assert everything_in(tmp_path) == {"one": b"good", "two": b"good"}


def test_failure_takes_its_new_folder_away_again(tmp_path: Path, monkeypatch) -> None:
    def failing(handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(atomic.os, "fsync", failing)
    with pytest.raises(OSError, match="No space"):
        write_all(tmp_path / "new" / "folder", {"one": b"1"})
    assert list(tmp_path.iterdir()) == []


def test_folder_in_the_way_is_no_file(tmp_path: Path) -> None:
    (tmp_path / "one").mkdir()
    with pytest.raises(IsADirectoryError):
        write_all(tmp_path, {"zero": b"0", "one": b"1"})
    assert [path.name for path in tmp_path.iterdir()] == ["one"]
