"""Writing files whole or not at all.

A set is written into a folder of its own beside its places, which is renamed when all of it is there: from then on
it is to be placed, whatever happens. Where a run is ended in between, the next one into the same folder places what
was whole, and takes away what was not; a lock tells it from the folder of a run that still goes on.
"""

import contextlib
import errno
import os
import re
import shutil
import signal
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from nutgen.errors import CannotBeMade
from nutgen.finding import refusal
from nutgen.process import WRITTEN

try:
    import fcntl
except ImportError:  # a system without such locks: what an ended run left there stays
    fcntl = None  # type: ignore[assignment]

_BEGUN, _WHOLE, _GONE = ".nutgen-", ".whole", "taken-away"
"""Names of the folder beside, of one that is whole, and in it of the folder that names files to be taken away."""

_OURS = re.compile(rf"\{_BEGUN}\w{{8}}(\{_WHOLE})?")


class Staged:
    """Files on the disk beside their places, not yet moved there.

    durable : wait until the disk itself holds each file; files that can be made again need not
    mended  : files of an earlier run that was ended while it placed them, which are in their places now
    """

    def __init__(self, folder: Path, *, durable: bool) -> None:
        self.folder, self._durable, self._names = folder, durable, list[str]()
        with contextlib.ExitStack() as undo:
            with _uninterrupted():
                self._made = _make_folder(folder)
                undo.callback(_remove_empty, self._made)
                with _locked(folder):
                    self.mended = tuple(_mend(folder))
                    self._beside = Path(tempfile.mkdtemp(prefix=_BEGUN, dir=folder))
                    self._held = contextlib.ExitStack()
                    self._held.enter_context(_locked(self._beside))
                undo.callback(self.discard)
            undo.pop_all()

    def add(self, name: str, content: bytes) -> Path:
        """Write a file beside its place; the path to read it back from."""
        path, place = self._beside / name, self.folder / name
        if place.is_dir():
            raise IsADirectoryError(errno.EISDIR, "a folder stands where a file should go", str(place))
        try:
            with path.open("wb") as file:
                file.write(content)
                file.flush()
                if self._durable:
                    os.fsync(file.fileno())
        except OSError as error:
            error.filename = str(place)  # a full disk does not say for which file
            raise
        self._names.append(name)
        return path

    def place(self, *, without: Iterable[str] = ()) -> list[Path]:
        """Move every file to its place, each move being atomic; files of an earlier set are taken away first.

        raises : OSError, nothing being changed; CannotBeMade where the first file but not the last found its place
        """
        for name in without:
            (self._beside / _GONE).mkdir(exist_ok=True)
            (self._beside / _GONE / name).touch()
        whole = self._beside.with_name(f"{self._beside.name}{_WHOLE}")
        with _uninterrupted(), self._held, _locked(self.folder):
            os.replace(self._beside, whole)
            try:
                _place(whole, self.folder)
            except OSError as error:
                name, reason = str(error.filename2 or error.filename), (error.strerror or str(error)).lower()
                raise CannotBeMade([refusal("files.not-all-placed", name=name, reason=reason)]) from error
        WRITTEN.append(str(self.folder))
        return [self.folder / name for name in self._names]

    def discard(self) -> None:
        """Take everything away again, a new folder too."""
        with _uninterrupted(), self._held:
            shutil.rmtree(self._beside, ignore_errors=True)
            _remove_empty(self._made)


@contextlib.contextmanager
def staged(folder: Path, *, durable: bool = False) -> Iterator[Staged]:
    """Write a set of files and look at them; it is for the block to place them. On any failure before that, none is.

    folder  : made where it does not exist
    durable : as in `Staged`
    raises  : OSError; what stood there before still stands, nothing half-written stays
    """
    stage = Staged(folder, durable=durable)
    try:
        yield stage
    finally:
        stage.discard()  # of what was placed nothing is left to discard


def mend(folder: Path) -> tuple[str, ...]:
    """Bring to an end what ended runs have begun in a folder; names of the files that were placed. Raises OSError."""
    with _uninterrupted(), _locked(folder):
        return tuple(_mend(folder))


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
        return stage.place()


def _make_folder(folder: Path) -> list[Path]:
    """Make a folder and its parents; the ones that were made, innermost first."""
    missing = []
    for parent in (folder, *folder.parents):
        if parent.exists():
            break
        if parent.is_symlink():
            raise FileNotFoundError(errno.ENOENT, "is a link that leads nowhere", str(parent))
        missing.append(parent)
    folder.mkdir(parents=True, exist_ok=True)
    return missing


def _remove_empty(folders: Iterable[Path]) -> None:
    for folder in folders:
        with contextlib.suppress(OSError):
            folder.rmdir()


@contextlib.contextmanager
def _uninterrupted() -> Iterator[None]:
    """Let signals wait, so that a set is not left half old and half new."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, signal.valid_signals())
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextlib.contextmanager
def _locked(folder: Path, *, wait: bool = True) -> Iterator[bool]:
    """Hold a folder's lock, which ends with the process; whether it is held."""
    handle, held = -1, False
    try:
        if fcntl is not None:
            with contextlib.suppress(OSError):  # not every file system has locks
                handle = os.open(folder, os.O_RDONLY)
                fcntl.flock(handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
                held = True
        yield held
    finally:
        if handle >= 0:
            os.close(handle)


def _mend(folder: Path) -> Iterator[str]:
    """Bring to an end what ended runs have begun in a folder; names of the files that were placed."""
    with os.scandir(folder) as entries:
        left = sorted(one.path for one in entries if _OURS.fullmatch(one.name) and one.is_dir(follow_symlinks=False))
    for path in map(Path, left):
        with _locked(path, wait=False) as dead:
            if dead and path.name.endswith(_WHOLE):
                yield from _place(path, folder)
            elif dead:
                shutil.rmtree(path)


def _place(whole: Path, folder: Path) -> list[str]:
    """Take away and move to their places what a folder beside names and holds; names of what was moved."""
    gone = whole / _GONE
    for name in os.listdir(gone) if gone.is_dir() else ():
        (folder / name).unlink(missing_ok=True)
    names = sorted(name for name in os.listdir(whole) if name != _GONE)
    for name in names:
        os.replace(whole / name, folder / name)
    shutil.rmtree(whole)
    return names
