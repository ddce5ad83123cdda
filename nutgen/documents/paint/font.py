"""The typefaces of the paper template: embedded, so that a page looks the same everywhere.

Vera comes with reportlab and serves nearly every page. Its descendant DejaVu Sans has the letters of
far more languages; it comes with matplotlib, which cadquery's viewer brings, and takes longer to
open, so it is used only for the words that need it. Where it is missing, a mark stands in.
"""

import importlib.util
import unicodedata
from functools import cache
from pathlib import Path
from typing import Literal

import reportlab
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

Typeface = Literal["Vera", "DejaVu"]

SUBSTITUTES = "Bitstream Vera Sans, DejaVu Sans, Verdana, sans-serif"
"""For files that name a typeface instead of holding it."""

_VERA = ("Vera.ttf", "VeraBd.ttf")
_DEJAVU = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")
_MARKS = "\N{REPLACEMENT CHARACTER}?"


def width(text: str, size: float, *, bold: bool = False, typeface: Typeface = "Vera") -> float:
    """Length of a line of words, in the unit of its size."""
    return float(_face(typeface, bold).stringWidth(text, size))


def font_name(typeface: Typeface, *, bold: bool) -> str:
    """The name under which reportlab knows a face."""
    return str(_face(typeface, bold).fontName)


def printable(text: str) -> tuple[str, Typeface, str]:
    """A text as a page can show it.

    returns : the text without control characters, a mark for each letter that no face has; the face
              to set it in; and the mark, where there is one
    """
    composed = unicodedata.normalize("NFC", text)
    plain = "".join(" " if unicodedata.category(c) in ("Cc", "Zl", "Zp") else c for c in composed)
    if all(_has("Vera", letter) for letter in plain):
        return plain, "Vera", ""
    best: Typeface = "DejaVu" if _folder() else "Vera"
    mark = next(mark for mark in _MARKS if _has(best, mark))
    shown = "".join(letter if _has(best, letter) else mark for letter in plain)
    return shown, best, mark if shown != plain else ""


def _has(typeface: Typeface, letter: str) -> bool:
    return all(ord(letter) in _face(typeface, bold).face.charToGlyph for bold in (False, True))


@cache
def _face(typeface: Typeface, bold: bool) -> TTFont:
    folder = Path(reportlab.__file__).parent / "fonts" if typeface == "Vera" else _folder()
    file = (_VERA if typeface == "Vera" else _DEJAVU)[bold]
    face = TTFont(f"{typeface}-{'bold' if bold else 'regular'}", f"{folder}/{file}")
    pdfmetrics.registerFont(face)
    return face


@cache
def _folder() -> Path | None:
    """Where DejaVu is; None where it is not."""
    found = importlib.util.find_spec("matplotlib")
    for place in found.submodule_search_locations or () if found else ():
        folder = Path(place) / "mpl-data" / "fonts" / "ttf"
        if all((folder / name).is_file() for name in _DEJAVU):
            return folder
    return None
