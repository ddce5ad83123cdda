"""Instrument and piece files as nobody means them: one of ours with some of its lines spoilt, drawn by a seed."""

import random
import re
from collections.abc import Sequence
from functools import cache
from typing import Any

from nutgen.spec.piece import PieceSpec
from nutgen.spec.presets import kind_names, kind_path, piece_names, start_path
from nutgen.spec.tables import Spec

LETTERS = ("\\u001b[31m", "\\n", "\\ufffd", "\\u0000", "\\u007f", "\\u009b", "\\u202e", "\\u2028", "\\uffff", "é", "%s")
VALUES = (
    "9" * 4301, "0x" + "f" * 4301, "-0b" + "1" * 20_000, "1e400", "nan", "-inf", "1e-320", "-0.0", "true", "[]", "{}",
    '""', '" "', "[[[[[[]]]]]]", "[" * 400 + "]" * 400, "1979-05-27T07:32:00Z", "07:32:00", '"1 -5/8 in"', '"١٢"',
    '"1/0"', '"1e5"', '"0x10"', '"1_0"', '"END-ISO-10303-21;"', '"' + "a b" * 33_000 + '"', '"../../x.stl"',
    "{ bass = 1, treble = [] }", "{ bass = 1.0 }", '{ wound = 1.0, plain = "x" }', "[1, 2, 3]", "['a', 1, nan]", "0",
    "-1", "1", '"lowest"', '"string"', '"flat"', '"mm"', '"in"',
)  # fmt: skip
DOORS = {
    "crowns": "high = { 7 = 0.08 }\nrocker = { 8 = 0.12, 9 = -0.06, 10 = 0.0 }\nrelief = { 4 = 0.16, 9 = 0.31 }",
    "[guides]": "y = 30.0\ndrop = 6.0\nstrings = [1]\nx = 12.0\nwanted_deg = 7.0",
    "zero_fret": "behind = 4.0\nheight = 1.1\ngap_at_1 = 0.1\nbelow = 0.3",
    "lap": "tops = 9.5\ntops_at_12 = 10.0",
    "clamped": "apart = 26.0\nshims = [0.05, 0.1]\nnow = { bass = 0.1, treble = 0.2 }",
    "trial": "clearances = EACH 0.55\nrelief = 0.3\naction = 2.1\nover_wires = EACH 7.5\nwires = EACH 0.05",
    "dry_fit": 'feeler = EACH 0.5\nsliver = EACH 0.2\nrelief = "2 card + 1 paper"\naction = EACH 2.0',
    "tools": "own_leaves = { paper = { ten = 1.02 }, card = { ten = 2.95 } }\nwires = [0.009, 0.011]\nsteel = [0.24]",
    "saddle": 'bridge = "each"\nthread = "M3"\nspread = 57.0\nanchor = { y = 14.0, drop = 6.0 }\neven_tops = true',
    "old_nut": 'edges = FROM 3.3\nwidths = EACH "0.011 wire"\nrattles = []\nfloors = EACH 4.2',
    "tuner": "cents = { fret_1 = EACH 4, fret_3 = EACH 2, fret_12 = EACH 0, harmonic = EACH 0 }\nwithin_cents = 4.0",
    "[drones]": 'note = "G4"\ngauge = 0.01\nfret = 5',
    "before": "a4_hz = 415.0",
    "errors": 'depth = 0.05\nfret_height = "2/1000 in"',
    "mill": 'cutters = ["1 ball", { diameter = 3.0, end = "flat" }]\nstock_thickness = 6.0\nstock_height = 12.0',
}
"""Tables that the kinds leave out, as they are meant; EACH stands before what is written once a string, FROM before
where the first string is."""

