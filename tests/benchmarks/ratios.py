"""How long the commands take, as ratios of the bare imports they cannot do without.

    python tests/benchmarks/ratios.py [--runs N]

Every figure is a whole process, started N times in turn with its baseline, so that a machine
that slows down slows both. Printed are the ratio of the medians, the limit and peak memory.
Not a test: a busy machine must not fail a build.
"""

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass

CHECK = "import typer, pydantic, numpy, rich"
PAPER = f"{CHECK}, ezdxf, reportlab.pdfgen.canvas"
ALL = f"{PAPER}, reportlab.platypus, jinja2, PIL.Image, trimesh, manifold3d, lib3mf, cadquery"


@dataclass(frozen=True, slots=True)
class Case:
    """A command against a baseline: the limit is on the ratio of their median times."""

    name: str
    command: list[str]
    baseline: str
    limit: float


def nutgen(*words: str) -> list[str]:
    """A call of the command line in this interpreter."""
    return [sys.executable, "-c", "from nutgen.cli import main; main()", *words]


def cases(out: str) -> list[Case]:
    """Every figure that the project promises."""
    demo, make = "bass-4-fifths", ("make", "-o", out)
    return [
        Case("--help", nutgen("--help"), CHECK, 1.5),
        Case("check", nutgen("check", demo), CHECK, 1.5),
        Case("make --for trace", nutgen(*make, demo, "--for", "trace"), PAPER, 1.5),
        Case("make --for print", nutgen(*make, "electric-6", "--for", "print"), "import cadquery", 2.0),
        Case("make --for mill", nutgen(*make, "electric-6", "--for", "mill"), "import cadquery", 2.0),
        Case("coupon", nutgen("coupon", "electric-6", "-o", out), "import cadquery", 2.0),
        Case("make, all its imports", nutgen(*make, demo), ALL, 1.25),
        Case("make, the kernel alone", nutgen(*make, demo), "import cadquery", 2.0),
    ]


def seconds(command: list[str]) -> float:
    """Wall time of one run."""
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    return time.perf_counter() - start


def medians(a: list[str], b: list[str], runs: int) -> tuple[float, float]:
    """Median times of two commands, run in turn after one warm-up each."""
    seconds(a), seconds(b)
    pairs = [(seconds(a), seconds(b)) for _ in range(runs)]
    return statistics.median(p[0] for p in pairs), statistics.median(p[1] for p in pairs)


def peak_mib(command: list[str]) -> float:
    """Peak memory of one run, measured from a process of its own."""
    code = (
        "import resource, subprocess, sys; subprocess.run(sys.argv[1:], check=True, stdout=subprocess.DEVNULL);"
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024)"
    )
    done = subprocess.run([sys.executable, "-c", code, *command], check=True, capture_output=True, text=True)
    return float(done.stdout.split()[-1])


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=7)
    runs = parser.parse_args().runs
    with tempfile.TemporaryDirectory() as out:
        print(f"{'':34}{'median s':>10}{'baseline':>10}{'ratio':>8}{'limit':>8}")
        for case in cases(out):
            ours, base = medians(case.command, [sys.executable, "-c", case.baseline], runs)
            print(f"{case.name:34}{ours:10.3f}{base:10.3f}{ours / base:8.2f}{case.limit:8.2f}")
        one, two = (nutgen("make", "-o", out, *kinds) for kinds in (["electric-6"], ["electric-6", "acoustic-6"]))
        single, double = medians(one, two, runs)
        base = statistics.median(seconds([sys.executable, "-c", ALL]) for _ in range(runs))
        print(f"{'each further nut':34}{double - single:10.3f}{base:10.3f}{(double - single) / base:8.2f}{0.25:8.2f}")
        more = peak_mib(nutgen("make", "-o", out, "acoustic-12")) - peak_mib([sys.executable, "-c", ALL])
        print(f"{'make, peak memory over imports':34}{more:10.0f} MiB{'':15}{150:7} MiB")


if __name__ == "__main__":
    main()
