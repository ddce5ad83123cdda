"""`tension`: how hard the strings pull."""

from typing import TYPE_CHECKING, Annotated

import typer

from nutgen.commands.common import AsJson, File, print_json
from nutgen.documents.words import as_sentence

if TYPE_CHECKING:
    from nutgen.documents.screen import Screen
    from nutgen.findings import Finding
    from nutgen.play.gauges import Suggestion
    from nutgen.play.pull import Change, Pull
    from nutgen.spec.tables import Spec


STRENGTH_SOURCE = (
    "Strength of music wire by diameter: ASTM A228 constants as in J. E. Shigley, Mechanical Engineering"
    " Design, table 10-4, from memory."
)


def tension(
    file: File,
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
    from nutgen.spec.kinds import find_file
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
    from nutgen.documents.screen import Screen

    screen = Screen()
    screen.say(spec.title, style="bold")
    _show_pull(screen, pull, changed)
    if changed is not None:
        _show_change(screen, changed, against or "[before]", stiffness)
    if suggestion is not None:
        _show_suggestion(screen, pull, suggestion)
    _show_words(screen, pull, findings)


def _show_pull(screen: "Screen", pull: "Pull", changed: "Change | None") -> None:
    from nutgen.commands.columns import show_split
    from nutgen.documents.screen import Column
    from nutgen.play.pull import NEWTON_PER

    strings = pull.strings
    titles = ["gauge in", "Hz", "N", "±", "kgf", "lbf", "of strength"]
    each = changed.by_string if changed is not None else None
    titles += ["change N"] if each is not None else []
    rows = []
    for i, note in enumerate(strings.notes):
        n = pull.tension_n[i]
        load = pull.load_share[i]
        row = [f"{strings.gauge[i] / 25.4:.4f}", f"{strings.pitch_hz[i]:.2f}", f"{n:.1f}", f"{pull.error_n[i]:.1f}"]
        row += [f"{n / NEWTON_PER['kgf']:.1f}", f"{n / NEWTON_PER['lbf']:.1f}", f"{load:.0%}" if load == load else "?"]
        row += [f"{each[i]:+.1f}"] if each is not None else []
        rows.append([f"{len(strings.notes) - i} {note}", *row])
    total = pull.total_n
    row = ["", "", f"{total:.1f}", f"{pull.total_error_n:.1f}"]
    row += [f"{total / NEWTON_PER['kgf']:.1f}", f"{total / NEWTON_PER['lbf']:.1f}", ""]
    rows.append(["in all", *row, *([f"{changed.total_n:+.1f}"] if changed is not None and each is not None else [])])
    screen.say()
    show_split(screen, [Column("string"), *(Column(title, right=True) for title in titles)], rows)


def _show_change(screen: "Screen", changed: "Change", name: str, stiffness: float | None) -> None:
    before = changed.before
    screen.say()
    old = " ".join(before.strings.notes)
    screen.say(f"Against {name} ({old}, {before.total_n:.1f} N): {changed.total_n:+.1f} ± {changed.error_n:.1f} N.")
    if changed.by_string is None:
        screen.say("Another number of strings: compared in all only.")
    screen.say(as_sentence(changed.meaning))
    if stiffness is None:
        screen.say(
            "No figure for the relief: it needs instrument.relief_per_100_n, measured on this neck.", style="dim"
        )


def _show_suggestion(screen: "Screen", pull: "Pull", suggestion: "Suggestion") -> None:
    from nutgen.documents.screen import Column

    screen.say()
    screen.say(f"Gauges for {suggestion.target_n:.1f} N a string, {suggestion.total_n:.1f} N in all:")
    rows = []
    for i, note in enumerate(pull.strings.notes):
        now, then = pull.strings.gauge[i] / 25.4, suggestion.gauge[i] / 25.4
        ends = f"no gauge from {suggestion.low[i] / 25.4:.3f} to {suggestion.high[i] / 25.4:.3f} reaches it"
        words = ends if not suggestion.reached[i] else "stays" if abs(now - then) < 1e-6 else "change"
        n = [f"{pull.tension_n[i]:.1f}", f"{then:.4f}", f"{suggestion.tension_n[i]:.1f}"]
        rows.append([f"{len(pull.strings.notes) - i} {note}", f"{now:.4f}", *n, words])
    titles = ["now in", "N", "then in", "N"]
    screen.table([Column("string"), *(Column(title, right=True) for title in titles), Column("verdict")], rows)


def _show_words(screen: "Screen", pull: "Pull", findings: "tuple[Finding, ...]") -> None:
    from nutgen.commands.columns import show_points
    from nutgen.commands.tables import show_findings

    screen.say()
    show_points(screen, "Assumption", pull.assumed)
    screen.say(STRENGTH_SOURCE, style="dim")
    screen.say("Strings under tension can whip: mind your eyes when you tune up or cut one.", style="dim")
    show_findings(screen, findings)


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
