"""A file in, its tables out: the only door. All faults of a file come out at once."""

import hashlib
import re
import tomllib
from collections.abc import Mapping
from itertools import accumulate
from operator import attrgetter
from pathlib import Path
from typing import Any, TypeVar, cast

from nutgen.errors import SpecFaults
from nutgen.finding import Finding, Value, echoed, of_key, refusal
from nutgen.spec.cross import cross_faults, raised_faults, under_bar, unmeasured_faults
from nutgen.spec.cross_piece import piece_faults
from nutgen.spec.cross_playing import build_faults
from nutgen.spec.piece import PieceSpec, Station
from nutgen.spec.playing import Errors
from nutgen.spec.strings import LONGEST_SET_NAME, String, StringSet
from nutgen.spec.tables import Fretboard, Instrument, Spec
from nutgen.spec.toml_table import TomlFile, TomlTable, canonical, keys_of, left_out, own_values, read_keys
from nutgen.spec.values import BareUnits
from nutgen.spec.ways import Way, turned
from nutgen.spec.workshop import Drawer, Tools

_LOOKED_AT: dict[str, type[TomlTable]] = {
    "instrument": Instrument,
    "fretboard": Fretboard,
    "strings": String,
    "errors": Errors,
}
"""Tables that a way of reading looks at."""

OWN = {"own_leaves", "wires"}
"""Tools that a gap may be read with, by their names in the text of a reading."""

LARGEST_FILE = 1_000_000  # bytes; a real file has a few thousand

F = TypeVar("F", bound=TomlFile)
T = TypeVar("T", bound=TomlTable)


def read_spec(path: Path) -> Spec:
    """Read an instrument file.

    raises : SpecFaults with every fault: unreadable, not TOML, keys, ranges, and what does not
             go together
    """
    return parse_spec(read_text(path), source=str(path))


def parse_spec(text: str, *, source: str) -> Spec:
    """Read the text of an instrument file; `source` names it in faults, sets/ lies beside it. Raises SpecFaults."""
    strung, twice = _all_strung(_leaves_listed(parse_toml(text, source=source)), Path(source))
    written, of_frets = under_bar(strung)
    bare = _bare_units(written)
    raw, ways, faults, unread = turned(written, bare, _LOOKED_AT)
    parts, found = read_keys(Spec, raw, bare)
    parts |= {"tools": bench.with_blades()} if isinstance(bench := parts.get("tools"), Tools) else {}
    faults += [one for one in found if not (one.about and one.about[0].name in unread)]
    given = {key: raw[key] for key in strung if key in raw}  # without what stands in under a bar
    faults += [
        *twice,
        *of_frets,
        *raised_faults(faults),
        *unmeasured_faults(parts.get("not_measured", ()), given, {way.key for way in ways}),
    ]
    faults = _but_for_stacks(faults)
    spec = _whole(Spec, parts, raw, faults + cross_faults(parts), source=source)
    return spec.model_copy(update={"ways": ways}) if ways else spec


def read_drawer(path: Path) -> Drawer:
    """Read a drawer of squared blanks; raises SpecFaults with every fault, as an instrument file does."""
    raw = parse_toml(read_text(path, what="drawer of blanks"), source=str(path), what="drawer of blanks")
    parts, faults = read_keys(Drawer, raw, _bare_units(raw))
    return _whole(Drawer, parts, raw, faults, source=str(path))


def read_set(name: str, folder: Path, *, count: int | None = None) -> StringSet:
    """Read a set of strings, sets/NAME.toml in a folder.

    count  : of strings that it must have; as many as it likes where None
    raises : SpecFaults with every fault, as an instrument file does
    """
    path, what = folder / "sets" / f"{name}.toml", "set of strings"
    if Path(name).name != name:
        raise SpecFaults(name, [refusal("string-set.no-name")])
    raw = parse_toml(read_text(path, what=what), source=str(path), what=what)
    parts, faults = read_keys(StringSet, raw, _bare_units(raw))
    faults += build_faults(parts.get("strings", ()))
    if count is not None and len(strings := parts.get("strings", ())) not in (0, count):
        faults.append(refusal("string-set.wrong-count", of_key("strings"), count=len(strings), strings=count))
    return _whole(StringSet, parts, raw, faults, source=str(path))


