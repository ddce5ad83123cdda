"""The instrument kinds and natural pieces that come with nutgen, and how the command line finds a file."""

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from nutgen.errors import SpecFaults
from nutgen.finding import refusal, unshowable
from nutgen.spec.piece import is_mesh
from nutgen.spec.values import nearest

_HERE = Path(__file__).resolve().parents[1]
FOLDER = _HERE / "presets" if (_HERE / "presets").is_dir() else _HERE.parent / "presets"
"""Inside an installed package, or beside it in a checkout."""

PIECES = FOLDER / "pieces"


@dataclass(frozen=True, slots=True)
class Kind:
    """An instrument kind: its name on the command line, its title, how it is strung."""

    name: str
    title: str
    strings: str
    scale: str


@dataclass(frozen=True, slots=True)
class DemoPiece:
    """A demo piece: its name on the command line, its title, material and length, and how it was found."""

    name: str
    title: str
    material: str
    length: str
    found_by: str


def kind_names() -> list[str]:
    """Names of all kinds, sorted."""
    return _names_in(FOLDER)


def piece_names() -> list[str]:
    """Names of all demo pieces, sorted."""
    return _names_in(PIECES)


def kinds() -> list[Kind]:
    """All kinds with what a list shows of them."""
    return [_kind(name, _raw(FOLDER / f"{name}.toml")) for name in kind_names()]


def pieces() -> list[DemoPiece]:
    """All demo pieces with what a list shows of them."""
    return [_piece(name, _raw(PIECES / f"{name}.toml")) for name in piece_names()]


def kind_path(name: str) -> Path:
    """The file of a kind; raises SpecFaults with the nearest name where there is none."""
    return _named(name, "kind")


def start_path(name: str) -> Path:
    """The file to start from, of an instrument kind or of a demo piece; raises SpecFaults with the nearest name."""
    return _named(name, "kind", "piece")


def find_file(given: str) -> Path:
    """A file of the user's, or the file of a kind by its name.

    raises : SpecFaults where it is neither
    """
    return _own_or_named(given, "kind")


def find_piece(given: str) -> Path:
    """A piece file of the user's, or a demo piece by its name.

    raises : SpecFaults where it is neither; where it is a mesh, with the few lines that make a piece of it
    """
    path = Path(given)
    if is_mesh(path.name):
        raise SpecFaults(given, [refusal("file.is-a-mesh", name=path.name[:80], stem=path.stem[:60])])
    return _own_or_named(given, "piece")


def meshes_of(path: Path) -> tuple[str, ...]:
    """The meshes that a piece file names, which go where it goes: none by calipers."""
    scan = _raw(path).get("scan", {})
    return tuple(scan[key] for key in ("file", "core") if key in scan)


def _names_in(folder: Path) -> list[str]:
    return sorted(path.stem for path in folder.glob("*.toml"))


def _named(name: str, *wanted: str) -> Path:
    """A file that nutgen brings, by its name; raises SpecFaults with the nearest name where there is none."""
    folders = {"kind": FOLDER, "piece": PIECES}
    found = {stem: folders[what] / f"{stem}.toml" for what in wanted for stem in _names_in(folders[what])}
    if name in found:
        return found[name]
    raise SpecFaults(name, [refusal("file.not-among-presets", allowed=wanted, likely=nearest(name, found))])


def _own_or_named(given: str, what: str) -> Path:
    """A file of the user's, or one that nutgen brings; raises SpecFaults where a bare name is neither."""
    path = Path(given)
    try:
        is_file, is_folder = path.is_file(), path.is_dir()
    except (OSError, ValueError):  # a name too long, or one that no file can have
        is_file = is_folder = False
    if not is_folder and (path.stem in (".", "..") or unshowable(path.stem)):
        raise SpecFaults(given, [refusal("file.no-name")])
    return path if is_file or path.suffix or len(path.parts) != 1 else _named(given, what)


def _raw(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text("utf-8"))


def _kind(name: str, raw: dict[str, Any]) -> Kind:
    scale = raw["instrument"]["scale_length"]
    if isinstance(scale, dict):
        scale = f"{scale['bass']:g}/{scale['treble']:g} mm"
    elif not isinstance(scale, str):
        scale = f"{scale:g} {raw['units']}"
    return Kind(name, raw["title"], " ".join(string["note"] for string in raw["strings"]), scale)


def _piece(name: str, raw: dict[str, Any]) -> DemoPiece:
    scan = raw.get("scan")
    length = raw["stations"][-1]["at"] if scan is None else scan.get("check", {}).get("length")
    shown = "" if length is None else f"{length:g} {raw['units']}"
    return DemoPiece(name, raw["title"], raw["material"], shown, "calipers" if scan is None else "scan")
