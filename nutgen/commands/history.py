"""`compare` and `log`: what changes from one file to another, and what was read and made over the months."""

from pathlib import Path
from typing import Annotated

import typer

import nutgen
from nutgen.bench.compare import compared
from nutgen.bench.dryfit.fitlog import Entry, Making, Reading, log_path, read_log
from nutgen.bench.dryfit.wear import of_this_nut, wear_told
from nutgen.commands.common import CANNOT, added_to_log, answered, now, say, solve_one, units_for, written
from nutgen.commands.options import AsJson, File, ShownIn, picture
from nutgen.documents.screens.history import compare_blocks, log_blocks
from nutgen.documents.screens.tension import change_blocks
from nutgen.errors import SpecFaults
from nutgen.finding import of_key, refusal
from nutgen.formats.stamp import Stamp
from nutgen.jobs.record import head
from nutgen.nut import Nut
from nutgen.play.buzz import buzz
from nutgen.play.heights import not_under_bar
from nutgen.play.pull import change, pull_now
from nutgen.spec.read import parse_spec, spec_hash
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
    if other is None:
        (before, name), (after, becomes) = _last_made(file), solve_one(file)
        was, names = nutgen.solve(before), (name, f"{file} as it is now")
    else:
        (before, was), (after, becomes) = solve_one(file), solve_one(other)
        names = file, other
    found = compared(before, was, after, becomes)
    stiffness = after.instrument.relief_per_100_n
    pull = change(pull_now(after), pull_now(before), relief_per_100_n=stiffness)
    of_pull = () if pull.stays else change_blocks(pull, names[0], stiffness, stop=False)
    parts = {"before": head(before)}, found, {"pull_change_n": pull.total_n}
    answered(compare_blocks(after.title, names, found, of_pull), after, units, *parts, as_json=as_json)


def _last_made(file: str) -> tuple[Spec, str]:
    """The file as it was when it was last made, and how to name it; raises SpecFaults where it never was."""
    made = [one for one in read_log(log_path(Path(file)))[0] if isinstance(one, Making)]
    if not made:
        raise SpecFaults(file, [refusal("compare.never-made")])
    name = f"{file} as made {made[-1].made[:10]}"
    spec = parse_spec(made[-1].text, source=name)
    if spec_hash(spec) != made[-1].hash:
        say(f"{name} reads otherwise now: options, a set of strings or nutgen itself have changed since")
    return spec, name


def log(
    file: File,
    add: Annotated[bool, typer.Option("--add", help="Add the readings of [setup] as they are today.")] = False,
    plot: Annotated[Path | None, picture("svg", "Draw the clearances over the months there.")] = None,
    units: ShownIn = None,
    as_json: AsJson = False,
) -> None:
    """Everything that was read and made of an instrument, and how fast its slots wear."""
    spec, nut = solve_one(file)
    path = log_path(Path(file))
    entries, unread = read_log(path)
    if unread:
        say(f"{path}: {unread} lines that cannot be read are passed over and left as they are")
    kept = not add or _added(file, spec, nut, path, entries)
    findings = tuple(wear_told(nut, entries))
    if plot is not None:
        _draw(spec, nut, entries, plot, units)
    told = {"entries": entries, "findings": findings}
    answered(log_blocks(nut, entries, findings), spec, units, told, as_json=as_json)
    if not kept:
        raise typer.Exit(CANNOT)


def _added(file: str, spec: Spec, nut: Nut, path: Path, entries: list[Entry]) -> bool:
    """Add what [setup] reads to the log and to `entries`; whether it is kept."""
    not_under_bar(spec, "clearance to keep")
    setup, last = spec.setup, next((one for one in reversed(entries) if isinstance(one, Reading)), None)
    if setup.clearance_now is None or not Path(file).is_file():
        raise SpecFaults(file, [refusal("wear.nothing-read", of_key("setup.clearance_now"))])
    xs = [slot.x for slot in nut.slots]
    shares = [(x - xs[0]) / (xs[-1] - xs[0] or 1.0) for x in xs]
    relief = setup.relief if setup.relief_now is None else setup.relief_now
    over, action = (tuple(read.at(shares)) for read in (setup.clearance_now, setup.action_now or setup.action))
    new = Reading(now(), tuple(slot.note for slot in nut.slots), relief, over, action)
    if last and (last.notes, last.relief, last.clearance, last.action) == (new.notes, relief, over, action):
        say(f"these readings are in the log already, of {last.read[:10]}; read again before you add")
        return True
    if not added_to_log(path, new):
        return False
    entries.append(new)
    return True


def _draw(spec: Spec, nut: Nut, entries: list[Entry], plot: Path, units: str | None) -> None:
    from nutgen.documents.charts.wear import wear_svg

    read = of_this_nut(nut, entries)
    if not read:
        say(f"{plot} was not drawn: nothing was read of this nut yet")
        return
    lowest = buzz(nut).lowest_clearance.tolist()
    written(plot, wear_svg(nut, read, lowest, Stamp(spec.title, spec_hash(spec)), units_for(spec, units)))
