"""`tension`: how hard the strings pull."""

from typing import TYPE_CHECKING, Annotated

import typer

from nutgen.commands.common import AsJson, File, ShownIn, print_json, units_for

if TYPE_CHECKING:
    from nutgen.documents.blocks import Document, Entry, Table
    from nutgen.documents.words.quantities import Kind
    from nutgen.play.gauges import Suggestion
    from nutgen.play.pull import Change, Pull
    from nutgen.spec.tables import Spec


INCH = 25.4

STRENGTH_SOURCE = (
    "Strength of music wire by diameter: ASTM A228 constants as in J. E. Shigley, Mechanical Engineering"
    " Design, table 10-4, from memory."
)


WHIP = "Strings under tension can whip: mind your eyes when you tune up or cut one."


def tension(
    file: File,
    units: ShownIn = None,
    against: Annotated[
        str | None,
        typer.Option(metavar="OTHER", help="File or kind to compare with; [before] of FILE where not said."),
    ] = None,
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
    from nutgen.play.pull import change, pull_before, pull_findings, pull_now
    from nutgen.spec.presets import find_file
    from nutgen.spec.read import read_spec

    spec = read_spec(find_file(file))
    pull = pull_now(spec)
    before = pull_before(spec) if against is None else pull_now(read_spec(find_file(against)))
    stiffness = spec.instrument.relief_per_100_n
    changed = None if before is None else change(pull, before, relief_per_100_n=stiffness)
    suggestion = _suggestion(spec, suggest, gauges)
    findings = tuple(pull_findings(pull))
    if as_json:
        from nutgen.jobs.record import head, plain
        from nutgen.play.record import tension_record

        print_json(plain({**head(spec), **tension_record(pull, changed, suggestion, findings)}))
        return
    from nutgen.documents.blocks import Findings, Paragraph, Space, Title
    from nutgen.documents.paint.text import show

    more = _change_blocks(changed, against or "[before]", stiffness) if changed else ()
    gauged = _suggestion_blocks(pull, suggestion) if suggestion else ()
    document = (Title(spec.title), Space(), _pull_table(pull, changed), *more, *gauged, Space())
    rests_on = (Findings(pull.assumed, none=""), Paragraph(STRENGTH_SOURCE, "note"), Paragraph(WHIP, "note"))
    show((*document, *rests_on, Findings(findings)), units=units_for(spec, units))


def _pull_table(pull: "Pull", changed: "Change | None") -> "Table":
    from nutgen.documents.blocks import Column, Table
    from nutgen.play.pull import NEWTON_PER

    strings, each = pull.strings, None if changed is None else changed.by_string
    columns = (
        Column("string"),
        Column("gauge in", "gauge", none=""),
        Column("Hz", "pitch", places=2, none=""),
        *(Column(name, "pull") for name in ("N", "±", "kgf", "lbf")),
        Column("of strength", "share", none="?"),
        *([Column("change N", "pull", sign=True)] if each is not None else []),
    )
    lines = zip(strings.gauge, strings.pitch_hz, pull.tension_n, pull.error_n, pull.load_share, strict=True)
    rows: list[tuple[Entry, ...]] = []
    for i, (gauge, pitch, n, error, load) in enumerate(lines):
        other = (n / NEWTON_PER["kgf"], n / NEWTON_PER["lbf"], load)
        change = () if each is None else (each[i],)
        rows.append((f"{len(strings.notes) - i} {strings.notes[i]}", gauge, pitch, n, error, *other, *change))
    n, error = pull.total_n, pull.total_error_n
    in_all = (n, error, n / NEWTON_PER["kgf"], n / NEWTON_PER["lbf"], "")
    rows.append(("in all", None, None, *in_all, *([changed.total_n] if changed and each is not None else [])))
    return Table(columns, tuple(rows))


def _change_blocks(changed: "Change", name: str, stiffness: float | None) -> "Document":
    from nutgen.documents.blocks import Paragraph, Run, Space, capital, phrase

    before = changed.before
    against = phrase(
        "Against {name} ({notes}, {before_n}): {total_n:bare,+} ± {error_n}.",
        name=name,
        notes=" ".join(before.strings.notes),
        before_n=before.total_n,
        total_n=changed.total_n,
        error_n=changed.error_n,
    )
    unmeasured = "No figure for the relief: it needs instrument.relief_per_100_n, measured on this neck."
    return (
        Space(),
        Paragraph(against),
        *([Paragraph("Another number of strings: compared in all only.")] if changed.by_string is None else []),
        Paragraph(Run((capital(changed.meaning), "."))),
        *([Paragraph(unmeasured, "note")] if stiffness is None else []),
    )


def _suggestion_blocks(pull: "Pull", suggestion: "Suggestion") -> "Document":
    from nutgen.documents.blocks import Column, Paragraph, Space, Table, phrase

    found, strings = suggestion, pull.strings
    kinds: tuple[tuple[str, Kind], ...] = (("now in", "gauge"), ("N", "pull"), ("then in", "gauge"), ("N", "pull"))
    rows: list[tuple[Entry, ...]] = []
    for i, (now, then) in enumerate(zip(strings.gauge, found.gauge, strict=True)):
        low, high = float(found.low[i]), float(found.high[i])
        beyond = phrase("no gauge from {low:gauge,bare,.3} to {high:gauge,bare,.3} reaches it", low=low, high=high)
        verdict = beyond if not found.reached[i] else "stays" if abs(now - then) < 1e-6 * INCH else "change"
        name = f"{len(strings.notes) - i} {strings.notes[i]}"
        rows.append((name, now, pull.tension_n[i], then, found.tension_n[i], verdict))
    words = phrase("Gauges for {each_n} a string, {all_n} in all:", each_n=found.target_n, all_n=found.total_n)
    columns = (Column("string"), *(Column(*kind) for kind in kinds), Column("verdict"))
    return Space(), Paragraph(words), Table(columns, tuple(rows))


def _suggestion(spec: "Spec", target: str | None, gauges: str | None) -> "Suggestion | None":
    if target is None:
        if gauges is not None:
            raise typer.BadParameter("--gauges is the range for --suggest; add --suggest even, or a pull")
        return None
    from nutgen.play.gauges import suggest

    low, high = (None, None) if gauges is None else _range(gauges, spec.gauge_units)
    try:
        return suggest(spec, target_n=_pull_words(target), low=low, high=high)
    except ValueError as error:
        raise typer.BadParameter(f"--gauges {gauges}: {error}") from None


def _pull_words(text: str) -> float | None:
    """ "even", or a pull with its unit [N]."""
    from nutgen.play.pull import NEWTON_PER

    if text.strip().lower() == "even":
        return None
    units = {unit.lower(): factor for unit, factor in NEWTON_PER.items()}
    number = text.strip().rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ ")
    unit = text.strip()[len(number) :].strip().lower() or "n"
    try:
        pull = float(number) * units[unit]
    except (ValueError, KeyError):
        raise typer.BadParameter(f'--suggest "{text}": write even, or a pull such as "180 N" or "40 lbf"') from None
    if not 5.0 <= pull <= 500.0:
        raise typer.BadParameter(f'--suggest "{text}": allowed is 5 to 500 N a string')
    return pull


def _range(text: str, units: str) -> tuple[float, float]:
    """Two gauges [mm]."""
    from nutgen.spec.values import read_length

    try:
        low, high = (read_length(part, units).mm for part in text.split("-"))
    except ValueError:
        raise typer.BadParameter(f'--gauges "{text}": write two gauges, such as 0.040-0.130') from None
    if not 0.1 <= low < high <= 5.2:
        raise typer.BadParameter(f'--gauges "{text}": the first below the second, 0.004 to 0.204 in')
    return low, high
