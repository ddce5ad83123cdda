"""The instrument kinds that come with nutgen: one commented TOML file each."""

import tomllib
from dataclasses import dataclass
from pathlib import Path

from nutgen.errors import Fault, SpecFaults, nearest

_HERE = Path(__file__).resolve().parents[1]
FOLDER = _HERE / "presets" if (_HERE / "presets").is_dir() else _HERE.parent / "presets"
"""Inside an installed package, or beside it in a checkout."""


@dataclass(frozen=True, slots=True)
class Kind:
    """An instrument kind: its name on the command line, its title, how it is strung."""

    name: str
    title: str
    strings: str
    scale: str


def kind_names() -> list[str]:
    """Names of all kinds, sorted."""
    return names_in(FOLDER)


def kinds() -> list[Kind]:
    """All kinds with what a list shows of them."""
    return [_kind(name) for name in kind_names()]


def kind_path(name: str) -> Path:
    """The file of a kind; raises SpecFaults with the nearest name where there is none."""
    return named_file(name, FOLDER, what="kind")


def find_file(given: str) -> Path:
    """A file of the user's, or the file of a kind by its name.

    raises : SpecFaults where it is neither
    """
    return own_or_named_file(given, FOLDER, what="kind")


def names_in(folder: Path) -> list[str]:
    """Names of the files that nutgen brings in a folder, sorted."""
    return sorted(path.stem for path in folder.glob("*.toml"))


def named_file(name: str, folder: Path, *, what: str) -> Path:
    """A file that nutgen brings, by its name; raises SpecFaults with the nearest name where there is none."""
    names = names_in(folder)
    if name in names:
        return folder / f"{name}.toml"
    near = nearest(name, names)
    hint = f"; did you mean {near}?" if near else ""
    words = f"no such file, and no such {what}{hint}; `nutgen presets` lists the {what}s"
    raise SpecFaults(name[:80], [Fault("", words)])


def own_or_named_file(given: str, folder: Path, *, what: str) -> Path:
    """A file of the user's, or one that nutgen brings; raises SpecFaults where a bare name is neither."""
    path = Path(given)
    try:
        is_file = path.exists()
    except (OSError, ValueError):
        is_file = False
    if is_file or path.suffix or len(path.parts) != 1:
        return path
    return named_file(given, folder, what=what)


def _kind(name: str) -> Kind:
    raw = tomllib.loads((FOLDER / f"{name}.toml").read_text("utf-8"))
    scale = raw["instrument"]["scale_length"]
    if isinstance(scale, dict):
        scale = f"{scale['bass']:g}/{scale['treble']:g} mm"
    elif not isinstance(scale, str):
        scale = f"{scale:g} {raw['units']}"
    return Kind(name, raw["title"], " ".join(string["note"] for string in raw["strings"]), scale)
