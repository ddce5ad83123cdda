"""How long the laying of a blank takes: whole commands, growth with the faces of a scan, a plain random search.

    python tests/benchmarks/stock.py [--runs N] [--patience SECONDS] [--quick]

Everything runs on one core, each measurement in a process of its own. Seconds are those of the processor,
so that what else the machine does hardly counts; memory is the most that the process and the reader of
meshes that it starts held, each by itself, taken together. `--quick` leaves out the largest scan and the random search.
Not a test: a busy machine must not fail a build.
"""

import argparse
import contextlib
import json
import math
import os
import re
import resource
import runpy
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve()
ROOT = HERE.parents[2]
PIECES = ROOT / "presets" / "pieces"
KIND = "bass-4-fifths"

CALIPERS = "import numpy, pydantic, scipy.spatial, scipy.optimize, typer, rich"
WRITTEN = ", trimesh, reportlab.pdfgen.canvas, jinja2"
"""What the commands cannot do without: to lay, and to write and read back."""

CASES = (
    ("shin-bone", KIND, 2.0),
    ("antler-beam", "electric-6", 2.0),
    ("shin-bone-scan", KIND, 10.0),
    ("antler-beam-scan", "electric-6", 10.0),
)
"""Piece, kind of nut, and the most that reading and laying may take [s]."""

UNIT = 1024.0 if sys.platform != "darwin" else 1024.0**2
"""Of memory, as the system tells it, in a MiB."""

MEMORY = 1024
"""The most that any of them may hold [MiB]."""

FACES = (10_000, 100_000, 1_000_000)

OPPOSED = (("shin-bone", KIND), ("antler-beam", "electric-6"), ("rod", "classical"))
"""Pieces and nuts on which the random search is tried: two with a core, one compact rod."""

LESS = 0.05
"""A search is as good when it falls short of the margin by no more than this [mm]."""

WIDTHS = (7, 7, 7, 9, 11, 7, 7, 7)
"""Of the columns of the first table."""

GROWN = ("read", "lay", "peak")

ROD = """title = "A round rod"
[[stations]]
at = 0.0
width = 19.0
height = 18.0
[[stations]]
at = 110.0
width = 17.0
height = 17.0
"""


# ---- what a process of its own measures -------------------------------------------------------------------------


def read_and_lay(path: str, kind: str) -> dict[str, float]:
    """Read a piece, solve a nut and lay it [s]."""
    from nutgen.nut import solve
    from nutgen.spec.presets import kind_path
    from nutgen.spec.read import read_piece, read_spec

    nut = solve(read_spec(kind_path(kind)))
    start = spent()
    from nutgen.stock.lay.lay import lay
    from nutgen.stock.sizing import block_of

    spec = read_piece(Path(path))
    if spec.scan is not None:
        from nutgen.stock.scan.piece import piece_from_scan

        piece, _ = piece_from_scan(spec, spec.folder)
    else:
        from nutgen.stock.calipers import piece_from_calipers

        piece = piece_from_calipers(spec)
    read = spent()
    answer = lay(piece, block_of(nut, piece.material, piece.permitted))
    done = spent()
    return {"read": read - start, "lay": done - read, "margin": answer.margin, "peak": peak()}


def command(path: str, kind: str, out: str) -> dict[str, float]:
    """The whole command, its answer thrown away."""
    from nutgen.cli import main as nutgen

    sys.argv = ["nutgen", "stock", kind, "--piece", path, "-o", out, "--json"]
    with open(os.devnull, "w") as nowhere, contextlib.redirect_stdout(nowhere), contextlib.suppress(SystemExit):
        nutgen()
    return {"peak": peak()}


def reader(path: str) -> dict[str, float]:
    """The reader of a piece's mesh, started by a process that holds little: a child is told to hold what that does."""
    from nutgen.spec.read import read_piece
    from nutgen.stock.scan.file import read_apart

    spec = read_piece(Path(path))
    if spec.scan is None:
        return {"peak": 0.0}
    read_apart(spec.folder / spec.scan.file, Path(spec.scan.file).suffix[1:])
    return {"peak": resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / UNIT}


