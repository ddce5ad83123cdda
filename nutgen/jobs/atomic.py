"""Writing files whole or not at all."""

import contextlib
import os
import signal
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path


class Staged:
    """Files on the disk beside their places, not yet moved there.

    durable : wait until the disk itself holds each file; files that can be made again need not
    """

    def __init__(self, folder: Path, *, durable: bool) -> None:
        self.folder, self._durable = folder, durable
        self._made = _make_folder(folder)
        self._waiting: dict[str, str] = {}

    def add(self, name: str, content: bytes) -> Path:
        """Write a file beside its place; the path to read it back from."""
        self._waiting[name] = _write_beside(self.folder / name, content, durable=self._durable)
        return Path(self._waiting[name])

    def place(self) -> list[Path]:
        """Move every file to its place, one after the other, each move being atomic."""
        with _uninterrupted():
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
def staged(folder: Path, *, durable: bool = False) -> Iterator[Staged]:
    """Write a set of files, look at them, then let them all be placed; on any failure, none.

    folder  : made where it does not exist
    durable : as in `Staged`
    raises  : OSError; what stood there before still stands, nothing half-written stays
    """
    stage = Staged(folder, durable=durable)
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
    with staged(folder, durable=True) as stage:
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


@contextlib.contextmanager
def _uninterrupted() -> Iterator[None]:
    """Let an interrupt wait, so that a set is not left half old and half new."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT, signal.SIGTERM})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _write_beside(path: Path, content: bytes, *, durable: bool) -> str:
    if path.is_dir():
        raise IsADirectoryError(21, "a folder stands where a file should go", str(path))
    handle, temporary = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            if durable:
                os.fsync(file.fileno())
        os.chmod(temporary, 0o644)
    except BaseException as error:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        if isinstance(error, OSError) and not error.filename:
            error.filename = str(path)  # a full disk does not say for which file
        raise
    return temporary