def _all_strung(raw: Mapping[str, Any], source: Path) -> tuple[Mapping[str, Any], list[Finding]]:
    """The file with what sets say of its strings and of those before, and what is said twice."""
    now, twice = _strung(raw, source)
    if not isinstance(before := raw.get("before"), Mapping):
        return now, twice
    listed = now.get("strings")
    tables = [one for one in listed if isinstance(one, Mapping)] if isinstance(listed, list) else []
    before, more = _strung(before, source, before.get("tuning") or [one.get("note") for one in tables], at="before.")
    return {**now, "before": before}, twice + more


def _strung(
    raw: Mapping[str, Any], source: Path, notes: object = (), *, at: str = ""
) -> tuple[Mapping[str, Any], list[Finding]]:
    """A table with what its set says of each string, and what both say; notes where neither names any."""
    name, own = raw.get("string_set"), raw.get("strings")
    tables = isinstance(own, list) and own and all(isinstance(one, Mapping) for one in own)
    if not isinstance(name, str) or not name or not (tables or own is None):
        return raw, []
    if Path(name).name != name or len(name) > LONGEST_SET_NAME:
        raise SpecFaults(str(source), [refusal("string-set.no-name", of_key(f"{at}string_set"))])
    listed = [one.as_written() for one in read_set(name, source.parent, count=len(own) if own else None).strings]
    both = list(zip(listed, own or [{}] * len(listed), strict=True))
    if isinstance(notes, list) and len(notes) == len(listed):
        both = [({"note": note, **of_set}, mine) for note, (of_set, mine) in zip(notes, both, strict=True)]
    twice = [
        refusal("string-set.twice", of_key(f"{at}strings[{place}].{key}"), set=name)
        for place, (of_set, mine) in enumerate(both, 1)
        for key in mine
        if key in of_set and key != "note"
    ]
    return {**raw, "strings": [{**of_set, **mine} for of_set, mine in both]}, twice


def read_piece(path: Path) -> PieceSpec:
    """Read a piece file.

    raises : SpecFaults with every fault: unreadable, not TOML, keys, ranges, and what does not go
             together. Whether a scan's mesh is there is for the one who opens it
    """
    spec = parse_piece(read_text(path, what="piece file"), source=str(path))
    return spec.model_copy(update={"folder": path.parent})


def parse_piece(text: str, *, source: str) -> PieceSpec:
    """Read the text of a piece file; `source` names it in faults. Raises SpecFaults."""
    raw = parse_toml(text, source=source, what="piece file")
    if "fretboard" in raw or "strings" in raw:
        raise SpecFaults(source, [refusal("file.is-an-instrument")])
    bare = _bare_units(raw)
    parts, faults = read_keys(PieceSpec, raw, bare)
    faults += piece_faults(parts, given=frozenset(raw), places=_places(raw.get("stations"), bare))
    faults = _but_for_stacks(faults)
    return _whole(PieceSpec, parts, raw, faults, source=source)


def overruled(file: F, changes: Mapping[str, Any], *, bare: BareUnits | None = None, source: str = "command line") -> F:
    """The same file with other values, read and checked as its own are.

    changes : table -> key -> value as it may be written, None to leave the key out; or the whole of a table or key
    bare    : units of bare numbers among the changes; mm where None
    raises  : SpecFaults with every fault, in the name of `source`
    """
    given = {name: getattr(file, name) for name in keys_of(type(file)) if name not in file.assumed}
    faults: list[Finding] = []
    for name, change in changes.items():
        if change == {}:
            continue
        table = getattr(file, name)
        if isinstance(table, TomlTable) and isinstance(change, Mapping):
            table, found = _changed(table, change, bare, name)
            faults += found
        else:
            table = change
        given[name] = table
    parts, found = read_keys(type(file), given, None)
    faults += found
    if isinstance(file, PieceSpec):
        faults += piece_faults(parts, given=frozenset(given), places=())
        whole = _whole(PieceSpec, parts, given, faults, source=source)
        return cast(F, whole.model_copy(update={"folder": file.folder}))
    spec = _whole(type(file), parts, given, faults + cross_faults(parts), source=source)
    ways = file.ways if isinstance(file, Spec) else ()
    kept = tuple(way for way in ways if attrgetter(way.key)(spec) == attrgetter(way.key)(file))
    return spec.model_copy(update={"ways": kept}) if kept else spec