def imports(names: str) -> dict[str, float]:
    """Bare imports."""
    exec(names, {})
    return {"peak": peak()}


def opposed(path: str, kind: str, how: str, patience: str) -> dict[str, float]:
    """The laying against a plain random search, on the same distances, in the same process.

    how : "poses", one after the other, or "steps", random ones from the best of them

    Both get what makes random poses good: their middles inside the piece, their length within the cone of the
    grain, many at once. A place that seems good enough over the lattice is measured against the triangles.
    """
    from nutgen.nut import solve
    from nutgen.spec.presets import kind_path
    from nutgen.spec.read import read_piece, read_spec
    from nutgen.stock.calipers import piece_from_calipers
    from nutgen.stock.lay.lay import lay
    from nutgen.stock.sizing import block_of

    piece = piece_from_calipers(read_piece(Path(path)))
    block = block_of(solve(read_spec(kind_path(kind))), piece.material, piece.permitted)
    lay(piece, block)  # once to warm up
    start = spent()
    wanted = lay(piece, block).margin - LESS
    ours = spent() - start
    start = spent()
    opponent = Opponent(piece, block, wanted, until=start + float(patience))
    best = opponent.by_poses() if how == "poses" else opponent.by_steps()
    return {"ours": ours, "theirs": spent() - start, "tries": opponent.tries, "wanted": wanted, "best": best}


class Opponent:
    """A plain random search that stops at a margin, or when its time is up; `tries` counts the poses."""

    def __init__(self, piece: Any, block: Any, wanted: float, *, until: float) -> None:
        import numpy as np

        from nutgen.stock.lay.laying import Laying
        from nutgen.stock.lay.search import relevant
        from nutgen.stock.lay.shapes import Samples, corners, frame_samples

        self.piece, self.block, self.wanted, self.until = piece, block, wanted, until
        self.laying, self.random, self.tries = Laying.of(piece, block), np.random.default_rng(1), 0
        regions = relevant(self.laying.field, block)
        self.few = [Samples(region, corners(region)) for region in regions]
        self.many = [frame_samples(region, 3.0) for region in regions]

    def poses(self, count: int) -> Any:
        """About so many, fewer where the piece fills its box badly: no middle nearer to the skin than half a block."""
        import numpy as np

        from nutgen.stock.lay.poses import along_grain, rotated

        vertices, skin = self.piece.skin.vertices, self.laying.field.walls["skin"].lattice
        middles = self.random.uniform(vertices.min(axis=0), vertices.max(axis=0), (2 * count, 3))
        middles = middles[skin.at(middles) < -min(self.block.size) / 2.0 - self.wanted]
        found, turns = len(middles), self.random.uniform(0.0, 2.0 * np.pi, (2, len(middles)))
        self.tries += found
        tries = along_grain(self.laying.field, middles, turns[0], self.random.random(found) < 0.5)
        about = turns[1][:, np.newaxis]
        unit = np.cos(about) * tries.axes[:, 1] + np.sin(about) * tries.axes[:, 2]
        lean = math.radians(self.piece.permitted.grain_deg) * np.sqrt(self.random.random(found))
        return replace(tries, axes=rotated(tries.axes, unit, lean))

    def room(self, samples: Any, tries: Any) -> Any:
        """The least room of each pose over the lattice."""
        from nutgen.stock.lay.poses import rooms

        return rooms(self.laying.field, samples, tries).min(axis=1)

    def by_poses(self) -> float:
        """Random poses; one that has less room at its corners than the best so far is not looked at further."""
        import numpy as np

        best = -np.inf
        while best < self.wanted and spent() < self.until:
            tries = self.poses(20_000)
            tries = tries.chosen(np.flatnonzero(self.room(self.few, tries) > best))
            if len(tries):
                best = self._measured(tries, self.room(self.many, tries), best)
        return best

    def by_steps(self) -> float:
        """From the best of many random poses random steps, shorter where they do not help; then from others."""
        import numpy as np

        from nutgen.stock.lay.poses import Poses, turned, with_grain

        best, walkers, reach = -np.inf, 150, self.block.length / 2.0
        while best < self.wanted and spent() < self.until:
            tries = self.poses(20_000)
            tries = tries.chosen(np.argsort(-self.room(self.few, tries))[:walkers])
            room, size = self.room(self.many, tries), np.full((walkers, 1), 2.0)
            while size.max() > 0.01 and best < self.wanted and spent() < self.until:
                by = self.random.normal(0.0, 1.0, (2, walkers, 3)) * size
                step = Poses(tries.centres + by[0], turned(tries.axes, by[1] / reach))
                step = with_grain(self.laying.field, step, most=self.laying.rules.most_off_grain)
                there = self.room(self.many, step)
                self.tries += walkers
                better = there > room
                tries = Poses(
                    np.where(better[:, np.newaxis], step.centres, tries.centres),
                    np.where(better[:, np.newaxis, np.newaxis], step.axes, tries.axes),
                )
                room, size = np.maximum(room, there), size * np.where(better, 1.3, 0.94)[:, np.newaxis]
                if there[better].max(initial=-np.inf) >= self.wanted:
                    best = self._measured(tries.chosen(better), room[better], best)
            best = self._measured(tries, room, best)
        return best

    def _measured(self, tries: Any, room: Any, best: float) -> float:
        """The best margin against the triangles, of poses that seem to have more over the lattice."""
        import numpy as np

        for index in np.argsort(-room)[:20]:
            if room[index] <= best or best >= self.wanted:
                break
            best = max(best, self.laying.margin(self.block, tries.pose(int(index))))
        return float(best)


