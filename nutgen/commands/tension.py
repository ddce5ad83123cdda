"""`tension`: how hard the strings pull."""

from pathlib import Path
from typing import Annotated

import typer

import nutgen
from nutgen.bench.materials import STRINGS_WHIP
from nutgen.commands.common import answered
from nutgen.commands.options import AsJson, File, ShownIn
from nutgen.documents.screens.tension import change_blocks, pull_blocks, suggestion_blocks
from nutgen.play.gauges import Suggestion, suggest
from nutgen.play.pull import (
    NEWTON_PER,
    Pull,
    back_bow_findings,
    change,
    pull_before,
    pull_findings,
    pull_now,
    pull_with,
)
from nutgen.play.record import tension_record
from nutgen.spec.read import read_set
from nutgen.spec.tables import Spec
from nutgen.spec.values import plain_number, read_length


def tension(
    file: File,
    units: ShownIn = None,
    against: Annotated[
        str | None, typer.Option(metavar="OTHER", help="File or kind to compare with; [before] of FILE where not said.")
    ] = None,
    against_set: Annotated[str | None, typer.Option(metavar="SET", help="Or with sets/SET.toml beside FILE.")] = None,
    suggest: Annotated[
        str | None,
        typer.Option(metavar="even|PULL", help='Gauges for an even pull, or for one such as "180 N" or "40 lbf".'),
    ] = None,
    gauges: Annotated[
        str | None, typer.Option(metavar="LOW-HIGH", help="Range of gauges to suggest from, in gauge_units.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Pull per string and in all; what changes for the neck against another set or tuning."""
    spec = nutgen.read(file)
    pull = pull_now(spec)
    before = _before(spec, against, against_set, Path(file).parent)
    stiffness = spec.instrument.relief_per_100_n
    changed = None if before is None else change(pull, before, relief_per_100_n=stiffness)
    stop = tuple(back_bow_findings(spec, changed))
    suggestion = _suggestion(spec, suggest, gauges)
    findings = (*stop, *pull_findings(pull))
    more = change_blocks(changed, against or against_set or "[before]", stiffness, stop=bool(stop)) if changed else ()
    gauged = suggestion_blocks(pull, suggestion) if suggestion else ()
    document = pull_blocks(spec.title, pull, changed, (*more, *gauged), findings)
    record = tension_record(pull, changed, suggestion, findings)
    answered(document, spec, units, record, {"cautions": [STRINGS_WHIP]}, as_json=as_json)


def _before(spec: Spec, against: str | None, against_set: str | None, folder: Path) -> Pull | None:
    """What to compare with: another file, a set, or what the file says was strung; None where there is nothing."""
    if against and against_set:
        raise typer.BadParameter("--against and --against-set: one of them")
    if against:
        return pull_now(nutgen.read(against))
    if against_set is None:
        return pull_before(spec)
    strings = read_set(against_set, folder).strings
    if not all(one.note for one in strings):
        strings = read_set(against_set, folder, count=len(spec.strings)).strings
    notes = [one.note for one in spec.strings] if len(strings) == len(spec.strings) else None
    return pull_with(spec, strings, tuning=notes)


def _suggestion(spec: Spec, target: str | None, gauges: str | None) -> Suggestion | None:
    if target is None:
        if gauges is not None:
            raise typer.BadParameter("--gauges is the range for --suggest; add --suggest even, or a pull")
        return None

    low, high = (None, None) if gauges is None else _range(gauges, spec.gauge_units)
    try:
        return suggest(spec, target_n=_pull_words(target), low=low, high=high)
    except ValueError as error:
        raise typer.BadParameter(f"--gauges {gauges}: {error}") from None


def _pull_words(text: str) -> float | None:
    """ "even", or a pull with its unit [N]."""
    if text.strip().lower() == "even":
        return None
    units = {unit.lower(): factor for unit, factor in NEWTON_PER.items()}
    number = text.strip().rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ ")
    unit = text.strip()[len(number) :].strip().lower() or "n"
    try:
        pull = plain_number(number) * units[unit]
    except (ValueError, KeyError):
        raise typer.BadParameter(f'--suggest "{text}": write even, or a pull such as "180 N" or "40 lbf"') from None
    if not 5.0 <= pull <= 500.0:
        raise typer.BadParameter(f'--suggest "{text}": allowed is 5 to 500 N a string')
    return pull


def _range(text: str, units: str) -> tuple[float, float]:
    """Two gauges [mm]."""
    try:
        low, high = (read_length(part, units).mm for part in text.split("-"))
    except ValueError:
        raise typer.BadParameter(f'--gauges "{text}": write two gauges, such as 0.040-0.130') from None
    if not 0.1 <= low < high <= 5.2:
        raise typer.BadParameter(f'--gauges "{text}": the first below the second, 0.004 to 0.204 in')
    return low, high