def _changed(
    table: TomlTable, change: Mapping[str, Any], bare: BareUnits | None, name: str
) -> tuple[TomlTable, list[Finding]]:
    """A table with other values for some keys; as it was where these have faults."""
    kept = {key: getattr(table, key) for key in table.model_fields_set if key not in change}
    written = {key: value for key, value in change.items() if value is not None}
    read, found = read_keys(type(table), written, bare or BareUnits("mm", "mm"), at=(name,))
    faults = [one for one in found if not one.code.startswith("reading.missing")]
    if faults:
        return table, faults
    return type(table)(**kept, **{key: read[key] for key in written}), []


def read_table(table: type[T], raw: Mapping[str, Any], bare: BareUnits, *, at: str) -> T:
    """One table without its file; raises SpecFaults, whose source is the table's own name."""
    values, faults = read_keys(table, raw, bare, at=(at,))
    if faults:
        raise SpecFaults(at, faults, units="in" if bare.lengths == "in" else "mm")
    return table(**{key: values[key] for key in raw})


def read_beside(table: type[T], raw: Mapping[str, Any], spec: Spec, *, at: str) -> tuple[T, tuple[Way, ...]]:
    """One table as it would stand in a file, in its units, with its leaves; and the ways that it was read in.

    raises : SpecFaults, whose source is the table's own name
    """
    scale = f"{spec.instrument.scale_length.treble!r} mm"
    around = {
        "instrument": {"frets": spec.instrument.frets, "scale_length": scale},
        "strings": [{"gauge": f"{string.gauge!r} mm"} for string in spec.strings],
    }
    bare = bare_units_of(spec)
    plain, ways, faults, _ = turned({**around, at: raw}, bare, _LOOKED_AT)
    if faults:
        raise SpecFaults(at, faults, units="in" if bare.lengths == "in" else "mm")
    return read_table(table, plain[at], bare, at=at), ways


def _bare_units(raw: Mapping[str, Any]) -> BareUnits:
    """The units of a file's bare numbers, the usual ones where it names others than there are; and its own leaves."""
    bare = BareUnits(
        **{
            key: raw[name]
            for key, name in (("lengths", "units"), ("gauges", "gauge_units"))
            if raw.get(name) in ("mm", "in")
        }
    )
    listed = raw.get("tools")
    own = {key: listed[key] for key in OWN & set(listed)} if isinstance(listed, Mapping) else {}
    tools = read_keys(Tools, own, bare)[0] if own else {}
    return bare._replace(sheets=tools.get("own_leaves", ()), wires=tools.get("wires", ()))


def _but_for_stacks(faults: list[Finding]) -> list[Finding]:
    """Where own leaves or wires have a fault themselves, they are missing in every reading: that says nothing more."""
    faulty = {one.about[0].name.partition("[")[0] for one in faults if one.about}
    known = {"stack.unknown-sheet": "tools.own_leaves", "stack.unknown-wire": "tools.wires"}
    return [one for one in faults if known.get(one.code) not in faulty]


def _leaves_listed(raw: Mapping[str, Any]) -> Mapping[str, Any]:
    """The file, its bench without the usual leaves where sheets, wires or strips serve instead."""
    tools = raw.get("tools")
    if not isinstance(tools, Mapping) or not (OWN | {"steel"}) & set(tools):
        return raw
    return {**raw, "tools": {"feeler": [], "feeler_inch": []} | dict(tools)}


def bare_units_of(spec: Spec) -> BareUnits:
    """How what is written beside a file is to be read: in its units, with its own leaves."""
    return BareUnits(spec.units, spec.gauge_units, spec.tools.own_leaves, spec.tools.wires)


