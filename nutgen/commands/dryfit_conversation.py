"""The readings of a dry fit, asked for at the terminal."""

from typing import TYPE_CHECKING

import typer

from nutgen.ask.dry_fit import HOW as LEAVES
from nutgen.ask.dry_fit import as_before, questions, readings_from, wrong_with_reading
from nutgen.ask.questions import Question
from nutgen.commands.common import CANNOT
from nutgen.commands.conversation import HOW, Quit, converse, tell
from nutgen.documents.blocks import Paragraph, Title

if TYPE_CHECKING:
    from nutgen.bench.dryfit.fitlog import Round
    from nutgen.nut import Nut
    from nutgen.spec.fitting import DryFit
    from nutgen.spec.tables import Spec


def readings_at_terminal(
    spec: "Spec", nut: "Nut", rounds: "list[Round]", *, only: "set[int] | None" = None
) -> "DryFit":
    """Ask for every reading, checking each at once.

    only   : numbers of the strings to read; the rest stays as in the last round
    raises : typer.Exit where the maker quits; nothing is kept then
    """
    before = as_before(rounds[-1], only) if only and rounds else {}
    answers = dict(before)
    tell(Title(spec.title))
    if not only:
        tell(LEAVES, Paragraph(HOW, "note"))

    def asked() -> list[Question]:
        every = questions(nut, answers, again=bool(rounds), units=spec.units)
        return [one for one in every if one.key not in before]

    def take(one: Question, text: str) -> str:
        fault = wrong_with_reading(one, text, units=spec.units, tools=spec.tools)
        if not fault:
            answers[one.key] = text
        return fault

    try:
        converse(asked, lambda: answers, take)
    except Quit:
        tell("stopped; none of these readings was kept")
        raise typer.Exit(CANNOT) from None
    every = questions(nut, answers, again=bool(rounds), units=spec.units)
    in_order = {one.key: answers[one.key] for one in every if one.key in answers}
    return readings_from(in_order, units=spec.units, tools=spec.tools)
