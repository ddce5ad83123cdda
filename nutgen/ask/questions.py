"""The questions of a new instrument file, as data, in the order in which one measures.

First what stands on the packet, then the strings on and at pitch, then the old nut out of its seat, and
last what the new nut is to become.
"""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from nutgen.ask import drawings, values
from nutgen.ask.bench import bench, in_gap
from nutgen.ask.draft import SKIP, Draft
from nutgen.ask.drawings import Drawing
from nutgen.ask.headstock import headstock
from nutgen.ask.question import Path, Question, choice
from nutgen.spec.tables import MEASURED_KEYS
from nutgen.spec.values import path_of

LEAST = ("width", "strings", "string", "centres", "seat", "thickness", "fret plane", "fret height")
"""How the keys begin of what a paper template needs at least."""

TOLD_WITH_TABLE = ("clamped", "zero fret")
"""Tables whose keys tell too little alone."""


def every_question(draft: Draft) -> list[Question]:
    """Every question of a whole file, in order."""
    asked = [*_job(draft), *bench(draft), *_packet(draft), *_strings_on(draft), *_nut_out(draft), *_new_nut(draft)]
    return [replace(one, reading=reading_of(one.path) in MEASURED_KEYS) for one in asked]


def questions(draft: Draft) -> list[Question]:
    """Every question that the answers so far leave open or have answered, in order."""
    asked = every_question(draft)
    if not draft.least:
        return asked
    job = len([*_job(draft)])
    return [*asked[:job], *_least(asked[job:], draft)]


def _least(asked: list[Question], draft: Draft) -> Iterator[Question]:
    """Five readings and a page: what the template needs at least, without drawings of their own."""
    unneeded = "fret height" if draft.word("seat") != "surface" else "fret plane"
    first = True
    for one in asked:
        left_out = one.key.startswith(("width at", unneeded)) or one.key.endswith("middle")
        if left_out or not one.key.startswith(LEAST):
            continue
        by_pencil = one.key.startswith(("fret plane line", "fret plane, lead"))
        yield one if by_pencil else replace(one, drawing=drawings.LEAST if first else (), where="")
        first = False


def reading_of(path: Path) -> str:
    """The key that a question is about, as MEASURED_KEYS names it: without side, and without the string's place."""
    if path[:1] == ("strings",):
        return path_of(part for part in path if isinstance(part, str))
    return path_of(path[:2])


def in_units(draft: Draft, units: str) -> Draft:
    """The draft in other units: lengths that were answered wear the unit they were measured in.

    An answer of several lengths, or with a word before it, is asked for again.
    """
    answers = dict(draft.answers)
    for asked in questions(draft):
        text = answers.get(asked.key, "")
        if asked.unit != draft.units or not text or text in ("flat", SKIP) or values.wears_unit(text):
            continue
        if isinstance(values.number(text), str):
            del answers[asked.key]
        else:
            answers[asked.key] = f"{text} {draft.units}"
    return Draft(draft.kind_name, draft.kind, {**answers, "units": units})


def _job(draft: Draft) -> Iterator[Question]:
    kind = draft.kind
    yield Question("title", ("title",), "What is this job called?",
                   "A few words; they stand on every file that is made.",
                   kind.get("title", ""), read=str.strip)  # fmt: skip
    yield choice("units", ("units",), "Which units do you measure in?",
                  'mm or in. Any answer may carry its own: "1 5/8 in", "0.3 mm", "4/64 in".', kind.get("units", "mm"),
                  "mm", "in")  # fmt: skip
    yield choice("strung", ("instrument", "strung"), "Strung right or left?",
                  "left mirrors the finished nut; go on measuring as bass and treble.",
                  draft.kind_word("instrument", "strung", other="right"), "right", "left")  # fmt: skip
    yield choice("extent", (), "All readings, or the least for a paper template?",
                  "all: what the whole nut rests on. least: five readings; the rest is the kind's, marked as not"
                  " measured.", "all", "all", "least")  # fmt: skip


def _packet(draft: Draft) -> Iterator[Question]:
    yield Question("strings", (), "How many strings?", "Every string of a pair counts.",
                   str(len(draft.kind["strings"])))  # fmt: skip
    for index in range(draft.count):
        number = draft.count - index
        most = "bass-most, " if index == 0 and draft.count > 1 else "treble-most, " if number == 1 else ""
        yield Question(
            f"string {number}", ("strings", index), f"String {number}: {most}note and gauge",
            f"Off the packet: note, gauge ({draft.gauge_units}), wound where it is, nylon where it is.",
            draft.kind_string(index), "",
            drawings.STRING if index == 0 else (), values.string,
        )  # fmt: skip


