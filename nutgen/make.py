"""From a solved nut to a set of files: what each purpose wants, made, read back and written whole."""

import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from nutgen.export.stamp import Stamp
from nutgen.export.whole import write_all
from nutgen.nut import Nut
from nutgen.record import nut_record
from nutgen.spec.read import spec_hash
from nutgen.spec.tables import Spec

Purpose = Literal["trace", "print", "mill"]
PURPOSES: tuple[Purpose, ...] = ("trace", "print", "mill")


@dataclass(frozen=True, slots=True)
class Made:
    """A set of files on the disk, and what is said of them in nut.json."""

    folder: Path
    files: tuple[tuple[str, int], ...]
    record: dict[str, Any]


def make(spec: Spec, nut: Nut, *, purposes: Iterable[Purpose], paper: str, folder: Path) -> Made:
    """Make every file that the purposes want and write them as one set.

    raises : OSError where the folder cannot be written; nothing is then left half-done
    """
    wanted = set(purposes)
    stamp = Stamp(spec.title, spec_hash(spec))
    files: dict[str, bytes] = {}
    volume = None
    if wanted & {"print", "mill"}:
        solid_files, volume = _solid_files(nut, stamp, wanted)
        files |= solid_files
    if wanted & {"trace", "mill"}:
        files |= _paper_files(nut, stamp, paper, wanted)
    record = nut_record(spec, nut, volume=volume)
    record["files"] = {name: _digest(content) for name, content in sorted(files.items())}
    files["nut.json"] = (json.dumps(record, indent=1, ensure_ascii=False) + "\n").encode()
    write_all(folder, files)
    return Made(folder, tuple((name, len(content)) for name, content in files.items()), record)


def _digest(content: bytes) -> dict[str, Any]:
    return {"bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}


def _paper_files(nut: Nut, stamp: Stamp, paper: str, wanted: set[Purpose]) -> dict[str, bytes]:
    from nutgen.export.dxf import template_dxf

    files = {"template.dxf": template_dxf(nut, stamp)}
    if "trace" in wanted:
        from nutgen.export.pdf import template_pdf
        from nutgen.export.svg import template_svg

        files["template.pdf"] = template_pdf(nut, stamp, paper=paper)
        files["template.svg"] = template_svg(nut, stamp, paper=paper)
    return files


def _solid_files(nut: Nut, stamp: Stamp, wanted: set[Purpose]) -> tuple[dict[str, bytes], float]:
    from nutgen.export.picture import png_bytes
    from nutgen.export.step import step_bytes
    from nutgen.export.stl import stl_bytes
    from nutgen.model.mesh import mesh_of
    from nutgen.model.solid import nut_solid

    solid = nut_solid(nut.rough())
    mesh = mesh_of(solid)
    files = {"nut.step": step_bytes(solid, stamp), "nut.png": png_bytes(mesh, stamp)}
    if "print" in wanted:
        files["nut.stl"] = stl_bytes(mesh, stamp)
    return files, float(solid.Volume())
