"""The demo pieces that come with nutgen, and how the command line finds a piece file."""

import tomllib
from dataclasses import dataclass
from pathlib import Path

from nutgen.errors import Fault, SpecFaults, nearest
from nutgen.spec.kinds import FOLDER, kind_names, kind_path, named_file, names_in, own_or_named_file

PIECES = FOLDER / "pieces"


@dataclass(frozen=True, slots=True)
class DemoPiece:
    """A demo piece: its name on the command line, its title, material and length, and how it was found."""

    name: str
    title: str
    material: str
    length: str
    found_by: str


def piece_names() -> list[str]:
    """Names of all demo pieces, sorted."""
    return names_in(PIECES)


def pieces() -> list[DemoPiece]:
    """All demo pieces with what a list shows of them."""
    return [_demo(name) for name in piece_names()]


def piece_path(name: str) -> Path:
    """The file of a demo piece; raises SpecFaults with the nearest name where there is none."""
    return named_file(name, PIECES, what="piece")


def find_piece(given: str) -> Path:
    """A piece file of the user's, or a demo piece by its name.

    raises : SpecFaults where it is neither; where it is a mesh, with the few lines that make a piece of it
    """
    from nutgen.spec.piece_tables import is_mesh

    path = Path(given)
    if is_mesh(path.name):
        raise SpecFaults(given[:200], [Fault("", _mesh_words(path))])
    return own_or_named_file(given, PIECES, what="piece")


def start_path(name: str) -> Path:
    """The file to start from, of an instrument kind or of a demo piece; raises SpecFaults with the nearest name."""
    if name in piece_names():
        return piece_path(name)
    if name in kind_names():
        return kind_path(name)
    near = nearest(name, [*kind_names(), *piece_names()])
    hint = f"; did you mean {near}?" if near else ""
    raise SpecFaults(name[:80], [Fault("", f"no kind and no piece is called so{hint}; `nutgen presets` lists both")])


def meshes_of(path: Path) -> tuple[str, ...]:
    """The meshes that a piece file names, which go where it goes: none by calipers."""
    scan = tomllib.loads(path.read_text("utf-8")).get("scan", {})
    return tuple(scan[key] for key in ("file", "core") if key in scan)


def _mesh_words(path: Path) -> str:
    lines = (
        f'title = "{path.stem[:60]}"',
        'material = "bone"',
        "[scan]",
        f'file = "{path.name[:80]}"',
        'units = "mm"                     # of the mesh: "mm", "cm", "m" or "in"',
        'wall = 6.0                       # or core = "..." as a mesh; leave out where it is compact all through',
        "check = { length = 120.0 }       # by caliper, end to end",
    )
    return (
        "is a mesh, and a mesh says neither its units nor what is inside; write a piece file beside it,"
        f" say {path.stem[:60]}.toml, and name that:\n\n" + "\n".join(f"    {line}" for line in lines) + "\n"
    )


def _demo(name: str) -> DemoPiece:
    raw = tomllib.loads((PIECES / f"{name}.toml").read_text("utf-8"))
    if "scan" in raw:
        check = raw["scan"].get("check", {})
        return DemoPiece(name, raw["title"], raw["material"], _length(check.get("length"), raw["units"]), "scan")
    return DemoPiece(name, raw["title"], raw["material"], _length(raw["stations"][-1]["at"], raw["units"]), "calipers")


def _length(length: float | None, units: str) -> str:
    return "" if length is None else f"{length:g} {units}"