def _strings_on(draft: Draft) -> Iterator[Question]:
    yield from _scale(draft)
    yield Question("frets", ("instrument", "frets"), "How many frets?", "The number of the last one.",
                   draft.kind_word("instrument", "frets"))  # fmt: skip
    yield from _bar(draft) if draft.barred else _heights_now(draft)
    yield from _clamped(draft)
    yield _length(draft, ("fretboard", "width"), "Board width at the nut",
                  "Caliper across the board, square to the centre line, where that crosses the nut's front face.",
                  drawings.WIDTH)  # fmt: skip
    if _slanted(draft):
        yield _length(draft, ("fretboard", "width_at_12"), "Board width at fret 12",
                      "The same where it crosses fret 12; the nut's ends follow the taper. skip leaves it out.",
                      drawings.WIDTH_AT_12, may_skip=True)  # fmt: skip
    yield _length(draft, ("fretboard", "radius"), "Board radius at the nut",
                  f'By radius gauge square to the centre line, or "flat". No gauge: "{_gaps(draft)}", a ruler on edge'
                  " across fret 1: the gap at either end, and how far apart, inside the bevels.",
                  drawings.RADIUS, read=values.radius)  # fmt: skip
    if not draft.barred:
        yield from _frets(draft)
    yield from _zero_fret(draft)
    yield from _spacing(draft)
    yield from headstock(draft)


def _heights_now(draft: Draft) -> Iterator[Question]:
    yield _length(draft, ("setup", "relief"), "Relief",
                  "At pitch, either by straightedge on frets 1 and the last: the gap half way, by what just fills it."
                  " Or the thinnest string pressed at fret 1, or a capo there, and at the last: the gap over fret"
                  f' {draft.middle_fret}, written "string {in_gap(draft)}".', drawings.RELIEF,
                  read=values.by_way("string", "under_string"))  # fmt: skip
    yield from _pair(draft, ("setup", "action_now"), "Action, {side} string",
                     "At pitch, as it is now: the open string's underside to the crown of fret 12, by ruler or by what"
                     " just fills it.", drawings.ACTION,
                     other="action")  # fmt: skip


def _clamped(draft: Draft) -> Iterator[Question]:
    if "clamped" not in draft.kind:
        return
    yield from _pair(draft, ("setup", "clearance_now"), "Over fret 1, {side} string",
                     "At pitch, over the metal nut as it is: the open string's underside to the crown of fret 1.",
                     drawings.FIRST_FRET)  # fmt: skip
    yield _length(draft, ("clamped", "apart"), "Shims at the bass side to those at the treble side",
                  "Under the metal nut, middle to middle, by ruler.")  # fmt: skip
    yield _length(draft, ("clamped", "now"), "Shims under the metal nut now",
                  "In all at each side, by caliper; 0 where there are none.")  # fmt: skip


def _bar(draft: Draft) -> Iterator[Question]:
    yield _length(draft, ("lap", "tops_at_12"), "String tops over the board, at the mark of fret 12",
                  "Straightedge across the strings, from it down to the board on the centre line.")  # fmt: skip


def _frets(draft: Draft) -> Iterator[Question]:
    yield _length(draft, ("fretboard", "fret_height"), "Height of fret 1",
                  "Depth end of the caliper on the crown of fret 1, down to the board. Or ruler on frets 1 and 2, what"
                  f' just fills the gap to the board at the nut, written "ruler {in_gap(draft)}".',
                  drawings.FRET_HEIGHT, read=values.by_way("ruler", "under_ruler"))  # fmt: skip
    yield Question("rocker", ("crowns", "rocker"), "Frets that do not lie level",
                   "Short straightedge over three frets, held on the two nearer the nut: where it rocks, the gap under"
                   " its far end; where it bridges, minus the gap over the middle one. By the middle fret:"
                   f' "{"8 0.12, 9 -0.06" if draft.units == "mm" else "8 0.005, 9 -0.002"}". Enter where all lie.',
                   "", draft.units, read=values.by_fret, may_skip=True)  # fmt: skip


