"""Files and screens of an instrument written in inches, as somebody reads them who knows no millimetre.

A millimetre may be named where its inch stands beside it: a check bar, what a machine is set to.
"""

import html
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import ezdxf
import pypdfium2
import pytest

from tests.calling import run
from tests.conftest import Made
from tests.kinds import text_of

KIND = "acoustic-6-inches"
METRIC = re.compile(r"(?<![a-z])[mc]m(?![a-z])|(?<![a-z])(milli|centi)met", re.IGNORECASE)
INCH = re.compile(r"\d\)? in\b|\binch")
BESIDE = 45  # letters on either side

MORE = {
    "old_nut": {
        "centres": [0.16, 0.48, 0.79, 1.09, 1.39, 1.68],
        "widths": [0.056, 0.045, 0.036, 0.030, 0.018, 0.014],
        "floors": [0.050, 0.052, 0.050, 0.048, 0.046, 0.044],
        "floors_from": "fret plane",
    },
    "dry_fit": {"feeler": [0.025, 0.024, 0.010, 0.021, 0.020, 0.019], "relief": 0.008},
}
SLIPS = {
    "fretboard.width": 41.0,
    "seat.depth": 5.0,
    "setup.relief": 0.9,
    "strings.0.gauge": 0.9,
    "slots.clearance": 0.5,
}
SCREENS = [
    ("check",),
    ("tension", "--suggest", "even"),
    ("tension", "--against", "acoustic-6"),
    ("heights",),
    ("heights", "--lowest"),
    ("heights", "--feeler", "0.02"),
    ("reuse",),
    ("stages",),
    ("dryfit",),
]


def without_inch(text: str) -> list[str]:
    """Each place that names a metric unit and no inch near it."""
    flat = " ".join(text.split())
    around = (flat[max(0, found.start() - BESIDE) : found.end() + BESIDE] for found in METRIC.finditer(flat))
    return [words for words in around if not INCH.search(words)]


def read(path: Path) -> str:
    """What a person sees in a file; nothing where a program alone reads it."""
    match path.suffix:
        case ".txt":
            return path.read_text("utf-8")
        case ".pdf":
            return "\n".join(page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(path))
        case ".dxf":
            return "\n".join(note.dxf.text for note in ezdxf.readfile(path).modelspace().query("TEXT"))
        case ".svg" | ".html":
            seen = re.sub(r"<(script|style)\b.*?</\1>", " ", path.read_text("utf-8"), flags=re.DOTALL)
            return html.unescape(re.sub(r"<[^>]*>", " ", seen))
        case _:
            return ""


def words_of(folder: Path) -> Iterator[tuple[str, str]]:
    for path in sorted(folder.rglob("*")):
        if path.is_file() and (text := read(path)):
            yield path.name, text


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the file, an old nut and readings in it."""
    folder = tmp_path_factory.mktemp("bench")
    (folder / "mine.toml").write_text(text_of(KIND, MORE), "utf-8")
    return folder


@pytest.mark.parametrize("words", SCREENS, ids=" ".join)
def test_a_screen(words: tuple[str, ...], bench: Path) -> None:
    command, *options = words
    done = run(command, "mine.toml", *options, cwd=bench)
    assert done.stdout, done.stderr
    assert without_inch(done.stdout + done.stderr) == []


@pytest.mark.parametrize("key", SLIPS)
def test_a_refusal(key: str, tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(text_of(KIND, {key: SLIPS[key]}), "utf-8")
    done = run("check", "mine.toml", cwd=tmp_path)
    assert done.returncode, done.stdout
    assert without_inch(done.stderr) == []


def test_a_reader_of_millimetres_has_no_inch_beside_them(tmp_path: Path) -> None:
    """What is asserted of inches fails where it should."""
    for command in ("check", "stages"):
        assert without_inch(run(command, "acoustic-6", cwd=tmp_path).stdout)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("words", "files"),
    [
        (("make", KIND), 10),
        (("coupon", KIND), 1),
        (("stock", KIND, "--piece", "shin-bone", "--count", "3", "--paper", "letter"), 3),
    ],
    ids=["make", "coupon", "stock"],
)
def test_every_file(words: tuple[str, ...], files: int, made: Callable[..., Made]) -> None:
    one = made(*words)
    told = {name: without_inch(text) for name, text in words_of(one.folder)}
    assert len(told) >= files
    assert {name: found for name, found in told.items() if found} == {}
    assert without_inch(one.said) == []
