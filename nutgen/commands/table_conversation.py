"""The readings of one table, asked for at the terminal, and kept in the file where the maker says yes."""

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import Any

import typer

from nutgen.ask import old_nut, trial
from nutgen.ask.checks import Answers, Faults
from nutgen.ask.dry_fit import HOW as LEAVES
from nutgen.ask.dry_fit import as_before, questions, table_of, wrong_with_reading
from nutgen.ask.file import with_table
from nutgen.ask.question import Question
from nutgen.bench.dryfit.fitlog import Round
from nutgen.commands.common import CANNOT
from nutgen.commands.conversation import HOW, Back, Quit, answer, converse, in_words, show, tell
from nutgen.documents.blocks import Paragraph, Title
from nutgen.jobs.atomic import write_all
from nutgen.spec.tables import Spec

Raw = dict[str, Any]


def dry_fit_at_terminal(spec: Spec, *, again: bool, before: Round | None = None, only: set[int] | None = None) -> Raw:
    """Ask for every reading of a dry fit, checking each at once.

    again   : whether the nut has been read before
    before  : readings of which some are in doubt
    only    : numbers of the strings to read again; all else stays as in `before`
    returns : [dry_fit] as it would stand in the file
    raises  : typer.Exit where the maker quits; nothing is kept then
    """
    known = as_before(before, only) if before and only else {}
    tell(Title(spec.title))
    if not known:
        tell(LEAVES, Paragraph(HOW, "note"))
    return table_of(_asked(spec, partial(questions, again=again), wrong_with_reading, known), spec)


def old_nut_at_terminal(spec: Spec) -> Raw:
    """Ask for the old nut slot by slot; [old_nut] as it would stand in the file. Raises typer.Exit on quit."""
    tell(Title(spec.title), old_nut.HOW, Paragraph(HOW, "note"))
    return old_nut.table_of(_asked(spec, old_nut.questions, old_nut.wrong_with_reading, {}))


def trial_at_terminal(spec: Spec, *, before: Mapping[str, str]) -> dict[str, str]:
    """Ask for a trial's readings, but for those known before; the answers. Raises typer.Exit on quit."""
    if not before:
        tell(Title(spec.title), trial.HOW, Paragraph(HOW, "note"))
    return _asked(spec, trial.questions, trial.wrong_with_reading, before)


def _asked(
    spec: Spec,
    questions: Callable[["Spec", Answers], list[Question]],
    wrong_with: Callable[["Spec", Question, str, Answers], Faults],
    before: Mapping[str, str],
) -> dict[str, str]:
    """The answers, in the order of the questions; raises typer.Exit where the maker quits."""
    answers = dict(before)

    def take(one: Question, text: str) -> str:
        faults = wrong_with(spec, one, text, answers)
        if not faults:
            answers[one.key] = text
        return in_words(faults, spec.units)

    try:
        converse(lambda: [one for one in questions(spec, answers) if one.key not in before], lambda: answers, take)
    except Quit:
        tell("stopped; none of these readings was kept")
        raise typer.Exit(CANNOT) from None
    return {one.key: answers[one.key] for one in questions(spec, answers) if one.key in answers}


def offer_to_keep(file: Path, name: str, table: Raw) -> None:
    """Ask whether a table is to be kept in the file, and write it there on yes; all else in it stays as it is."""
    if agreed("keep", f"Keep these readings in {file}, as [{name}]?", "yes writes them; all else there stays.", ""):
        keep(file, {name: table})


def keep(file: Path, tables: Mapping[str, Raw]) -> None:
    """Write tables into the file, each in its place; all else in it stays as it is."""
    text = file.read_bytes().decode("utf-8-sig")
    for name, table in tables.items():
        text = with_table(text, name, table)
    write_all(file.parent, {file.name: text.encode()})
    tell(f"wrote {', '.join(f'[{name}]' for name in tables)} into {file}")


def agreed(key: str, prompt: str, where: str, default: str) -> bool:
    """Whether the maker says yes; Enter alone says the default, and nothing but yes is one."""
    question = Question(key, (), prompt, where, default or "no")
    show(question)
    try:
        return answer(question).lower() in ("yes", "y")
    except (Back, Quit):
        return False
