"""`dryfit`: readings of the nut in its seat in, what to file off each slot out."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nutgen.commands.common import CANNOT, AsJson, ShownIn, print_json, say, units_for

if TYPE_CHECKING:
    from nutgen.bench.dryfit.fitlog import Round
    from nutgen.bench.dryfit.judge import Fit
    from nutgen.documents.words.quantities import Units
    from nutgen.nut import Nut
    from nutgen.spec.fitting import DryFit
    from nutgen.spec.tables import Spec


def dryfit(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Your instrument file; the log is kept beside it.")],
    plot: Annotated[
        Path | None, typer.Option(metavar="FILE.svg", help="Draw the log there: every floor, round by round.")
    ] = None,
    units: ShownIn = None,
    as_json: AsJson = False,
) -> None:
    """Judge the nut in its seat: how much to file off each slot, or the way back where one is too low.

    Readings come from [dry_fit] in the file, or are asked for one by one.
    """
    from nutgen.bench.dryfit.fitlog import log_path, of_these_strings, read_rounds
    from nutgen.nut import solve
    from nutgen.spec.read import read_spec

    spec = read_spec(_own(file))
    nut = solve(spec)
    log = log_path(file)
    everything, unread = read_rounds(log)
    if unread:
        say(f"{log}: {unread} lines that cannot be read are passed over and left as they are")
    rounds = of_these_strings(everything, [slot.note for slot in nut.slots])
    readings = spec.dry_fit or _asked(file, spec, nut, rounds)
    fit, rounds, kept = _judged(spec, nut, readings, rounds, log)
    while spec.dry_fit is None and _again(fit, units_for(spec, units)):
        readings = _asked(file, spec, nut, rounds, only={s.number for s in fit.strings if s.verdict == "measure again"})
        fit, rounds, kept = _judged(spec, nut, readings, rounds, log)
    if plot is not None:
        _draw(spec, nut, rounds, plot, units_for(spec, units))
    if as_json:
        from nutgen.jobs.record import head, plain

        told = {**plain(fit), "round": len(rounds), "time": fit.entry.time}
        print_json({**head(spec), **{key: value for key, value in told.items() if key != "entry"}})
    else:
        from nutgen.documents.paint.text import show
        from nutgen.documents.screens.dryfit import fit_blocks

        show(fit_blocks(spec.title, fit, number=len(rounds)), units=units_for(spec, units))
    if not kept:
        raise typer.Exit(CANNOT)


def _own(file: Path) -> Path:
    """The file, refused where it is a kind of ours: a log wants a file of the maker's own."""
    from nutgen.errors import SpecFaults
    from nutgen.finding import refusal
    from nutgen.spec.presets import kind_names

    if not file.exists() and str(file) in kind_names():
        raise SpecFaults(str(file), [refusal("file.is-a-kind", kind=str(file))])
    return file


def _judged(
    spec: "Spec", nut: "Nut", readings: "DryFit", rounds: "list[Round]", log: Path
) -> "tuple[Fit, list[Round], bool]":
    """Judge a round and keep it; whether the log could be written."""
    from datetime import UTC, datetime

    from nutgen.bench.dryfit.fitlog import append_round
    from nutgen.bench.dryfit.judge import dry_fit
    from nutgen.bench.materials import MATERIALS

    def judge(before: "list[Round]", time: str) -> "Fit":
        material = MATERIALS[spec.material]
        return dry_fit(nut, readings, tools=spec.tools, material=material, rounds=before, time=time)

    if rounds and spec.dry_fit is not None:
        again, taken = judge(rounds[:-1], rounds[-1].time), rounds[-1].time
        if again.entry.same_readings(rounds[-1]):
            say(f"these readings are in the log already, taken {taken}; [dry_fit] wants new ones after filing")
            return again, rounds, True
    fit = judge(rounds, datetime.now(UTC).isoformat(timespec="seconds"))
    try:
        append_round(log, fit.entry)
    except OSError as error:
        say(f"{log}: {(error.strerror or str(error)).lower()}; these readings were NOT kept, write them down")
        return fit, [*rounds, fit.entry], False
    return fit, [*rounds, fit.entry], True


def _asked(file: Path, spec: "Spec", nut: "Nut", rounds: "list[Round]", only: "set[int] | None" = None) -> "DryFit":
    """Ask for the readings one by one; raises typer.Exit where the maker quits."""
    from nutgen.commands.conversation import must_be_terminal
    from nutgen.commands.dryfit_conversation import readings_at_terminal

    must_be_terminal(str(file), "dryfit", "write the readings in [dry_fit], feeler = [...] from the bass")
    return readings_at_terminal(spec, nut, rounds, only=only)


def _again(fit: "Fit", units: "Units") -> bool:
    """Whether readings are in doubt and the maker takes them again now."""
    from nutgen.ask.questions import Question
    from nutgen.commands.conversation import Back, Quit, answer, show, wrong
    from nutgen.documents.words import sentence

    doubtful = [string for string in fit.strings if string.verdict == "measure again"]
    if not doubtful:
        return False
    for string in doubtful:
        wrong(f"string {string.number} ({string.note}): {sentence(string.says, units)}")
    question = Question(
        "again",
        (),
        "Read these strings again now?",
        "The readings so far are in the log, marked as in doubt.",
        default="yes",
    )
    show(question)
    try:
        return answer(question).lower() in ("yes", "y")
    except (Back, Quit):
        return False


def _draw(spec: "Spec", nut: "Nut", rounds: "list[Round]", plot: Path, units: "Units") -> None:
    from nutgen.documents.charts.fit import fit_svg
    from nutgen.errors import SpecFaults
    from nutgen.finding import refusal
    from nutgen.formats.stamp import Stamp
    from nutgen.jobs.atomic import write_all
    from nutgen.spec.read import spec_hash

    if plot.suffix.lower() != ".svg":
        raise SpecFaults(str(plot), [refusal("file.not-svg")])
    write_all(plot.parent, {plot.name: fit_svg(nut, rounds, Stamp(spec.title, spec_hash(spec)), units)})
    say(f"wrote {plot}")