SETUP = 'action_now = EACH 2.2\naction_read = "capo 1"\nclearance_now = EACH 0.5\nrelief_now = "1 card"'
SET = """title = "A set of one's own"
gauge_units = "in"
[[strings]]
note = "E1"
gauge = 0.105
wound = true
unit_mass = "0.00205 lb/in"
[[strings]]
note = "A1"
gauge = 0.085
wound = true
core = 0.02
wraps = ["0.3 mm"]
[[strings]]
note = "D2"
gauge = 0.065
[[strings]]
note = "G2"
gauge = 0.045
material = "stainless steel"
"""
"""A set of strings of one's own, for a bass."""

KEYS = ("a\\u001b[31mb", "a\\nb", "", " ", "k" * 100_000, "木", "x.y", "__class__", "\\u202e", "%s{0}")


def hostile_file(seed: int, *, piece: bool = False) -> bytes:
    """The bytes of a file: half of them have one spoilt line, one of ten is spoilt in its bytes too."""
    draw = random.Random(seed)
    lines = _lines(draw.choice(piece_names() if piece else kind_names())).copy()
    if not piece and draw.random() < 0.5:
        _open_doors(draw, lines)
    return _spoilt(draw, lines, _known(piece))


def hostile_set(seed: int) -> bytes:
    """The bytes of a set of strings, spoilt likewise."""
    draw = random.Random(seed)
    return _spoilt(draw, SET.splitlines(), [pair for pair in _known(piece=False) if pair[0] in ("strings", "title")])


def hostile_lines(seed: int, good: Sequence[str]) -> bytes:
    """Lines of JSON with some of their values replaced, torn, twice or out of order; one of ten in its bytes too."""
    draw = random.Random(seed)
    lines = list(good)
    for _ in range(draw.choice((1, 1, 2, 4))):
        at = draw.randrange(len(lines))
        match draw.randrange(6):
            case 0:
                lines[at] = draw.choice(("[" * 50_000, "{}", "[]", "null", "7", '{"undo": 7}', '"x"', "9" * 4301, "é"))
            case 1:
                lines[at] = lines[at][: draw.randrange(len(lines[at]) + 1)]
            case 2:
                lines.insert(at, draw.choice(lines))
            case _:
                values = list(re.finditer(r'(?<=[ \[])("([^"\\]|\\.)*"|[-\d.e]+|null|true|false)(?=[,\]}])', lines[at]))
                if values:
                    low, high = draw.choice(values).span()
                    lines[at] = lines[at][:low] + _json(draw) + lines[at][high:]
    data = "\n".join(lines).encode()
    return _spoil_bytes(draw, data) if draw.random() < 0.1 else data


def _json(draw: random.Random) -> str:
    letters = f'"{draw.choice(LETTERS)}"'
    plain = ("null", "true", "[]", "{}", "NaN", "-Infinity", "1e400", "-1", "0", "1e300", "1e-320", "9" * 4301, '""')
    return draw.choice((letters, draw.choice(plain), f"{10.0 ** draw.uniform(-6, 6):.4g}", '"' + "a b" * 33_000 + '"'))


def _spoilt(draw: random.Random, lines: list[str], known: list[tuple[str, str]]) -> bytes:
    """Every third file has some numbers nudged only, so that it comes farther than the door."""
    nudged = draw.random() < 0.3
    for _ in range(draw.choice((1, 1, 1, 1, 2, 3, 5, 8))):
        if nudged:
            _nudge(draw, lines)
        else:
            _spoil(draw, lines, known)
    if nudged:
        return "\n".join(lines).encode()
    data = "\n".join(lines).encode()
    return _spoil_bytes(draw, data) if draw.random() < 0.1 else data


def _open_doors(draw: random.Random, lines: list[str]) -> None:
    """Some of the tables that the kind leaves out, written for its strings."""
    strings = sum(line.startswith("[[strings]]") for line in lines)

    def for_each(text: str) -> list[str]:
        text = re.sub(r'EACH ("[^"]*"|[\d.]+)', lambda value: f"[{', '.join([value[1]] * strings)}]", text)
        text = re.sub(r"FROM ([\d.]+)", lambda value: f"{[float(value[1]) + 7.0 * n for n in range(strings)]}", text)
        return text.splitlines()

    for table in draw.sample(sorted(DOORS), draw.choice((1, 1, 2, 4))):
        if f"[{table}]" not in (line.split("#")[0].strip() for line in lines):
            lines += [f"[{table}]", *for_each(DOORS[table])]
    if draw.random() < 0.3 and "[setup]" in lines:
        at = lines.index("[setup]") + 1
        lines[at:at] = for_each(SETUP)
    if draw.random() < 0.1:
        lines.insert(0, 'string_set = "mine"')


