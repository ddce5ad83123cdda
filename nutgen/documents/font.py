"""The typefaces of everything that is painted: embedded, so that a page looks the same everywhere.

Vera comes with reportlab and serves nearly every page. Its descendant DejaVu Sans has the letters of
far more languages; it comes with matplotlib and takes longer to open, so it is used only for the words
that need it.
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
MARK = "\N{REPLACEMENT CHARACTER}"
"""Stands for a letter that no face has."""


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
    shown = "".join(letter if _has("DejaVu", letter) else MARK for letter in plain)
    return shown, "DejaVu", MARK if shown != plain else ""


def _has(typeface: Typeface, letter: str) -> bool:
    return all(ord(letter) in _face(typeface, bold).face.charToGlyph for bold in (False, True))


@cache
def _face(typeface: Typeface, bold: bool) -> TTFont:
    if typeface == "Vera":
        file = Path(reportlab.__file__).parent / "fonts" / _VERA[bold]
    else:
        file = _package("matplotlib") / "mpl-data" / "fonts" / "ttf" / _DEJAVU[bold]
    face = TTFont(f"{typeface}-{'bold' if bold else 'regular'}", str(file))
    pdfmetrics.registerFont(face)
    return face


def _package(name: str) -> Path:
    """Where a package is, without the time that importing it takes."""
    found = importlib.util.find_spec(name)
    if found is None or found.origin is None:
        raise ModuleNotFoundError(name)
    return Path(found.origin).parent
