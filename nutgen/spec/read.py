"""TOML in, Spec out: the only door. All faults of a file come out at once."""

import hashlib
import tomllib
from dataclasses import is_dataclass
from pathlib import Path
from typing import Any

from nutgen.errors import Fault, SpecFaults
from nutgen.spec.cross import cross_faults
from nutgen.spec.fields import Reading
from nutgen.spec.table import Table
from nutgen.spec.tables import Spec

LARGEST_FILE = 1_000_000  # bytes; a real file has a few thousand


def read_spec(path: Path) -> Spec:
    """Read an instrument file.

    raises : SpecFaults with every fault: unreadable, not TOML, keys, ranges, and what does not
             go together
    """
    return parse_spec(read_text(path), source=str(path))


def parse_spec(text: str, *, source: str) -> Spec:
    """Read the text of an instrument file; `source` names it in faults. Raises SpecFaults."""
    raw = parse_toml(text, source=source)
    units = {key: raw[key] for key in ("units", "gauge_units") if raw.get(key) in ("mm", "in")}
    parts, faults = Spec.read_keys(raw, Reading(**units))
    faults += cross_faults(parts)
    if faults:
        raise SpecFaults(source, faults)
    return Spec.from_keys(parts, given=raw)


def parse_toml(text: str, *, source: str, what: str = "instrument file") -> dict[str, Any]:
    """The tables of a TOML text; raises SpecFaults where it is none."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SpecFaults(source, [Fault("", f"not a TOML file: {_lower_first(str(error))}")]) from None
    except RecursionError:
        raise SpecFaults(source, [Fault("", f"not a usable {what}: nested too deeply")]) from None


def read_text(path: Path, *, what: str = "instrument file") -> str:
    """The text of an instrument file, or of another small file; raises SpecFaults where it cannot be one."""
    try:
        if path.is_dir():
            raise SpecFaults(str(path), [Fault("", f"is a folder; name the {what} in it")])
        if not path.exists():
            raise SpecFaults(str(path), [Fault("", _missing_words(path))])
        if path.stat().st_size > LARGEST_FILE:
            words = f"is larger than {LARGEST_FILE // 1_000_000} MB; a real {what} has a few thousand bytes"
            raise SpecFaults(str(path), [Fault("", words)])
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise SpecFaults(str(path), [Fault("", f"cannot be read: {_lower_first(str(reason))}")]) from None
    if not data.strip():
        raise SpecFaults(str(path), [Fault("", "is empty; `nutgen new FILE --from KIND` writes one to edit")])
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError:
        raise SpecFaults(str(path), [Fault("", f"is not text in UTF-8, so no {what}")]) from None


def spec_hash(spec: Spec) -> str:
    """Twelve hex digits that name the values of a spec: same values, same digits.

    The readings of a dry fit are left out: they tell of a nut that is made, and change no file of it.
    """
    made_from = {key: value for key, value in spec.values().items() if key != "dry_fit"}
    return hashlib.sha256(canonical(made_from).encode()).hexdigest()[:12]


def canonical(value: Any) -> str:
    """A text that is the same for the same values, whatever the order of keys in the file."""
    if isinstance(value, Table):
        return canonical(value.values())
    if is_dataclass(value):
        return canonical([getattr(value, name) for name in value.__dataclass_fields__])
    if isinstance(value, dict):
        return "{" + ",".join(f"{key}:{canonical(value[key])}" for key in sorted(value)) + "}"
    if isinstance(value, list | tuple):
        return "[" + ",".join(map(canonical, value)) + "]"
    return repr(value)


def _lower_first(text: str) -> str:
    return text[:1].lower() + text[1:]


def _missing_words(path: Path) -> str:
    near = (
        sorted(p.name for p in path.parent.glob("*.toml") if p.name != "pyproject.toml")[:6]
        if path.parent.is_dir()
        else []
    )
    beside = f"; beside it are {', '.join(near)}" if near else ""
    return f"no such file{beside}; `nutgen presets` lists the kinds to start from"
