"""The way of each command through the house: its rooms in the order in which they are first entered.

    python tests/benchmarks/walks.py [COMMAND]

A reader who follows a command reads each function once, where it is first called. A stay is a run of such
functions in one room: the fewer stays, the less the reader goes to and fro. Formulas of `theory` are looked up
from everywhere, so stays are counted without them too. With a COMMAND every stay is shown.
"""

import contextlib
import inspect
import io
import os
import sys
import tempfile
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from types import FrameType
from typing import Any
from unittest.mock import patch

import nutgen
from nutgen.cli import main

SOURCE = Path(nutgen.__file__).parent
DEMO = "bass-4-fifths"
DRY_FIT = "\n[dry_fit]\nfeeler = [0.80, 0.70, 0.45, 0.60]\nrelief = 0.30\naction = { bass = 2.4, treble = 2.0 }\n"
WALKS = {
    "presets": ("presets",),
    "new": ("new", "other.toml", "--from", DEMO),
    "schema": ("schema",),
    "explain": ("explain",),
    "check": ("check", DEMO),
    "make": ("make", DEMO),
    "tension": ("tension", DEMO),
    "heights": ("heights", DEMO),
    "setup": ("setup", DEMO),
    "compare": ("compare", "bass-4", "bass-4-fifths"),
    "reuse": ("reuse", DEMO),
    "stages": ("stages", DEMO),
    "dryfit": ("dryfit", "mine.toml"),
    "log": ("log", "mine.toml"),
    "coupon": ("coupon", DEMO),
    "stock": ("stock", DEMO, "--piece", "shin-bone"),
}


def walk(words: tuple[str, ...]) -> list[tuple[str, str]]:
    """Room and name of every function that a command calls, in the order of the first calls."""
    seen: dict[Any, tuple[str, str]] = {}

    def note(frame: FrameType, event: str, _: Any) -> None:
        code = frame.f_code
        is_function = code.co_flags & inspect.CO_OPTIMIZED  # class bodies run when a module is loaded
        if event == "call" and is_function and code not in seen and _ours(code.co_filename):
            inside = Path(code.co_filename).relative_to(SOURCE)
            if not code.co_name.startswith("<") and inside.parent != Path():
                seen[code] = str(inside.parent), f"{inside.stem}.{code.co_qualname}"

    with patch.object(sys, "argv", ["nutgen", *words]), _quiet(), contextlib.suppress(SystemExit):
        sys.setprofile(note)
        try:
            main()
        finally:
            sys.setprofile(None)
    return list(seen.values())


def _ours(file: str) -> bool:
    return file.startswith(str(SOURCE)) and file.endswith(".py")


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        yield


def show(name: str, *, stays: bool) -> None:
    """Print a walk."""
    functions = walk(WALKS[name])
    runs = [(room, [function for _, function in group]) for room, group in groupby(functions, key=lambda one: one[0])]
    apart = [room for room, _ in groupby(room for room, _ in functions if room != "theory")]
    rooms = " > ".join(dict.fromkeys(room for room, _ in functions))
    print(f"{name:8} {len(runs):3} stays, {len(apart):3} but for theory  {rooms}")
    for room, names in runs if stays else ():
        print(f"    {room}: {', '.join(names)}")


if __name__ == "__main__":
    wanted = sys.argv[1:] or list(WALKS)
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        kind = Path(nutgen.__file__).parents[1] / "presets" / f"{DEMO}.toml"
        Path("mine.toml").write_text(kind.read_text("utf-8") + DRY_FIT, "utf-8")
        for one in wanted:
            show(one, stays=len(sys.argv) > 1)
