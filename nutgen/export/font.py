"""The typeface of the paper template: embedded, so that a page looks the same everywhere.

DejaVu Sans comes with matplotlib, which cadquery's viewer brings; where it is missing, its
ancestor Vera stands in, which comes with reportlab and has fewer letters.
"""

import importlib.util
import unicodedata
from functools import cache
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

REGULAR, BOLD = "nutgen-regular", "nutgen-bold"
FAMILY = "DejaVu Sans"

_DEJAVU = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")
_VERA = ("Vera.ttf", "VeraBd.ttf")
_MARKS = "\N{REPLACEMENT CHARACTER}?"


def width(text: str, size: float, *, bold: bool = False) -> float:
    """Length of a line of words, in the unit of its size."""
    return float(_face(bold).stringWidth(text, size))


def printable(text: str) -> str:
    """The text as the page can show it: no control characters, a mark for each letter that the face lacks."""
    return "".join(letter if _has(letter) else _mark() for letter in _plain(text))


def lacking(text: str) -> str:
    """The mark, where it stands in the printable text for a letter that the face lacks; else nothing."""
    return "" if all(_has(letter) for letter in _plain(text)) else _mark()


def _plain(text: str) -> str:
    """Composed letters, and spaces for what breaks a line or steers a terminal."""
    composed = unicodedata.normalize("NFC", text)
    return "".join(" " if unicodedata.category(c) in ("Cc", "Zl", "Zp") else c for c in composed)


def _has(letter: str) -> bool:
    return all(ord(letter) in _face(bold).face.charToGlyph for bold in (False, True))


def _mark() -> str:
    return next(mark for mark in _MARKS if _has(mark))


def register() -> None:
    """Make the faces known to reportlab under REGULAR and BOLD."""
    _face(False), _face(True)


@cache
def _face(bold: bool) -> TTFont:
    face = TTFont(BOLD if bold else REGULAR, str(_file(bold)))
    pdfmetrics.registerFont(face)
    return face


def _file(bold: bool) -> Path | str:
    found = importlib.util.find_spec("matplotlib")
    for folder in found.submodule_search_locations or () if found else ():
        path = Path(folder) / "mpl-data" / "fonts" / "ttf" / _DEJAVU[bold]
        if path.is_file():
            return path
    return _VERA[bold]
