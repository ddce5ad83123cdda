"""`dryfit`: readings of the nut in its seat in, what to file off each slot out."""

import sys
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any

import typer

import nutgen
from nutgen.ask import trial as asked_trial
from nutgen.bench.dryfit.fitlog import Round, append_undo, by_nut, log_path, of_these_strings, read_rounds
from nutgen.bench.dryfit.judge import Fit, dry_fit
from nutgen.bench.dryfit.slips import hand_of
from nutgen.bench.dryfit.trial import TrialFit
from nutgen.bench.materials import MATERIALS
from nutgen.commands.common import CANNOT, added_to_log, answered, now, say, units_for, written
from nutgen.commands.conversation import must_be_terminal, wrong
from nutgen.commands.options import AsJson, ShownIn, can_be_shown, picture
from nutgen.commands.table_conversation import agreed, dry_fit_at_terminal, keep, offer_to_keep, trial_at_terminal
from nutgen.documents.screens.dryfit import fit_blocks
from nutgen.documents.screens.trial import trial_blocks
from nutgen.documents.words import sentence
from nutgen.documents.words.quantities import Units
from nutgen.errors import CannotBeMade, SpecFaults
from nutgen.finding import refusal
from nutgen.formats.stamp import Stamp
from nutgen.jobs.record import plain
from nutgen.jobs.trial import tried
from nutgen.nut import Nut
from nutgen.play.heights import only_by_leaves
from nutgen.spec.playing import DryFit
from nutgen.spec.presets import kind_names
from nutgen.spec.read import overruled, read_beside, read_spec, spec_hash
from nutgen.spec.tables import Spec


def dryfit(
    file: Annotated[
        Path,
        typer.Argument(metavar="FILE", callback=can_be_shown, help="Your instrument file; the log is kept beside it."),
    ],
    ask: Annotated[bool, typer.Option("--ask", help="Ask for the readings, though the file has some.")] = False,
    undo: Annotated[bool, typer.Option("--undo", help="Take the last round of the log back; judge nothing.")] = False,
    trial: Annotated[
        bool, typer.Option("--trial", help="A printed trial nut that plays: the fret plane, and the next nut's floors.")
    ] = False,
    plot: Annotated[Path | None, picture("svg", "Draw the log there: every floor, round by round.")] = None,
    units: ShownIn = None,
    as_json: AsJson = False,
) -> None:
    """Judge the nut in its seat: how much to file off each slot, or the way back where one is too low.

    Readings come from the table dry_fit of the file, or are asked for one by one.
    """
    spec = read_spec(_own(file))
    only_by_leaves(spec, "dry fit by leaves")
    if trial:
        if undo or plot is not None:
            raise typer.BadParameter("--trial keeps no log: leave --undo and --plot out")
        _trial(file, spec, ask=ask, units=units, as_json=as_json)
        return
    log = log_path(file)
    everything, unread = read_rounds(log)
    if unread:
        say(f"{log}: {unread} lines that cannot be read are passed over and left as they are")
    if undo:
        _undo(log, everything)
    else:
        _round(_session(file, spec, everything, ask=ask), plot, units=units, as_json=as_json)


def _session(file: Path, spec: Spec, everything: list[Round], *, ask: bool) -> "_Session":
    """A round to come of the nut of a file, after those of its log."""
    nut = nutgen.solve(spec)
    rounds = of_these_strings(everything, [slot.note for slot in nut.slots])
    before = by_nut(everything[: len(everything) - len(rounds)])
    return _Session(file, spec, nut, rounds, before, asks=ask or spec.dry_fit is None)


def _round(session: "_Session", plot: Path | None, *, units: str | None, as_json: bool) -> None:
    """One round: judged, kept, drawn, shown."""
    spec, fit = session.spec, session.judge()
    kept = session.keep(fit)
    if plot is not None:
        from nutgen.documents.charts.fit import fit_svg

        stamp = Stamp(spec.title, spec_hash(spec))
        written(plot, fit_svg(session.nut, session.rounds, stamp, units_for(spec, units)))
    number = len(session.rounds) + fit.in_doubt
    told = {key: value for key, value in plain(fit).items() if key != "entry"}
    told |= {"round": number, "time": fit.entry.time}
    answered(fit_blocks(spec.title, fit, number=number), spec, units, told, as_json=as_json)
    if not kept:
        raise typer.Exit(CANNOT)


def _own(file: Path) -> Path:
    """The file, refused where it is a kind of ours: a log wants a file of the maker's own."""
    if not file.exists() and str(file) in kind_names():
        raise SpecFaults(str(file), [refusal("file.is-a-kind", kind=str(file))])
    return file


def _trial(file: Path, spec: Spec, *, ask: bool, units: str | None, as_json: bool) -> None:
    """The readings of a trial nut, from the file or asked for, and what they say, written into the file on yes."""
    nut = nutgen.solve(spec)
    table: dict[str, Any] = {}
    if ask or spec.trial is None:
        fit, table = _asked_trial(file, spec, nut)
    else:
        fit = tried(spec, nut, spec.trial)
    answered(trial_blocks(spec.title, fit), spec, units, fit, as_json=as_json)
    _offer_trial(file, spec, fit, table)


