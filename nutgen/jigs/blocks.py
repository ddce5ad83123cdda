"""Small blocks: one that gives the pencil's lead, a seat to try the nut in, a clamp for the sanding stick."""

import math

from nutgen.finding import note, step
from nutgen.geometry.pose import Pose
from nutgen.jigs.foot import MARGIN, row
from nutgen.jigs.jig import Check, Jig, Part
from nutgen.jigs.shapes.fasteners import M4, length_for
from nutgen.jigs.shapes.fits import PRINTED
from nutgen.jigs.shapes.form import ALONG_Y, Form, trap, under
from nutgen.jigs.shapes.marks import CAP, ROW, long
from nutgen.jigs.task import Task
from nutgen.theory.crown import Crown

BASE, TALL, FLAT, WIDE = 6.0, 14.0, 26.0, 24.0
"""Of the pencil block: its flat and its wall, how high the wall stands, the flat before it, its width [mm]."""

FINGERS = 60.0
"""Fingers stay so far from the abrasive [mm]."""

STICK = (20.0, 5.0)
"""A sanding stick: a flat strip of wood that no one has to plane. Common practice, no source [mm]."""

GRIP, CHEEK, HANDLE = 24.0, 8.0, 115.0
"""Of the stick clamp: the stick in it, the walls beside the stick, its whole length [mm]."""

BOARD, RIDGE, HEEL, UNDER = 12.0, 2.0, 6.0, 4.0
"""Of the seat block: board before the nut, the ridge on it, headstock behind a channel, below the seat [mm]."""

ON_END = Pose(((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)))
"""A part that lies on its left end, in the nut's frame: layers are then its sections."""

SECTION = Pose(((0.0, 0.0, 1.0), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0)))
"""The nut's (x, z) as such a part lies, drawn against y."""


def pencil(task: Task) -> Jig:
    """A flat and a wall square to it: the line that the half pencil draws stands over the flat by its lead."""
    form, g = Form(), task.fit.grown
    far, high = FLAT + BASE + g, BASE + TALL + g
    outline = [(-g, -g), (far, -g), (far, high), (FLAT - g, high), (FLAT - g, BASE + g), (-g, BASE + g)]
    tall = task.fit.layers(WIDE)
    form.prism(outline, 0.0, tall)
    form.marks(row(["PENCIL"], 0.0, FLAT, (BASE - CAP) / 2.0, tall))
    return Jig(
        name="pencil",
        stages=(),
        parts=(Part("pencil", form.solid("the pencil block"), ON_END),),
        steps=(step("jig.pencil-draw"), step("jig.pencil-read", base=BASE)),
        promise=(note("jig.pencil-holds", within=PRINTED),),
        check=Check(note("jig.check-flat"), BASE),
    )


def stick(task: Task) -> Jig:
    """A handle that grips a sanding stick before a guard."""
    form, fit, (wide, thick) = Form(), task.fit, STICK
    half, high, floor = wide / 2.0 + CHEEK, fit.layers(thick + 8.0), fit.layers(4.0)
    form.box((0.0, -half, 0.0), (GRIP, half, high))
    form.box((GRIP - 1.0, -9.0, 0.0), (HANDLE, 9.0, high))
    form.box((FINGERS, -18.0, 0.0), (FINGERS + 4.0, 18.0, fit.layers(26.0)))
    room, middle = wide / 2.0 + fit.slide / 2.0 - fit.grown, floor + thick / 2.0
    form.box((-1.0, -room, floor), (GRIP - 4.0, room, 99.0), off=True)
    form.rod((GRIP / 2.0, half + 1.0, middle), M4.hole / 2.0 - fit.grown, CHEEK + 2.0, frame=ALONG_Y)
    play = fit.press - 2.0 * fit.grown
    trap(form, M4, (GRIP / 2.0, wide / 2.0 + CHEEK / 2.0, middle), play=play, up=99.0, along="y")
    for words, x in (("STICK", GRIP + 4.0), (task.mark, FINGERS + 10.0)):
        form.marks(row([words], x - MARGIN, x + long(words) + MARGIN, -CAP / 2.0, high))
    return Jig(
        name="stick",
        stages=("fit to seat",),
        parts=(Part("stick", form.solid("the stick clamp"), Pose()),),
        hardware=(note("jig.screw-and-nut", thread="M4", long=length_for(CHEEK + 2.0), count=1),),
        steps=(step("jig.stick-use", wide=wide, thick=thick, fingers=FINGERS),),
        check=Check(note("jig.check-length"), HANDLE - 2.0 * fit.grown),
    )


def seat(task: Task) -> Jig:
    """The seat as the file has it: board, a ridge as high as the frets, floor, and the wall behind a channel."""
    form, nut = Form(), task.nut
    left, right = nut.reach
    back = nut.thickness + task.back_over - task.fit.grown
    lean = math.tan(math.radians(nut.slant_deg))
    more = abs(lean) * (back + BOARD + HEEL)
    pieces = _pieces(task, back)
    low = min(float(crown.z(x)) for crown, _, _ in pieces for x in (left - more, right + more)) - UNDER
    for crown, start, stop in pieces:
        outline = under(crown, left - more, right + more, low)
        form.prism(outline, -stop, -start, frame=SECTION, lean=lean)
    for edge, away in ((left, left - 99.0), (right, right + 99.0)):
        form.box((-99.0, -99.0, min(edge, away)), (99.0, 99.0, max(edge, away)), off=True)
    words = ("SEAT", task.mark)
    tag, z = max(map(long, words)) + 2.0 * MARGIN, left + task.fit.layers(2.0)
    form.box((-BOARD - tag, low, left), (0.5 - BOARD, low + 2.0 * ROW + MARGIN, z), after=True)
    for place, word in enumerate(words):
        form.marks(row([word], -BOARD - tag, -BOARD, low + MARGIN + (1 - place) * ROW, z))
    return Jig(
        name="seat",
        stages=("fit to seat",),
        parts=(Part("seat", form.solid("the seat block"), ON_END),),
        steps=(step("jig.seat-try"),),
        promise=(note("jig.seat-holds", within=PRINTED),),
        check=_check(task),
    )


def _check(task: Task) -> Check:
    """The channel, where there is one: the nut must go into it."""
    nut = task.nut
    if nut.seat.kind == "channel":
        return Check(note("jig.check-channel"), nut.thickness + task.back_over)
    return Check(note("jig.check-length"), nut.reach[1] - nut.reach[0])


def _pieces(task: Task, back: float) -> list[tuple[Crown, float, float]]:
    """What the seat is of, front to back: the crown of each piece, and from where to where along y [mm]."""
    nut, g = task.nut, task.fit.grown
    board = Crown(g, 0.0, 0.0 if math.isinf(nut.board_radius) else 1.0 / nut.board_radius)
    over = [slot.fret_plane_z - float(nut.seat.board_z(slot.x)) for slot in nut.slots]
    frets = board.raised(sum(over) / len(over))
    pieces = [(board, -BOARD, g if nut.seat.kind != "surface" else HEEL), (frets, -BOARD, RIDGE - BOARD)]
    if nut.seat.kind != "surface":
        pieces.append((Crown(nut.underside.z0 + g, 0.0, nut.underside.curvature), -1.0, back + 1.0))
    if nut.seat.kind == "channel":
        pieces.append((Crown(nut.lowest_z + 2.0 + g, 0.0, 0.0), back, back + HEEL))
    return pieces
