"""A mesh file into arrays, however hostile: what it costs in time and memory is bounded."""

import json
import os
import stat
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from nutgen.errors import Fault, SpecFaults
from nutgen.geometry.mesh import Mesh
from nutgen.spec.piece_tables import MESH_SUFFIXES
from nutgen.stock.scan.header import LARGEST_FILE

PATIENCE = 120.0
"""Seconds by the clock after which the reading is given up."""

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
"""mm in one."""


def read_mesh(path: Path, units: str, *, key: str = "scan.file") -> tuple[Mesh, tuple[str, ...]]:
    """Read a mesh, in the units that the maker states: as it stands in the file, in mm, and notes for the maker.

    path  : STL, OBJ, PLY, 3MF or GLB
    units : a key of UNITS
    key   : the line of the piece file that names it
    raises: SpecFaults that name the file: what was found, what is allowed, the cure

    The file is read in a process of its own with bounded time and memory (the latter where the
    system can bound it), which fetches nothing and opens no other file.
    """
    kind = _check_file(path, key)
    with tempfile.TemporaryFile() as answer:
        command = [sys.executable, "-P", "-m", "nutgen.stock.scan.child", str(path.absolute()), kind]
        child = subprocess.Popen(
            command, stdin=subprocess.DEVNULL, stdout=answer, stderr=subprocess.DEVNULL, env=_environment()
        )
        try:
            ended = child.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            raise refusal(path, f"took more than {PATIENCE:.0f} s to read: thin it out to 200,000 triangles") from None
        finally:
            child.kill()
            child.wait()
        answer.seek(0)
        told = json.loads(answer.readline(10_000) or b"{}")
        if "refused" in told:
            raise refusal(path, told["refused"])
        if ended != 0 or "vertices" not in told:
            words = "takes more time or memory to read than a mesh may: thin it out to 200,000 triangles"
            raise refusal(path, f"{words} (the reading ended with {ended})")
        vertices = np.fromfile(answer, np.float64, 3 * told["vertices"]).reshape(-1, 3)
        triangles = np.fromfile(answer, np.int64, 3 * told["triangles"]).reshape(-1, 3)
    notes = list[str]()
    if told["unit"] and told["unit"] != units:
        notes.append(f'{path.name} says that its unit is "{told["unit"]}"; it was read in "{units}", as stated.')
    return Mesh(vertices * UNITS[units], triangles), tuple(notes)


def refusal(path: Path, words: str, *, key: str = "") -> SpecFaults:
    """A refusal of a mesh file; key names the line of the piece file that is at fault."""
    return SpecFaults(str(path), [Fault(key, words)])


def _check_file(path: Path, key: str) -> str:
    """The kind of a mesh file, by its name; raises SpecFaults where there is no such file to read."""
    suffix = path.suffix.lower()
    if suffix not in MESH_SUFFIXES:
        raise refusal(path, f"is no mesh by its name; read are {', '.join(MESH_SUFFIXES)}")
    try:
        found = path.stat()
        if stat.S_ISDIR(found.st_mode):
            raise refusal(path, "is a folder; name the mesh file in it")
        if not stat.S_ISREG(found.st_mode):
            raise refusal(path, "is not a plain file")
        with path.open("rb"):
            pass
    except FileNotFoundError:
        raise refusal(path, _missing_words(path), key=key) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise refusal(path, f"cannot be read: {reason[:1].lower()}{reason[1:]}") from None
    if found.st_size == 0:
        raise refusal(path, "is empty: save the mesh again")
    if found.st_size > LARGEST_FILE:
        words = (
            f"has {found.st_size / 1e6:.0f} MB; at most {LARGEST_FILE // 10**6} MB: thin it out to 200,000 triangles"
        )
        raise refusal(path, words)
    return suffix[1:]


def _missing_words(path: Path) -> str:
    try:
        near = sorted(entry.name for entry in path.parent.iterdir() if entry.suffix.lower() in MESH_SUFFIXES)[:6]
    except OSError:
        near = []
    beside = f"beside it are {', '.join(near)}" if near else "put the mesh beside the piece file"
    return f"no such file; {beside}"


def _environment() -> dict[str, str]:
    """The child finds the modules that this process finds, and keeps to one thread."""
    one_thread = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    places = os.pathsep.join(str(Path(place).absolute()) for place in sys.path if place)
    return {**os.environ, **one_thread, "PYTHONPATH": places}