def _whole(kind: type[F], parts: Mapping[str, Any], raw: Mapping[str, Any], faults: list[Finding], *, source: str) -> F:
    """The file where it has no faults; raises SpecFaults where it has."""
    if faults:
        raise SpecFaults(source, faults, units=parts.get("units", "mm"))
    file = kind.model_construct(**{name: parts[name] for name in parts if name in raw})
    return file.model_copy(update={"assumed": frozenset(left_out(file))})


def _places(stations: object, bare: BareUnits) -> list[float]:
    """Where the stations stand, though they may have other faults; nothing where one cannot be read."""
    rows = stations if isinstance(stations, list) else []
    found = [read_keys(Station, row, bare)[0].get("at") for row in rows if isinstance(row, Mapping)]
    return [place for place in found if place is not None] if len(found) == len(rows) and None not in found else []


def parse_toml(text: str, *, source: str, what: str = "instrument file") -> dict[str, Any]:
    """The tables of a TOML text; raises SpecFaults where it is none."""
    last = text.count("\n") + (not text.endswith("\n"))
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        reason = echoed(str(error).replace("end of document", f"line {last}, the last"), 160)
        found = refusal("file.not-toml", reason=reason)
    except ValueError:  # Python reads no decimal number of more digits
        number = re.search(r"\d(_?\d){4299}", text)
        found = refusal("file.number-too-long", what=what, line=_line(text, number.start() if number else 0))
    except RecursionError:
        steps = (letter in "[{" or -(letter in "]}") for letter in text)
        depths = list(accumulate(steps))
        found = refusal("file.nested-too-deeply", what=what, line=_line(text, depths.index(max(depths))))
    raise SpecFaults(source, [found])


def _line(text: str, at: int) -> int:
    """Number of the line that a letter stands in."""
    return text.count("\n", 0, at) + 1


def read_text(path: Path, *, what: str = "instrument file") -> str:
    """The text of an instrument file, or of another small file; raises SpecFaults where it cannot be one."""

    def refused(code: str, **values: Value) -> SpecFaults:
        return SpecFaults(str(path), [refusal(code, **values)])

    try:
        if path.is_dir():
            raise refused("file.is-a-folder", what=what)
        if not path.exists():
            raise refused("file.missing", what=what, beside=_beside(path))
        if not path.is_file():
            raise refused("file.no-plain-file", what=what)
        if path.stat().st_size > LARGEST_FILE:
            raise refused("file.too-large", what=what, most_megabytes=LARGEST_FILE // 1_000_000)
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise refused("file.unreadable", reason=str(reason)) from None
    if not data.strip():
        raise refused("file.empty")
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        raise refused("file.not-text", what=what, line=data.count(b"\n", 0, error.start) + 1) from None


def _beside(path: Path) -> tuple[str, ...]:
    """Files that may have been meant, by their names."""
    found = path.parent.glob("*.toml") if path.parent.is_dir() else ()
    return tuple(sorted(other.name for other in found if other.name != "pyproject.toml")[:6])


_NO_PART = {"dry_fit", "trial", "tuner"}


def spec_hash(spec: Spec) -> str:
    """Twelve hex digits that name the values of a spec: same values, same digits.

    The readings of a dry fit, a trial and a tuner are left out: they tell of a nut that is made, and change no file.
    """
    made_from = {key: value for key, value in own_values(spec).items() if key not in _NO_PART}
    if spec.ways:
        made_from["ways"] = spec.ways
    return hashlib.sha256(canonical(made_from).encode()).hexdigest()[:12]


def piece_hash(spec: PieceSpec) -> str:
    """Twelve hex digits that name the values of a piece, and the bytes of its meshes where they are there."""
    digest = hashlib.sha256(canonical(spec).encode())
    for name in (spec.scan.file, spec.scan.core) if spec.scan else ():
        if name is not None and spec.beside(name).is_file():
            with spec.beside(name).open("rb") as file:
                digest.update(hashlib.file_digest(file, "sha256").digest())
    return digest.hexdigest()[:12]
