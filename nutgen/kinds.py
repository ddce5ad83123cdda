"""The instrument kinds that come with nutgen: one commented TOML file each."""

import tomllib
from dataclasses import dataclass
from pathlib import Path

from nutgen.spec.faults import Fault, SpecFaults, nearest

_HERE = Path(__file__).resolve().parent
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
    return sorted(path.stem for path in FOLDER.glob("*.toml"))


def kinds() -> list[Kind]:
    """All kinds with what a list shows of them."""
    return [_kind(name) for name in kind_names()]


def kind_path(name: str) -> Path:
    """The file of a kind; raises SpecFaults with the nearest name where there is none."""
    if name in kind_names():
        return FOLDER / f"{name}.toml"
    near = nearest(name, kind_names())
    hint = f"; did you mean {near}?" if near else ""
    raise SpecFaults(name[:80], [Fault("", f"no such file, and no such kind{hint}; `nutgen presets` lists the kinds")])


def find_file(given: str) -> Path:
    """A file of the user's, or the file of a kind by its name.

    raises : SpecFaults where it is neither
    """
    path = Path(given)
    try:
        is_file = path.exists()
    except (OSError, ValueError):
        is_file = False
    if is_file or path.suffix or len(path.parts) != 1:
        return path
    return kind_path(given)


def _kind(name: str) -> Kind:
    raw = tomllib.loads((FOLDER / f"{name}.toml").read_text("utf-8"))
    scale = raw["instrument"]["scale_length"]
    if isinstance(scale, dict):
        scale = f"{scale['bass']:g}/{scale['treble']:g} mm"
    elif not isinstance(scale, str):
        scale = f"{scale:g} {raw['units']}"
    return Kind(name, raw["title"], " ".join(string["note"] for string in raw["strings"]), scale)
