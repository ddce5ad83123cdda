"""Writing files whole or not at all."""

import contextlib
import os
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path


class Staged:
    """Files on the disk beside their places, not yet moved there."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._made = _make_folder(folder)
        self._waiting: dict[str, str] = {}

    def add(self, name: str, content: bytes) -> Path:
        """Write a file beside its place; the path to read it back from."""
        self._waiting[name] = _write_beside(self.folder / name, content)
        return Path(self._waiting[name])

    def place(self) -> list[Path]:
        """Move every file to its place, one after the other, each move being atomic."""
        for name, temporary in self._waiting.items():
            os.replace(temporary, self.folder / name)
        return [self.folder / name for name in self._waiting]

    def discard(self) -> None:
        """Take everything away again, a new folder too."""
        for temporary in self._waiting.values():
            with contextlib.suppress(OSError):
                os.unlink(temporary)
        for new in self._made:
            with contextlib.suppress(OSError):
                new.rmdir()


@contextlib.contextmanager
def staged(folder: Path) -> Iterator[Staged]:
    """Write a set of files, look at them, then let them all be placed; on any failure, none.

    folder : made where it does not exist
    raises : OSError; what stood there before still stands, nothing half-written stays
    """
    stage = Staged(folder)
    try:
        yield stage
    except BaseException:
        stage.discard()
        raise
    stage.place()


def write_all(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write a set of files into a folder: every one of them or, on any failure, none.

    folder  : made where it does not exist
    files   : name -> content
    returns : the paths written, in order
    raises  : OSError; what stood there before still stands, nothing half-written stays
    """
    with staged(folder) as stage:
        for name, content in files.items():
            stage.add(name, content)
    return [folder / name for name in files]


def _make_folder(folder: Path) -> list[Path]:
    """Make a folder and its parents; the ones that were made, innermost first."""
    missing = []
    for parent in (folder, *folder.parents):
        if parent.exists():
            break
        missing.append(parent)
    folder.mkdir(parents=True, exist_ok=True)
    return missing


def _write_beside(path: Path, content: bytes) -> str:
    if path.is_dir():
        raise IsADirectoryError(21, "a folder stands where a file should go", str(path))
    handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, 0o644)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise
    return temporary