def _asked_trial(file: Path, spec: Spec, nut: Nut) -> tuple[TrialFit, dict[str, Any]]:
    """What the maker reads, judged; strings in doubt are read again where the maker says so."""
    must_be_terminal(str(file), "dryfit --trial", "write the readings in [trial], clearances = [...] from the bass")
    answers: dict[str, str] = {}
    while True:
        answers = trial_at_terminal(spec, before=answers)
        table = asked_trial.table_of(answers, spec.strings)
        try:
            readings, ways = asked_trial.readings_from(table, spec=spec)
            whole = overruled(spec, {"trial": readings}, source="these readings")
            whole = whole.model_copy(update={"ways": (*whole.ways, *ways)})
            assert whole.trial is not None
            fit = tried(whole, nut, whole.trial)
        except (SpecFaults, CannotBeMade):
            offer_to_keep(file, "trial", table)
            raise
        if not fit.doubted:
            return fit, table
        wrong(sentence(fit.findings[0], units_for(spec, None)))
        if not agreed("again", "Read them again now?", "Clearance, wire and caliper of these strings.", "yes"):
            return fit, table
        answers = {key: text for key, text in answers.items() if key.split()[-1] not in map(str, fit.doubted)}


def _offer_trial(file: Path, spec: Spec, fit: TrialFit, table: dict[str, Any]) -> None:
    """Offer to write the plane, its error and the readings into the file."""
    raw = tomllib.loads(file.read_bytes().decode("utf-8-sig"))
    tables = asked_trial.changed(raw, fit, units=spec.units)
    if not table and all(raw.get(name) == tables[name] for name in tables):
        say(f"{file} has this fret plane already")
    elif not sys.stdin.isatty():
        say("nothing was written; at a terminal the same command offers to")
    elif agreed("write", f"Write this into {file}?", "yes writes it; comments and all else there stay.", ""):
        keep(file, {**tables, **({"trial": table} if table else {})})


def _undo(log: Path, everything: list[Round]) -> None:
    """Take the last round of a log back; raises SpecFaults where there is none."""
    if not everything:
        raise SpecFaults(str(log), [refusal("file.nothing-to-undo")])
    append_undo(log, time=now())
    say(
        f"took back round {len(everything)}, read {everything[-1].time}; left in {log}: {len(everything) - 1}."
        " Where [dry_fit] still holds its readings, put them right before the next dryfit reads them again"
    )


@dataclass(slots=True)
class _Session:
    """One call: the readings, from the file or asked for, judged until none is in doubt or the maker lets it be.

    rounds : of these strings, oldest first
    nuts   : rounds of each nut before, by the same hand
    asks   : whether the readings are asked for
    table  : [dry_fit] as it was answered
    logged : whether the log holds these readings already
    """

    file: Path
    spec: Spec
    nut: Nut
    rounds: list[Round]
    nuts: list[list[Round]]
    asks: bool = False
    table: dict[str, Any] = field(default_factory=dict)
    logged: bool = False

    def judge(self) -> Fit:
        """The readings, judged; those in doubt are read again at a terminal, or taken as true where read twice."""
        readings = self._asked() if self.asks else self.spec.dry_fit
        assert readings is not None
        if self.rounds and not self.asks:
            last = self.rounds[-1]
            again = self._fit(readings, self.rounds[:-1], last.time)
            if again.entry.same_readings(last):
                say(
                    f"these readings are in the log already, taken {last.time}; [dry_fit] wants new ones after filing,"
                    " or --ask asks for them"
                )
                self.logged = True
                return again
        fit = self._fit(readings, self.rounds, now())
        if readings.read_twice:
            fit = self._fit(readings, self.rounds, now(), fit.entry)
        while self.asks and fit.in_doubt and _again(fit, units_for(self.spec, None)):
            readings = self._asked(fit)
            fit = self._fit(readings, self.rounds, now(), fit.entry)
        return fit

    def keep(self, fit: Fit) -> bool:
        """Add a round to the log, unless there or in doubt, and offer to keep it in the file; whether it was logged."""
        if self.logged:
            return True
        if fit.in_doubt:
            say("readings in doubt are no round: nothing was added to the log")
            return True
        kept = added_to_log(log_path(self.file), fit.entry)
        self.rounds = [*self.rounds, fit.entry]
        if self.asks:
            offer_to_keep(self.file, "dry_fit", self.table)
        return kept

    def _fit(self, readings: DryFit, rounds: list[Round], time: str, attempt: Round | None = None) -> Fit:

        return dry_fit(
            self.nut,
            readings,
            tools=self.spec.tools,
            material=MATERIALS[self.spec.material],
            rounds=rounds,
            time=time,
            attempt=attempt,
            hand=hand_of(self.nuts),
        )

    def _asked(self, doubtful: Fit | None = None) -> DryFit:
        """Ask for the readings, all or those in doubt; raises typer.Exit where the maker quits."""
        must_be_terminal(str(self.file), "dryfit", "write the readings in [dry_fit], feeler = [...] from the bass")
        only = {s.number for s in doubtful.strings if s.verdict == "measure again"} if doubtful else None
        before = doubtful.entry if doubtful else None
        self.table = dry_fit_at_terminal(self.spec, again=bool(self.rounds), before=before, only=only)
        return read_beside(DryFit, self.table, self.spec, at="dry_fit")[0]


def _again(fit: Fit, units: Units) -> bool:
    """Whether readings are in doubt and the maker takes them again now."""
    for string in fit.strings:
        if string.verdict == "measure again":
            wrong(f"string {string.number} ({string.note}): {sentence(string.says, units)}")
    where = "What reads so again is taken as true; readings in doubt are not kept in the log."
    return agreed("again", "Read these strings again now?", where, "yes")
