"""`compare`: what changes from one file to another, or since it was last made."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

import nutgen
from nutgen.commands.common import AsJson, File, ShownIn, print_json, say, solve_one, units_for

if TYPE_CHECKING:
    from nutgen.spec.tables import Spec


def compare(
    file: File,
    other: Annotated[
        str | None,
        typer.Argument(metavar="[OTHER]", help="File or kind to go to; without it, from what was last made."),
    ] = None,
    units: ShownIn = None,
    as_json: AsJson = False,
) -> None:
    """What changes in numbers, heights and pull, and what it takes at the bench. Writes nothing."""
    from nutgen.bench.compare import compared
    from nutgen.play.pull import change, pull_now

    if other is None:
        (before, name), (after, becomes) = _last_made(file), solve_one(file)
        names = name, f"{file} as it is now"
    else:
        (before, _), (after, becomes) = solve_one(file), solve_one(other)
        names = file, other
    found = compared(before, nutgen.solve(before), after, becomes)
    pull = change(pull_now(after), pull_now(before), relief_per_100_n=after.instrument.relief_per_100_n)
    if as_json:
        from nutgen.jobs.record import head, plain

        print_json(plain({**head(after), "before": head(before), **plain(found), "pull_change_n": pull.total_n}))
        return
    from nutgen.documents.paint.text import show
    from nutgen.documents.screens.compare import compare_blocks
    from nutgen.documents.screens.tension import change_blocks

    stays = pull.by_string is not None and not pull.by_string.any()
    stiffness = after.instrument.relief_per_100_n
    of_pull = () if stays else change_blocks(pull, names[0], stiffness, stop=False)
    show(compare_blocks(after.title, names, found, of_pull), units=units_for(after, units))


def _last_made(file: str) -> "tuple[Spec, str]":
    """The file as it was when it was last made, and how to name it; raises SpecFaults where it never was."""
    from nutgen.bench.dryfit.fitlog import Making, log_path, read_log
    from nutgen.errors import SpecFaults
    from nutgen.finding import refusal
    from nutgen.spec.read import parse_spec, spec_hash

    made = [one for one in read_log(log_path(Path(file)))[0] if isinstance(one, Making)]
    if not made:
        raise SpecFaults(file, [refusal("compare.never-made")])
    name = f"{file} as made {made[-1].made[:10]}"
    spec = parse_spec(made[-1].text, source=name)
    if spec_hash(spec) != made[-1].hash:
        say(f"{name} reads otherwise now: options, a set of strings or nutgen itself have changed since")
    return spec, name
