"""Whole commands killed at random moments, and judged after the next run; by hand, as a kill needs seconds.

    python -m tests.jobs.kills CASE [COUNT] [SEED]

Two calls that write different sets into one folder take turns: after a kill the old set stands there or the new one,
or the next run says that it placed what was missing; after that run its set is there, byte for byte, and nothing beside
it. Each call is a copy of this process, in which the command line is loaded already, so that most kills hit the work.
"""

import hashlib
import io
import os
import random
import signal
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

import nutgen.cli

CASES = {
    "trace": (["make", "bass-4-fifths", "--for", "trace"], ["--paper", "letter"]),
    "print": (["make", "bass-4-fifths", "--for", "print"], ["--layer", "0.3"]),
    "mill": (["make", "bass-4-fifths", "--for", "mill"], ["--cutter", "2 ball"]),
    "all": (["make", "bass-4-fifths"], ["--paper", "letter"]),
    "stock": (["stock", "bass-4-fifths", "--piece", "shin-bone"], ["--paper", "letter"]),
    "no": (["stock", "bass-6", "--piece", "antler-beam"], ["--paper", "letter"]),
    "jigs": (["jigs", "bass-4-fifths", "--jig", "comb"], ["--paper", "letter"]),
    "coupon": (["coupon", "bass-4-fifths", "--string", "1"], ["--string", "3"]),
}
"""A call, and what makes it write another set."""


class Ended(NamedTuple):
    """A call that was waited for; no code where it was killed."""

    code: int | None
    told: str
    seconds: float


def call(words: list[str], folder: Path, *, within: float = 600.0) -> Ended:
    """Run the command line in a copy of this process, and kill it when its time is up."""
    began, (reader, writer) = time.monotonic(), os.pipe()
    child = os.fork()
    if not child:
        os.setsid()
        os.chdir(folder)
        os.dup2(writer, 1)
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
        sys.stdout, sys.argv = io.TextIOWrapper(io.FileIO(1, "w")), ["nutgen", *words]
        try:
            nutgen.cli.main()
        except SystemExit as stop:
            sys.stdout.flush()
            os._exit(int(stop.code or 0))
        finally:
            os._exit(99)
    os.close(writer)
    while (ended := os.waitpid(child, os.WNOHANG)) == (0, 0):
        if time.monotonic() - began > within:
            os.killpg(child, signal.SIGKILL)
            os.waitpid(child, 0)
            os.close(reader)
            return Ended(None, "", within)
        time.sleep(0.002)
    with open(reader, encoding="utf-8") as told:
        return Ended(os.waitstatus_to_exitcode(ended[1]), told.read(), time.monotonic() - began)


def standing(folder: Path) -> dict[str, str]:
    """The files of a folder, with what they hold."""
    return {str(path): hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.rglob("*") if path.is_file()}


def seen(files: dict[str, str]) -> dict[str, str]:
    """Those that a maker sees."""
    return {name: held for name, held in files.items() if "/." not in name}


def main(case: str, count: int = 100, seed: int = 1) -> None:
    draw, (plain, other) = random.Random(seed), CASES[case]
    calls, killed, mended, faults = (plain, [*plain, *other]), 0, 0, list[str]()
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        first = [(call(words, folder), standing(folder)) for words in calls]
        for turn in range(count):
            which, before = draw.randrange(2), standing(folder)
            late = draw.choice((0.0, 0.7))
            killed += call(calls[which], folder, within=draw.uniform(late, 1.05) * first[which][0].seconds).code is None
            mixed = seen(standing(folder)) not in (before, first[which][1])
            which = draw.randrange(2)
            after = call(calls[which], folder)
            said = "placed now" in " ".join(after.told.split())
            mended += mixed and said
            if after.code != first[which][0].code or standing(folder) != first[which][1] or (mixed and not said):
                faults.append(f"turn {turn}: ends with {after.code}, {'mixed' if mixed else 'not mixed'}")
    print(
        *faults, f"{case}: {killed} killed of {count}, {mended} mended by the next run, {len(faults)} faults", sep="\n"
    )


if __name__ == "__main__":
    main(sys.argv[1], *map(int, sys.argv[2:]))