@cache
def _lines(name: str) -> list[str]:
    return (kind_path(name) if name in kind_names() else start_path(name)).read_text("utf-8").splitlines()


@cache
def _known(piece: bool) -> list[tuple[str, str]]:
    """Every key that a table may hold, behind its table."""
    schema: dict[str, Any] = (PieceSpec if piece else Spec).json_schema()
    found = []
    for table, about in schema["properties"].items():
        for one in (about, *about.get("anyOf", ()), about.get("items", {})):
            name = one.get("$ref", "").rpartition("/")[2]
            found += [(table, key) for key in schema["$defs"].get(name, {}).get("properties", {})]
    return found


def _value(draw: random.Random) -> str:
    """A number of any size, one that may be meant in any of the ways to write it, letters, or what nobody expects."""
    a, b = (10.0 ** draw.uniform(-2, 2) for _ in range(2))
    written = (f"{a:.2f}", f'"{a:.3f} in"', f"[{a:.2f}, {b:.3f}]", f"{{ bass = {a:.3g}, treble = {b:.3g} }}")
    letters = f'"{draw.choice(("", "E2", "1 5/8 in"))}{draw.choice(LETTERS)}{draw.choice(("", "b"))}"'
    size = f"{draw.choice((-1, 1)) * 10.0 ** draw.uniform(-6, 6):.4g}"
    return draw.choice((size, draw.choice(written), draw.choice(written), letters, draw.choice(VALUES)))


def _nudge(draw: random.Random, lines: list[str]) -> None:
    """One number made up to three times larger or smaller."""
    numbers = [(at, one) for at, line in enumerate(lines) for one in re.finditer(r"(?<=[ \[])\d+(\.\d+)?", line)]
    at, one = draw.choice(numbers)
    nudged = float(one[0]) * 3.0 ** draw.uniform(-1.0, 1.0)
    lines[at] = f"{lines[at][: one.start()]}{nudged if one[1] else round(nudged)}{lines[at][one.end() :]}"


def _spoil(draw: random.Random, lines: list[str], known: list[tuple[str, str]]) -> None:
    """One line more, fewer, or another."""
    at = draw.randrange(len(lines))
    key = re.match(r"(\w+) = ", lines[at])
    match draw.randrange(10):
        case 0 | 1 | 2 | 3 if key:
            lines[at] = f"{key[1]} = {_value(draw)}"
        case 4:
            del lines[at]
        case 5:
            lines.insert(at, draw.choice(lines))
        case 6:
            lines.insert(at, f'"{draw.choice(KEYS)}" = {_value(draw)}')
        case 7:
            lines[at] = re.sub(r"\w+", draw.choice(("seat", "strings", "zz", "")), lines[at], count=1)
        case _:
            table, name = draw.choice(known)
            heads = [place for place, line in enumerate(lines) if line.split("#")[0].strip().strip("[]") == table]
            if not heads:
                lines.append(f"[{table}]")
            lines.insert(draw.choice(heads or [len(lines) - 1]) + 1, f"{name} = {_value(draw)}")


def _spoil_bytes(draw: random.Random, data: bytes) -> bytes:
    at = draw.randrange(len(data))
    return draw.choice(
        (
            data[:at],
            data[:at] + draw.randbytes(draw.randrange(1, 5)) + data[at:],
            data[:at] + bytes([draw.randrange(32)]) + data[at + 1 :],
            data.decode().encode("utf-16"),
        )
    )
