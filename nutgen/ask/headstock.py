"""The questions of what bends the strings behind the nut: an angle, or each tuner post, and a guide before them."""

from collections.abc import Iterator

from nutgen.ask import drawings, values
from nutgen.ask.draft import Draft
from nutgen.ask.question import Question, choice


def headstock(draft: Draft) -> Iterator[Question]:
    """One angle, or a post for every string, and what presses strings down on the way there."""
    yield choice("behind the nut", (), "Behind the nut: one angle, or each tuner post?",
                  "angle is quick. posts lets every slot aim at its own tuner.", draft.word("behind the nut"),
                  "angle", "posts")  # fmt: skip
    if draft.word("behind the nut") == "angle":
        yield Question("break angle", ("headstock", "break_angle_deg"), "Break angle",
                       "Between the string over the board and the string behind the nut, by bevel gauge; or its fall"
                       " over a run, like 12/80.", draft.kind_word("headstock", "break_angle_deg", other="10"), "deg",
                       drawings.BREAK, values.angle)  # fmt: skip
        return
    for index in range(draft.count):
        yield Question(
            f"post {draft.count - index}", ("strings", index, "post"),
            f"Tuner post of string {draft.count - index}: y x drop",
            "y along the centre line from where it crosses the front face, x square to it (bass side negative), drop of"
            " the string there below the board's surface carried on.", draft.kind_post(index), draft.units,
            drawings.POSTS if index == 0 else (),
            values.post,
        )  # fmt: skip
    yield Question("guide", ("guides",), "String guide, or bar, behind the nut: y drop, then its strings",
                   "y along the centre line from the nut's front face to where it presses, drop from the board's"
                   " surface carried on down to its underside, strings counted from the treble:"
                   f' "{"30 6" if draft.units == "mm" else "1.2 0.24"} strings 1 2"; of a bar over all leave them out.'
                   " Enter where there is none.",
                   "", draft.units, read=values.guide, may_skip=True)  # fmt: skip
