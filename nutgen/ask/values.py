"""What a maker types, as the value it becomes in the file; and the other way round, for defaults."""

import math
from collections.abc import Callable, Mapping
from typing import Any

from nutgen.errors import Unreadable
from nutgen.spec.values import MM_PER, plain_number, read_length

MATERIALS = ("steel", "stainless steel", "nylon", "fluorocarbon", "gut")
Reader = Callable[[str], Any]


def number(text: str) -> Any:
    """A bare number where it is one, else the text, which may carry a unit of its own."""
    try:
        value = plain_number(text)
    except ValueError:
        return text.strip()
    return int(value) if value.is_integer() and "." not in text and "e" not in text.lower() else value


def wears_unit(text: str) -> bool:
    """Whether a text is one length with a unit of its own."""
    try:
        return read_length(text, "mm").mm == read_length(text, "in").mm
    except ValueError:
        return False


def doubled(text: str) -> Any:
    """Nut to fret 12, as the scale length."""
    value = number(text)
    if isinstance(value, str):
        written = read_length(value, "mm")
        return f"{shown(2.0 * written.number)} {written.unit}"
    return 2.0 * value


def several(text: str) -> list[Any]:
    """Lengths with spaces or semicolons between them; commas too, where no space stands for one."""
    parts = text.replace(";", " ").replace(",", " ").split()
    return [number(part) for part in parts]


def leaves(text: str) -> dict[str, Any]:
    """Feeler leaves as [tools] holds them: none, a usual set, or their sizes."""
    word = text.strip().lower()
    sets: dict[str, dict[str, Any]] = {"metric": {"feeler_inch": []}, "inch": {"feeler": []}}
    return sets.get(word) or {"feeler": [] if word == "none" else several(text), "feeler_inch": []}


def tool_set(text: str) -> list[Any] | None:
    """Sizes of tools; an empty list for none, None for the usual ones."""
    word = text.strip().lower()
    return None if word == "usual" else [] if word == "none" else several(text)


def needles(text: str) -> list[Any] | None:
    """Needle files, each a width, or tip and shank with a dash between; as a set of tools."""
    sizes = tool_set(text)
    return sizes and [_needle(*one.partition("-")[::2]) if isinstance(one, str) else one for one in sizes]


def _needle(tip: str, shank: str) -> Any:
    return {"tip": number(tip), "shank": number(shank)} if shank else number(tip)


def sheets(text: str) -> dict[str, Any]:
    """Sorts of sheets, each with what ten of it measure: "paper 1.02, card 2.95"."""
    read = {}
    for part in text.replace(";", ",").split(","):
        name, _, ten = part.strip().partition(" ")
        if not name.isalpha() or not ten.strip() or name.lower() in read:
            raise Unreadable("answer.no-sheets", written=text[:40])
        read[name.lower()] = {"ten": number(ten)}
    return read


def flat_or_number(text: str) -> Any:
    """A length, or "flat"."""
    return "flat" if text.strip().lower() == "flat" else number(text)


def radius(text: str) -> Any:
    """A radius, "flat", or "gap", the gap at either end of a ruler across fret 1, and how far apart these are.

    Semicolons part what has spaces of its own: "gap 2 card; 2 card + 1 paper; 41".
    """
    if not text.lower().startswith("gap"):
        return flat_or_number(text)
    read = text[3:]
    parts = [number(part) for part in read.split(";")] if ";" in read else several(read)
    if len(parts) != 3:
        raise Unreadable("answer.no-gap", written=text[:40])
    return {"gaps": parts[:2], "chord": parts[2]}


def by_way(word: str, key: str) -> Reader:
    """A length; or a word, which stands for a way of reading it, and the length that was read so."""

    def read(text: str) -> Any:
        first, _, rest = text.strip().partition(" ")
        return {key: number(rest)} if first.lower() == word else number(text)

    return read


def angle(text: str) -> Any:
    """Degrees, or a fall over a run, like 12/80."""
    fall, slash, run = text.partition("/")
    if not slash:
        return number(text)
    try:
        return round(math.degrees(math.atan2(plain_number(fall), plain_number(run))), 2)
    except ValueError:
        raise Unreadable("answer.no-angle", written=text[:40]) from None


def post(text: str) -> Any:
    """A tuner post: y, x and drop, one after the other."""
    parts = several(text)
    if len(parts) != 3:
        raise Unreadable("answer.no-post", written=text[:40])
    return dict(zip(("y", "x", "drop"), parts, strict=True))


def by_fret(text: str) -> dict[str, Any]:
    """Lengths, each behind the number of its fret: "8 0.12, 9 -0.06"."""
    parts = [part.split(maxsplit=1) for part in text.replace(";", ",").split(",") if part.strip()]
    if any(len(part) != 2 for part in parts):
        raise Unreadable("answer.no-frets", written=text[:40])
    return {fret: number(read) for fret, read in parts}


def guide(text: str) -> list[dict[str, Any]]:
    """What presses strings down behind the nut: y and drop, then "strings" and their numbers where it is not all."""
    place, _, numbers = text.lower().partition("strings")
    parts = several(place)
    if len(parts) != 2:
        raise Unreadable("answer.no-guide", written=text[:40])
    under = {"strings": several(numbers)} if numbers.strip() else {}
    return [dict(zip(("y", "drop"), parts, strict=True)) | under]


def string(text: str) -> dict[str, Any]:
    """A string: note, gauge, and what it is made of where that is not plain steel."""
    parts = text.split()
    if len(parts) < 2:
        raise Unreadable("answer.no-string", written=text[:40])
    table: dict[str, Any] = {"note": parts[0]}
    gauge: list[str] = []
    words: list[str] = []
    for part in parts[1:]:
        known = part.lower() in ("wound", "w", "plain", "p") or any(part.lower() in m.split() for m in MATERIALS)
        (words if known else gauge).append(part.lower() if known else part)
    table["gauge"] = number(" ".join(gauge))
    if {"wound", "w"} & set(words):
        table["wound"] = True
    material = " ".join(part for part in words if part not in ("wound", "w", "plain", "p"))
    if material and material != "steel":
        table["material"] = material
    return table


def shown(value: float, digits: int = 4) -> str:
    """A number without needless digits."""
    return f"{round(value, digits) + 0.0:.10g}"


def default_length(value: Any, *, written_in: str, units: str, half: bool = False) -> str:
    """A length of a kind's file as a default, in the maker's units.

    value : number or text, as it stands in the kind's file; "flat" stays as it is
    """
    if value is None or value == "flat":
        return value or ""
    if isinstance(value, str) and not half and read_length(value, written_in).unit == units:
        return value
    mm = read_length(value, written_in).mm / (2.0 if half else 1.0)
    return shown(mm / MM_PER[units], 4 if units == "in" else 3)


def default_string(table: Mapping[str, Any]) -> str:
    """A string of a kind's file as the line a maker would write."""
    words = [table["note"], str(table["gauge"]), "wound" if table.get("wound") else "plain"]
    if table.get("material", "steel") != "steel":
        words.append(table["material"])
    return " ".join(words)
