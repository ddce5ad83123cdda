"""The readings of a dry fit, asked for at the terminal."""

from typing import TYPE_CHECKING

import typer

from nutgen.bench.dryfit.asking import HOW as LEAVES
from nutgen.bench.dryfit.asking import Ask, fault_in, questions, readings_from
from nutgen.commands.common import CANNOT
from nutgen.commands.conversation import HOW, Back, Question, Quit, answer, chat, show, wrong

if TYPE_CHECKING:
    from nutgen.bench.dryfit.fitlog import Round
    from nutgen.nut import Nut
    from nutgen.spec.fitting import DryFit
    from nutgen.spec.tables import Spec

Answers = dict[tuple[str, int | None], str]


def readings_at_terminal(
    spec: "Spec", nut: "Nut", rounds: "list[Round]", *, only: "set[int] | None" = None
) -> "DryFit":
    """Ask for every reading, checking each at once.

    only   : numbers of the strings to read; the rest stays as in the last round
    raises : typer.Exit where the maker quits; nothing is kept then
    """
    answers: Answers = _as_before(rounds[-1], nut, only) if only and rounds else {}
    screen = chat()
    screen.say(spec.title, style="bold")
    if not only:
        screen.say(LEAVES)
        screen.say(HOW, style="dim")
    fixed = set(answers)
    at, shown = 0, -1
    while True:
        asks = [ask for ask in questions(nut, answers, again=bool(rounds)) if (ask.key, ask.place) not in fixed]
        if at >= len(asks):
            return readings_from(answers, nut, units=spec.units, tools=spec.tools)
        ask = asks[at]
        lengths = ask.key not in ("after", "checks")
        default = answers.get((ask.key, ask.place), ask.default)
        question = Question(ask.prompt, ask.where, ask.drawing, default, spec.units if lengths else "")
        if at != shown:
            show(screen, question, f"{at + 1} of {len(asks)}  ")
        shown = at
        try:
            at = _taken(spec, ask, answer(screen, question), answers, at)
        except Back:
            at = max(0, at - 1)
        except Quit:
            screen.say("stopped; none of these readings was kept")
            raise typer.Exit(CANNOT) from None


def _taken(spec: "Spec", ask: Ask, text: str, answers: Answers, at: int) -> int:
    """Check and keep an answer; the place of the next question."""
    fault = fault_in(ask, text, units=spec.units, tools=spec.tools)
    if fault:
        wrong(chat(), fault)
        return at
    answers[ask.key, ask.place] = text
    return at + 1


def _as_before(last: "Round", nut: "Nut", only: "set[int]") -> Answers:
    """Answers of the last round, but for some strings."""
    answers: Answers = {("after", None): "nothing"}
    checks = {gap.check for gap in last.strings[0].gaps}
    answers["checks", None] = "both" if {"feeler", "sliver"} <= checks else next(iter(checks))
    answers["relief", None] = "" if last.relief is None else f"{last.relief} mm"
    bass, treble = (f"{last.action[0]} mm", f"{last.action[-1]} mm") if last.action else ("", "")
    answers["action bass", None], answers["action treble", None] = bass, treble
    answers["face_to_fret_1", None] = f"{last.face_to_fret_1[0]} mm" if last.face_to_fret_1 else ""
    for index, string in enumerate(last.strings):
        if nut.slots[index].number not in only:
            answers |= {(gap.check, index): f"{gap.passes} mm to {gap.drags} mm" for gap in string.gaps}
    return answers