def _zero_fret(draft: Draft) -> Iterator[Question]:
    if "zero_fret" not in draft.kind:
        return
    yield _length(draft, ("zero_fret", "behind"), "Zero fret to nut",
                  "Caliper or ruler from the zero fret's crown back to the nut's front face.")  # fmt: skip
    yield _length(draft, ("zero_fret", "height"), "Height of the zero fret over frets 1 and 2",
                  "Ruler on frets 1 and 2, over the zero fret: minus the gap there. Where the ruler rocks on the"
                  " zero fret: ruler on it and on fret 2, the gap over fret 1, times 2.06.")  # fmt: skip


def _gaps(draft: Draft) -> str:
    """How the gaps under a ruler are written, as an example."""
    if draft.has_leaves or not draft.given("sheets"):
        return "gap 0.7 0.66 41" if draft.units == "mm" else "gap 0.028 0.026 1.6"
    return f"gap {in_gap(draft)}; {in_gap(draft)}; {'41' if draft.units == 'mm' else '1.6'}"


def _scale(draft: Draft) -> Iterator[Question]:
    path = ("instrument", "scale_length")
    where = "Ruler from the front face of the nut to the top of fret 12; not the whole scale."
    if not _slanted(draft):
        default = draft.kind_length(*path, half=True)
        yield Question(
            "nut to fret 12", path, "Nut to fret 12", where, default, draft.units, drawings.SCALE, values.doubled
        )
        return
    for side in ("bass", "treble"):
        default = draft.kind_length(*path, side, half=True)
        prompt = f"Nut to fret 12, along the {side}-most string"
        shown = drawings.SCALE if side == "bass" else ()
        key = f"nut to fret 12, {side}"
        yield Question(key, (*path, side), prompt, where, default, draft.units, shown, values.doubled)
    yield choice("scale along", ("instrument", "scale_along"), "Did the ruler lie along the strings or the neck?",
                  "strings: on each outer string. neck: parallel to the centre line.",
                  draft.kind_word("instrument", "scale_along", other="strings"), "strings", "neck")  # fmt: skip
    yield Question("square fret", ("instrument", "perpendicular_fret"), "Which fret stands square to the centre line?",
                   "Hold a square to the centre line of the board, fret by fret.",
                   draft.kind_word("instrument", "perpendicular_fret", other="7"))  # fmt: skip


def _slanted(draft: Draft) -> bool:
    """Whether the kind has two scales."""
    return isinstance(draft.kind["instrument"]["scale_length"], dict)


def _length(
    draft: Draft, path: tuple[str, str], prompt: str, where: str, drawing: Drawing = (), **more: Any
) -> Question:
    """A length that goes by its name in the file, with the kind's there as default."""
    table, key = (part.replace("_", " ") for part in path)
    name = f"{table} {key}" if table in TOLD_WITH_TABLE else key
    return Question(name, path, prompt, where, draft.kind_length(*path), draft.units, drawing, **more)


def _pair(
    draft: Draft, path: tuple[str, str], prompt: str, where: str, drawing: Drawing, *, other: str = "", same: str = ""
) -> Iterator[Question]:
    """A value at the bass-most and one at the treble-most string.

    other : the kind's key for the default, where the kind has none of this one
    same  : the answer that is the default, where it was given
    """
    for side in ("bass", "treble"):
        default = draft.given(f"{same}, {side}") or draft.kind_length(*path, side)
        default = default or draft.kind_length(path[0], other, side)
        shown = drawing if side == "bass" else ()
        words = where if side == "bass" else "The same at the other side."
        key = f"{path[1].replace('_', ' ')}, {side}"
        yield Question(key, (*path, side), prompt.format(side=f"{side}-most"), words, default, draft.units, shown)


def _spacing(draft: Draft) -> Iterator[Question]:
    yield choice(
        "spacing", ("spacing", "rule"), "How are the strings to be spaced?",
        "gaps: equal room between strings. centres: equal steps. measured: as the old nut has them.",
        draft.kind_word("spacing", "rule", other="gaps"), "gaps", "centres", "measured",
    )  # fmt: skip
    if draft.word("spacing") == "measured" or draft.least:
        yield Question("centres", ("spacing", "measured"), "Centres of the slots",
                       f"Old nut: along its front face, bass end to the middle of each slot; {draft.count} numbers with"
                       " spaces between.",
                       draft.kind_centres, draft.units,
                       drawings.CENTRES, values.several, may_skip=draft.computes_spacing)  # fmt: skip
    if draft.word("spacing") == "measured":
        return
    yield from _pair(draft, ("spacing", "margin"), "Margin at the {side} string",
                     "Along the front face, from the board's edge to the near edge of the outer string.",
                     drawings.MARGIN)  # fmt: skip
    if draft.kind["spacing"].get("course_gap") is not None:
        yield _length(draft, ("spacing", "course_gap"), "Room inside a pair",
                      "Between the two strings of one course, edge to edge along the front face.",
                      drawings.COURSE_GAP)  # fmt: skip


