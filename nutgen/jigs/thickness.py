"""The thickness carrier: it holds the blank over paper on glass, on four screws that stop it.

seen from the glass     o  ______________  o     heads of four screws, beside the paper
                           |___blank____|        in its pocket, a wedge beside it
                        o  \\___wedge____/  o
"""

from nutgen.finding import note, step
from nutgen.geometry.pose import Pose
from nutgen.jigs.foot import MARGIN, row
from nutgen.jigs.jig import Check, Jig, Part
from nutgen.jigs.shapes.fasteners import M3, length_for
from nutgen.jigs.shapes.fits import SET
from nutgen.jigs.shapes.form import Form
from nutgen.jigs.shapes.marks import CAP
from nutgen.jigs.shapes.marks import long as letters
from nutgen.jigs.shapes.wedge import thick_at, wedge
from nutgen.jigs.task import Task

LEFT = 0.10
"""The last tenth is fitted by hand to the seat [mm]."""

PLATE = 6.0
"""Behind the bearing face [mm]."""

SUNK = 0.5
"""The rim holds the blank over this share of its thickness."""

PAD, IN = 10.5, 6.0
"""Past the letters and the blank, where the screws are, half way out; from the long sides to them [mm]."""

ASIDE = 12.0
"""Beside the pocket and its wedge [mm]."""


CLEAR = 3.5
"""Past the blank's ends, still clear of the screws [mm]."""


def thickness(task: Task) -> Jig:
    """The carrier of a nut."""
    fit, size = task.fit, task.size("thickness", "fit to seat")
    long, side = task.size("length", "square"), task.size("height", "square") / 2.0
    bearing = fit.layers(PLATE)
    rim = bearing + fit.layers(SUNK * size)
    used = _used(task, bearing, side)
    parts = (
        Part("thickness", _carrier(task, bearing, rim).solid("the thickness carrier"), used, apart=(0.0, 0.0, 0.0)),
        Part(
            "thickness-wedge",
            wedge(long, rim - bearing - 0.4, fit.grown).solid("the wedge"),
            used.compose(Pose(origin=(0.0, side, bearing))),
            apart=(0.0, 16.0, 0.0),
        ),
    )
    stop, paper = size + LEFT, task.tools.sanding_paper
    heads = stop + paper
    screw = length_for(heads + bearing + M3.nut_high + 1.0)
    return Jig(
        name="thickness",
        stages=("thickness",),
        parts=parts,
        hardware=(note("jig.screws-and-nuts", thread="M3", long=screw, count=4, nuts=8),),
        steps=(
            step("jig.thickness-set", heads=heads, plate=bearing, paper=paper, eighth=M3.pitch / 8.0),
            step("jig.thickness-load", wide=long + 2.0),
            step("jig.thickness-sand", stop=stop, left=LEFT),
        ),
        promise=(note("jig.thickness-holds", stop=stop, within=SET),),
        check=Check(note("jig.check-length"), 2.0 * (_clear(long) + PAD - fit.grown)),
    )


def _carrier(task: Task, bearing: float, rim: float) -> Form:
    """The plate with its pocket up, four holes with traps, and a way in for the wedge."""
    fit, grown = task.fit, task.fit.grown
    long, side = task.size("length", "square"), task.size("height", "square") / 2.0
    half, thin, thick = long / 2.0, thick_at(0.0), thick_at(long)
    form, low, high, clear = Form(), -side - ASIDE, side + thick + ASIDE, _clear(long)
    form.box((-clear - PAD, low, 0.0), (clear + PAD, high, rim))
    end, plain = half + fit.slide - grown, -side - fit.slide / 2.0 + grown
    room = [(-end, plain), (end, plain), (end, side + thin - grown), (-end, side + thick - grown)]
    form.prism(room, bearing, 99.0, off=True)
    form.box((-clear - PAD - 1.0, side - 0.3, bearing), (1.0 - half, side + thick + 1.0, 99.0), off=True)
    for x in (-clear - PAD / 2.0, clear + PAD / 2.0):
        for y in (low + IN, high - IN):
            form.rod((x, y, -1.0), M3.hole / 2.0 - grown, 99.0)
            form.hexagon((x, y, rim - M3.nut_high - 0.2), M3.flats + fit.press - 2.0 * grown, 99.0)
    for word, y in (("THICKNESS", low + MARGIN), (task.mark, high - MARGIN - CAP)):
        form.marks(row([word], -clear, clear, y, rim))
    return form


def _clear(long: float) -> float:
    """From the middle to where the screws' ground begins: past the blank and past the letters [mm]."""
    return max(long / 2.0 + CLEAR, letters("THICKNESS") / 2.0 + MARGIN)


def _used(task: Task, bearing: float, side: float) -> Pose:
    """Front face on the bearing face, underside against the plain wall; the paper is behind the back."""
    nut = task.nut
    middle = sum(nut.reach) / 2.0
    turned = ((-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0))
    return Pose(turned, (middle, nut.foremost - bearing, nut.lowest_z + side))
