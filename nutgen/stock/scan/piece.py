"""The piece by scan: a mesh file read, mended, measured and brought into the piece's own frame."""

from pathlib import Path

import numpy as np

from nutgen.errors import SpecFaults
from nutgen.finding import Finding, Value, note
from nutgen.geometry.mesh import Array, Mesh
from nutgen.geometry.slices import slices
from nutgen.spec.piece import CaliperCheck, PieceSpec, Scan
from nutgen.stock.marks import back_line, first_end
from nutgen.stock.piece import Piece
from nutgen.stock.scan.file import UNITS, read_mesh
from nutgen.stock.scan.frame import Frame, find_frame
from nutgen.stock.scan.header import MeshRefused
from nutgen.stock.scan.mend import Mended, mend, split
from nutgen.stock.scan.wall import Cap, caps_of, check_core, core_behind_wall

SHORTEST, LARGEST = 15.0, 2000.0
"""Longest side of a piece [mm]."""

WITHIN, WITHIN_SHARE = 0.5, 0.02
"""How far a scan may miss a caliper reading: the larger of the two [mm], share."""


def piece_from_scan(spec: PieceSpec, folder: Path) -> tuple[Piece, tuple[Finding, ...]]:
    """The piece that a scan shows, and what was mended or assumed.

    folder : where the mesh files of the piece file lie
    raises : SpecFaults that name the mesh: a file that cannot be read, a surface that is not closed,
             wrong units, a core outside the skin
    """
    scan = spec.scan
    if scan is None:
        raise ValueError("a piece by calipers has no scan")
    path = folder / scan.file
    skin, frame, skin_notes = _skin(scan, path)
    caps, cap_notes = caps_of(skin, length=frame.length, ends=(spec.ends.first, spec.ends.last))
    core, core_notes = _core(scan, folder, skin, frame, caps)
    piece = Piece(
        title=spec.title,
        material=spec.material,
        found_by="scan",
        skin=skin,
        core=core,
        axis=frame.axis,
        length=frame.length,
        ends=(spec.ends.first, spec.ends.last),
        first_end=first_end(spec, first=frame.areas[0], last=frame.areas[1]),
        back_line=back_line(spec),
        permitted=spec.permit,
        to_source=frame.pose,
    )
    wall_notes = cap_notes if scan.wall is not None else ()
    return piece, (*skin_notes, *wall_notes, *core_notes)


def _skin(scan: Scan, path: Path) -> tuple[Mesh, Frame, tuple[Finding, ...]]:
    """The skin in the piece's frame, that frame, and notes; the mesh as it was read is let go. Raises SpecFaults."""
    mended, notes = _closed_mesh(path, scan.units, key="scan.file")
    try:
        frame = find_frame(mended.mesh, along=_vector(scan.along), back=_vector(scan.back))
        if scan.check is not None:
            _hold_against(scan.check, mended.mesh, frame, scan.units)
        return split(frame.placed(mended.mesh)), frame, (*notes, *mended.notes, *frame.notes)
    except MeshRefused as refused:
        raise SpecFaults(str(path), [refused.finding]) from None


def _closed_mesh(path: Path, units: str, *, key: str) -> tuple[Mended, tuple[Finding, ...]]:
    """A mesh file as one closed surface, in mm, and notes on the reading. Raises SpecFaults."""
    raw, notes = read_mesh(path, units, key=key)
    try:
        _check_size(raw.part().vertices, units)
        return mend(raw), notes
    except MeshRefused as refused:
        raise SpecFaults(str(path), [refused.finding]) from None


def _check_size(vertices: Array, units: str) -> None:
    """Refuse what is no piece by its size, and name the unit in which it would be one."""
    size = float(np.max(vertices.max(axis=0) - vertices.min(axis=0)))
    if SHORTEST <= size <= LARGEST:
        return
    bare = size / UNITS[units]
    likely = tuple((name, bare * mm) for name, mm in UNITS.items() if 40.0 <= bare * mm <= 600.0)
    raise MeshRefused("scan.size", size=size, stated=units, least=SHORTEST, most=LARGEST, likely=likely)


def _hold_against(check: CaliperCheck, surface: Mesh, frame: Frame, units: str) -> None:
    """Hold the scan against a caliper reading, each that is given. Raises MeshRefused."""
    if check.length is not None:
        _compare("long", None, frame.length, check.length, units)
    if check.at is None:
        return
    if not 0.0 < check.at < frame.length:
        raise MeshRefused("scan.check-beyond", length=frame.length, where=check.at, stated=units)
    start = float(frame.pose.at @ frame.pose.axes[0])
    cut = slices(surface, frame.pose.axes, np.array([start + check.at]))
    if len(cut.along) == 0:
        raise MeshRefused("scan.no-section", where=check.at)
    extent = (cut.high - cut.low)[0]
    for word, found, read in (("wide", extent[0], check.width), ("high", extent[1], check.height)):
        if read is not None:
            _compare(word, check.at, float(found), read, units)


def _compare(what: str, where: float | None, found: float, read: float, units: str) -> None:
    if abs(found - read) <= max(WITHIN, WITHIN_SHARE * read):
        return
    true = UNITS[units] * read / found
    likely = [name for name, mm in UNITS.items() if name != units and abs(true / mm - 1.0) < 0.05]
    values: dict[str, Value] = {} if where is None else {"where": where}
    raise MeshRefused(
        "scan.off-the-caliper",
        what=what,
        **values,
        found=found,
        read=read,
        read_ratio=read / found,
        within=WITHIN,
        within_share=WITHIN_SHARE,
        stated=units,
        likely="".join(likely[:1]),
    )


def _core(
    scan: Scan, folder: Path, skin: Mesh, frame: Frame, caps: list[Cap]
) -> tuple[Mesh | None, tuple[Finding, ...]]:
    """The core as the scan states it. Raises SpecFaults."""
    if scan.wall is not None:
        return core_behind_wall(skin, scan.wall, caps)
    if scan.core is None:
        return None, ()
    path = folder / scan.core
    try:
        mended, notes = _closed_mesh(path, scan.units, key="scan.core")
        core = split(frame.placed(mended.mesh))
        check_core(core, skin, caps)
    except MeshRefused as refused:
        raise SpecFaults(str(path), [refused.finding]) from None
    return core, (*notes, *(note("scan.of-the-core", note=one) for one in mended.notes))


def _vector(direction: tuple[float, ...] | None) -> Array | None:
    return None if direction is None else np.array(direction)
