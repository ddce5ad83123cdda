"""Instrument and piece files as nobody means them: one of ours with some of its lines spoilt, drawn by a seed."""

import random
import re
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
KEYS = ("a\\u001b[31mb", "a\\nb", "", " ", "k" * 100_000, "木", "x.y", "__class__", "\\u202e", "%s{0}")


def hostile_file(seed: int, *, piece: bool = False) -> bytes:
    """The bytes of a file: half of them have one spoilt line, one of ten is spoilt in its bytes too."""
    draw = random.Random(seed)
    lines = _lines(draw.choice(piece_names() if piece else kind_names())).copy()
    for _ in range(draw.choice((1, 1, 1, 1, 2, 3, 5, 8))):
        _spoil(draw, lines, _known(piece))
    data = "\n".join(lines).encode()
    return _spoil_bytes(draw, data) if draw.random() < 0.1 else data


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