def spent() -> float:
    """What this process and those that it waited for have taken of the processor [s]."""
    both = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in both)


def peak() -> float:
    """The most memory that this process has held [MiB]: its program's, not that of who started it, where told apart."""
    with contextlib.suppress(OSError), open("/proc/self/status") as status:
        return next(float(line.split()[1]) / 1024.0 for line in status if line.startswith("VmHWM"))
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / UNIT


# ---- who starts them --------------------------------------------------------------------------------------------


def alone(what: str, *words: str) -> dict[str, float]:
    """One measurement in a process of its own; `whole` is all that it took [s]."""
    threads = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    environment = {**os.environ, **threads, "PYTHONPATH": str(ROOT)}
    start = spent()
    line = [sys.executable, str(HERE), "--alone", what, *words]
    done = subprocess.run(line, env=environment, capture_output=True, text=True, check=False)
    whole = spent() - start
    if done.returncode:
        raise SystemExit(f"{what} {' '.join(words)}: {done.stderr}")
    return {**json.loads(done.stdout.splitlines()[-1]), "whole": whole}


def several(runs: int, what: str, *words: str) -> dict[str, float]:
    """The least seconds of some measurements, for what else the machine does only adds; the most memory."""
    found = [alone(what, *words) for _ in range(runs)]
    return {key: (max if key == "peak" else min)(one[key] for one in found) for key in found[0]}


def commands(runs: int, out: str) -> None:
    """The demo pieces: reading and laying alone, and the whole command against bare imports."""
    imported = several(runs, "imports", CALIPERS + WRITTEN)
    head = ("s", "limit", "MiB", "s", "imports", "ratio", "MiB", "limit")
    print(f"{'':17}{'read and lay':>21}{'whole command':>41}")
    print(f"{'':17}" + "".join(f"{word:>{width}}" for word, width in zip(head, WIDTHS, strict=True)))
    for name, kind, limit in CASES:
        path = str(PIECES / f"{name}.toml")
        part, whole = several(runs, "lay", path, kind), several(runs, "command", path, kind, out)
        beside = alone("reader", path)["peak"]
        row = (
            f"{part['read'] + part['lay']:.2f}", f"{limit:.0f}", f"{part['peak'] + beside:.0f}",
            f"{whole['whole']:.2f}", f"{imported['whole']:.2f}", f"{whole['whole'] / imported['whole']:.2f}",
            f"{whole['peak'] + beside:.0f}", f"{MEMORY}",
        )  # fmt: skip
        print(f"{name:17}" + "".join(f"{word:>{width}}" for word, width in zip(row, WIDTHS, strict=True)), flush=True)