def _nut_out(draft: Draft) -> Iterator[Question]:
    yield choice("seat", ("seat", "kind"), "Slacken the strings, lift the old nut out: which seat?",
                  "A string under tension can whip: slacken all first. Tap a glued nut loose along the board, or see a"
                  " repairer.", draft.kind_word("seat", "kind"), "channel", "ledge", "surface",
                  drawing=drawings.SEAT)  # fmt: skip
    yield _length(draft, ("seat", "thickness"), "Thickness of the nut",
                  "Front face to back face, square to them: the groove, or the old nut where it was a good fit.",
                  drawings.THICKNESS)  # fmt: skip
    if draft.word("seat") == "surface":
        return
    yield _length(draft, ("seat", "depth"), "Depth of the seat",
                  "Depth end of the caliper from the board's surface, on the centre line, down to the seat floor.",
                  drawings.DEPTH)  # fmt: skip
    yield Question("floor", ("seat", "floor"), "Floor of the seat",
                   'flat, or the radius of an arched one, square to the neck.',
                   draft.kind_length("seat", "floor") or "flat", draft.units,
                   read=values.flat_or_number)  # fmt: skip
    if not draft.barred:
        yield from _fret_plane(draft)


def _fret_plane(draft: Draft) -> Iterator[Question]:
    """By straightedge, or by the line of a pencil: at both edges, and on the centre line where the board is arched."""
    yield choice("fret plane by", (), "Fret plane by ruler or by pencil?",
                 "ruler: straightedge over frets 1 and 2, from it down to the seat floor. pencil: half of one, sanded"
                 " flat along, slid on frets 1 and 2, draws a line on a block that stands in the seat.",
                 "ruler", "ruler", "pencil")  # fmt: skip
    if draft.by_pencil:
        yield Question("fret plane, lead", ("seat", "fret_plane", "lead"), "Height of the lead over the pencil's flat",
                       "Slide it on a level board, along a block that stands there: caliper, board to line.",
                       "", draft.units, drawings.PENCIL)  # fmt: skip
    way, read = (("pencil",), "fret plane line") if draft.by_pencil else ((), "fret plane")
    where = (
        "Underside of the block to the line, by caliper. skip leaves it out." if way else
        "Better than depth and fret height: straightedge over frets 1 and 2, from it down to the seat floor at the"
        " front face. skip leaves it out."
    )  # fmt: skip
    places = {"bass": "at the bass edge", "treble": "at the treble edge"}
    if all(draft.given(f"{read}, {side}") for side in places) and draft.answers.get("radius") != "flat":
        places["middle"] = "on the centre line; the radius then hardly matters"
    for place, at in places.items():
        prompt = f"{'Line of the pencil' if way else 'Fret plane'} {at}"
        default = "" if way else draft.kind_length("seat", "fret_plane", place)
        drawing = drawings.FRET_PLANE if place == "bass" and not way else ()
        path = ("seat", "fret_plane", *way, place)
        yield Question(f"{read}, {place}", path, prompt, where, default, draft.units, drawing, may_skip=True)


def _new_nut(draft: Draft) -> Iterator[Question]:
    if draft.barred:
        yield _length(draft, ("lap", "tops"), "String tops wanted over the board, at the nut",
                      "High enough that the bar never touches the board; all in one plane.")  # fmt: skip
    else:
        yield from _heights_wanted(draft)
    yield choice("material", ("material",), "What will the nut be made of?", "It decides allowances and cautions.",
                  draft.kind.get("material", "bone"), "bone", "antler", "horn", "hardwood", "brass", "phenolic",
                  "printed plastic")  # fmt: skip


def _heights_wanted(draft: Draft) -> Iterator[Question]:
    yield from _pair(draft, ("setup", "action"), "Action wanted, {side} string",
                     "As the saddle is to be set once the nut is in; Enter keeps it as it is.", drawings.ACTION,
                     same="action now")  # fmt: skip
    if "zero_fret" not in draft.kind:
        yield from _pair(draft, ("setup", "first_fret_clearance"), "Clearance wanted over fret 1, {side} string",
                         "How high the new nut is to hold the open string over fret 1; the kind's is a good start.",
                         drawings.FIRST_FRET)  # fmt: skip
