"""Writing files whole or not at all."""

import contextlib
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path


def write_all(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write a set of files into a folder: every one of them or, on any failure, none.

    folder  : made where it does not exist
    files   : name -> content
    returns : the paths written, in order
    raises  : OSError; what stood there before still stands, nothing half-written stays

    Each content first goes to a temporary file beside its place; only when all of them are
    on the disk are they moved, one after the other, each move being atomic.
    """
    made = _make_folder(folder)
    waiting: list[tuple[str, Path]] = []
    try:
        for name, content in files.items():
            waiting.append((_write_beside(folder / name, content), folder / name))
    except BaseException:
        for temporary, _ in waiting:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
        for new in made:
            with contextlib.suppress(OSError):
                new.rmdir()
        raise
    for temporary, path in waiting:
        os.replace(temporary, path)
    return [path for _, path in waiting]


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