def growth(runs: int, folder: Path, faces: tuple[int, ...]) -> None:
    """The same bone scanned more and more finely; the exponent is that of a power of its faces.

    The reader splits the large triangles of a coarse scan, so that little is saved by fewer of them.
    """
    print(f"{'scan of':18}{'read s':>9}{'lay s':>9}{'MiB':>9}{'margin mm':>11}")
    found = []
    for count, path in scans(folder, faces):
        one = {**several(runs, "lay", str(path), KIND), "faces": count}
        one["peak"] += alone("reader", str(path))["peak"]
        found.append(one)
        row = f"{one['read']:9.2f}{one['lay']:9.2f}{one['peak']:9.0f}{one['margin']:11.3f}"
        print(f"{one['faces']:>11,.0f} faces {row}", flush=True)
    for less, more in pairwise(found):
        powers = [math.log(more[key] / less[key]) / math.log(more["faces"] / less["faces"]) for key in GROWN]
        row = "".join(f"{power:9.2f}" for power in powers)
        print(f"{'exponent':18}{row}   from {less['faces']:,.0f} to {more['faces']:,.0f}")


def scans(folder: Path, faces: tuple[int, ...]) -> Iterator[tuple[int, Path]]:
    """Scans of the demo bone with about so many faces, its core as much finer or coarser: their faces, piece files."""
    script: dict[str, Any] = runpy.run_path(str(ROOT / "tests" / "stock" / "make_scans.py"))
    bone = script["BONE"]
    for count in faces:
        finer = math.sqrt(count / 100_000)
        grids = [tuple(max(4, round(n * finer)) for n in grid) for grid in (bone.grid, bone.core_grid)]
        place = folder / f"{count}"
        place.mkdir()
        for name, content in script["scans"](replace(bone, grid=grids[0], core_grid=grids[1])).items():
            (place / name).write_bytes(content)
        path = place / "bone.toml"
        path.write_bytes((PIECES / "shin-bone-scan.toml").read_bytes())
        yield int(re.search(rb"element face (\d+)", (place / "shin-bone.ply").read_bytes())[1]), path


def opponents(folder: Path, patience: float) -> None:
    """How long random poses take to come as near, and random steps from the best of many."""
    rod = folder / "rod.toml"
    rod.write_text(ROD)
    print(f"{'as good as laid':18}{'lay s':>9}{'random':>10}{'s':>8}{'ratio':>8}{'poses':>14}{'short mm':>10}")
    for name, kind in OPPOSED:
        path = rod if name == "rod" else PIECES / f"{name}.toml"
        for how in ("poses", "steps"):
            one = alone("opposed", str(path), kind, how, f"{patience}")
            over = ">" if one["best"] < one["wanted"] else ""
            taken, ratio = (f"{over}{figure:.3g}" for figure in (one["theirs"], one["theirs"] / one["ours"]))
            row = f"{one['ours']:9.2f}{how:>10}{taken:>8}{ratio:>8}{one['tries']:>14,.0f}"
            print(f"{name:18}{row}{one['wanted'] + LESS - one['best']:10.2f}", flush=True)


ALONE = {"lay": read_and_lay, "command": command, "reader": reader, "imports": imports, "opposed": opposed}


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--patience", type=float, default=20.0, help="with each random search [s]")
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--alone", nargs="+", help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.alone:
        what, *words = given.alone
        print(json.dumps(ALONE[what](*words)))
        return
    if hasattr(os, "sched_setaffinity"):  # what is started here stays on the same core
        os.sched_setaffinity(0, {max(os.sched_getaffinity(0))})
    with tempfile.TemporaryDirectory() as folder:
        commands(given.runs, folder)
        print()
        growth(1, Path(folder), FACES[:2] if given.quick else FACES)
        if not given.quick:
            print()
            opponents(Path(folder), given.patience)


if __name__ == "__main__":
    main()
