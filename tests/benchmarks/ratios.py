"""How long the commands take, as ratios of the bare imports they cannot do without.

    python tests/benchmarks/ratios.py [--runs N]

Every figure is a whole process, started N times in turn with its baseline, so that a machine
that slows down slows both; the fastest run of each is the least disturbed one. Printed are the ratio
of these two, the limit and whether it is kept. What a command "imports" are those of the libraries below
that it has loaded when it ends, all its work done in one process.
Not a test: a busy machine must not fail a build.
"""

import argparse
import subprocess
import sys
import tempfile
import time
from compileall import compile_dir
from dataclasses import dataclass

import nutgen as nutgen_package

START = "typer, numpy, rich, pydantic"
KERNEL = "cadquery"
LIBRARIES = (
    "typer", "pydantic", "numpy", "rich", "tomlkit", "scipy.optimize", "scipy.spatial", "ezdxf",
    "reportlab.pdfgen.canvas", "reportlab.platypus", "jinja2", "PIL.Image", "matplotlib.figure", "trimesh",
    "manifold3d", "lib3mf", "cadquery",
)  # fmt: skip
RUN = "from nutgen.cli import main; main()"


@dataclass(frozen=True, slots=True)
class Case:
    """A command against imports: the limit is on the ratio of their times.

    imports : modules; empty stands for what the command itself imports
    """

    name: str
    words: tuple[str, ...]
    imports: str
    limit: float


def cases(out: str) -> list[Case]:
    """Every figure that the project promises."""
    demo, make = "bass-4-fifths", ("make", "-o", out)
    return [
        Case("--help", ("--help",), START, 1.5),
        Case("check", ("check", demo), START, 3.0),
        Case("make --for trace", (*make, demo, "--for", "trace"), "", 2.0),
        Case("make", (*make, demo), "", 1.25),
        Case("make, by the kernel", (*make, demo), KERNEL, 2.0),
        Case("make --for print, by the kernel", (*make, "electric-6", "--for", "print"), KERNEL, 2.0),
        Case("make --for mill, by the kernel", (*make, "electric-6", "--for", "mill"), KERNEL, 2.0),
        Case("coupon, by the kernel", ("coupon", "electric-6", "-o", out), KERNEL, 2.0),
    ]


def nutgen(*words: str) -> list[str]:
    """A call of the command line in this interpreter."""
    return [sys.executable, "-c", RUN, *words]


def importing(modules: str) -> list[str]:
    """A process that imports and ends."""
    return [sys.executable, "-c", f"import {modules}"]


def imports_of(words: tuple[str, ...]) -> str:
    """The libraries that a command has loaded when it ends."""
    code = (
        "import atexit, sys, threading\n"
        "threading.Thread(target=threading.Event().wait, daemon=True).start()  # with two threads nothing is forked\n"
        f"atexit.register(lambda: print([m for m in {LIBRARIES} if m in sys.modules], file=sys.stderr))\n"
        f"{RUN}"
    )
    done = subprocess.run([sys.executable, "-c", code, *words], check=True, capture_output=True, text=True)
    return done.stderr.splitlines()[-1].strip("[]").replace("'", "")


def seconds(command: list[str]) -> float:
    """Wall time of one run."""
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return time.perf_counter() - start


def fastest(a: list[str], b: list[str], runs: int) -> tuple[float, float]:
    """Shortest times of two commands, run in turn."""
    pairs = [(seconds(a), seconds(b)) for _ in range(runs)]
    return min(p[0] for p in pairs), min(p[1] for p in pairs)


def peak_mib(command: list[str]) -> float:
    """Peak memory of one run, measured from a process of its own."""
    code = (
        "import resource, subprocess, sys; subprocess.run(sys.argv[1:], check=True, stdout=subprocess.DEVNULL);"
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024)"
    )
    done = subprocess.run([sys.executable, "-c", code, *command], check=True, capture_output=True, text=True)
    return float(done.stdout.split()[-1])


def line(name: str, ours: float, base: float, limit: float) -> str:
    """A row of the table."""
    kept = "ok" if ours <= limit * base else "over"
    return f"{name:34}{ours:10.3f}{base:10.3f}{ours / base:8.2f}{limit:8.2f}  {kept}"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=8)
    runs = parser.parse_args().runs
    compile_dir(nutgen_package.__path__[0], quiet=1)  # as an installer does; else every run reads the source anew
    with tempfile.TemporaryDirectory() as out:
        print(f"{'':34}{'seconds':>10}{'imports':>10}{'ratio':>8}{'limit':>8}")
        for case in cases(out):
            imports = importing(case.imports or imports_of(case.words))
            print(line(case.name, *fastest(nutgen(*case.words), imports, runs), case.limit), flush=True)
        one, two = (nutgen("make", "-o", out, *kinds) for kinds in (["electric-6"], ["electric-6", "acoustic-6"]))
        single, double = fastest(one, two, runs)
        imports = imports_of(("make", "-o", out, "electric-6"))
        base = min(seconds(importing(imports)) for _ in range(runs))
        print(line("each further nut", double - single, base, 0.25))
        more = peak_mib(nutgen("make", "-o", out, "acoustic-12")) - peak_mib(importing(imports))
        print(f"make, peak memory over imports: {more:.0f} MiB, limit 150  {'ok' if more <= 150 else 'over'}")
        print(f"what make imports: {imports}")


if __name__ == "__main__":
    main()
