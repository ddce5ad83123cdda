"""A mesh file into arrays, however hostile: what it costs in time and memory is bounded."""

import json
import os
import stat
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from nutgen.errors import SpecFaults
from nutgen.finding import Finding, Subject, Value, of_key, refusal, warning
from nutgen.geometry.mesh import Array, Ints, Mesh
from nutgen.spec.piece import MESH_SUFFIXES
from nutgen.stock.scan.header import LARGEST_FILE

PATIENCE = 120.0
"""Seconds by the clock after which the reading is given up."""

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
"""mm in one."""


def read_mesh(path: Path, units: str, *, key: str = "scan.file") -> tuple[Mesh, tuple[Finding, ...]]:
    """Read a mesh, in the units that the maker states: as it stands in the file, in mm, and notes for the maker.

    path  : STL, OBJ, PLY, 3MF or GLB
    units : a key of UNITS
    key   : the line of the piece file that names it
    raises: SpecFaults that name the file: what was found, what is allowed, the cure

    The file is read in a process of its own with bounded time and memory (the latter where the
    system can bound it), which fetches nothing and opens no other file.
    """
    vertices, triangles, unit = read_apart(path, _check_file(path, key))
    found = Mesh(vertices * UNITS[units], triangles)
    if unit in ("", units):
        return found, ()
    return found, (warning("scan.other-unit", file=path.name, says=unit, stated=units),)


def read_apart(path: Path, kind: str) -> tuple[Array, Ints, str]:
    """What `child.read` finds in a file, in a process of its own: vertices, triangles, the unit that it states."""
    with tempfile.TemporaryFile() as answer:
        command = [sys.executable, "-P", "-m", "nutgen.stock.scan.child", str(path.absolute()), kind]
        child = subprocess.Popen(
            command, stdin=subprocess.DEVNULL, stdout=answer, stderr=subprocess.DEVNULL, env=_environment()
        )
        try:
            ended = child.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            raise refused(path, "scan.takes-time", seconds=int(PATIENCE)) from None
        finally:
            child.kill()
            child.wait()
        answer.seek(0)
        told = json.loads(answer.readline(10_000) or b"{}")
        if "refused" in told:
            raise refused(path, told["refused"], **told["values"])
        if ended != 0 or "vertices" not in told:
            raise refused(path, "scan.takes-too-much", ended=ended)
        vertices = np.fromfile(answer, np.float64, 3 * told["vertices"]).reshape(-1, 3)
        triangles = np.fromfile(answer, np.int64, 3 * told["triangles"]).reshape(-1, 3)
    return vertices, triangles, told["unit"]


def refused(path: Path, code: str, *about: Subject, **values: Value) -> SpecFaults:
    """A refusal of a mesh file, or of the line of the piece file that names it."""
    return SpecFaults(str(path), [refusal(code, *about, **values)])


def _check_file(path: Path, key: str) -> str:
    """The kind of a mesh file, by its name; raises SpecFaults where there is no such file to read."""
    suffix = path.suffix.lower()
    if suffix not in MESH_SUFFIXES:
        raise refused(path, "scan.other-form", read=", ".join(MESH_SUFFIXES))
    try:
        found = path.stat()
        if stat.S_ISDIR(found.st_mode):
            raise refused(path, "scan.folder")
        if not stat.S_ISREG(found.st_mode):
            raise refused(path, "scan.no-plain-file")
        with path.open("rb"):
            pass
    except FileNotFoundError:
        raise refused(path, "scan.missing", of_key(key), near=_near(path)) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise refused(path, "scan.cannot-be-opened", reason=f"{reason[:1].lower()}{reason[1:]}") from None
    if found.st_size == 0:
        raise refused(path, "scan.empty")
    if found.st_size > LARGEST_FILE:
        raise refused(path, "scan.too-large", bytes=found.st_size, most=LARGEST_FILE)
    return suffix[1:]


def _near(path: Path) -> tuple[str, ...]:
    """Meshes that lie where this one was looked for."""
    try:
        return tuple(sorted(entry.name for entry in path.parent.iterdir() if entry.suffix.lower() in MESH_SUFFIXES)[:6])
    except OSError:
        return ()


def _environment() -> dict[str, str]:
    """The child finds the modules that this process finds, and keeps to one thread."""
    one_thread = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    places = os.pathsep.join(str(Path(place).absolute()) for place in sys.path if place)
    return {**os.environ, **one_thread, "PYTHONPATH": places}
