"""The top cheeks: plates before and behind the blank, with the profile of the crown, then of the bevel.

   file ________           file ____
______|nut|______               nut \\____
cheek |   | cheek        cheek |   | \\cheek     a wear strip of metal on every cheek
land                     bevel

The blank stands a little low at first, so that both settings leave too much; what is measured on it goes under it as
a shim. No printed height then counts, nor the glue under a strip.
"""

import math
from collections.abc import Iterable

import numpy as np

from nutgen.finding import note, refusal, step
from nutgen.geometry.pose import Pose
from nutgen.jigs.foot import FOOT_HIGH, MARGIN, row, strip
from nutgen.jigs.jig import Check, Jig, NoJigError, Part
from nutgen.jigs.shapes.fasteners import M3, length_for
from nutgen.jigs.shapes.form import Form, under
from nutgen.jigs.shapes.marks import long as letters
from nutgen.jigs.task import Task
from nutgen.nut.edges import has_bevel
from nutgen.theory.crown import Crown

CHEEK = 4.0
"""Thickness of a cheek [mm]."""

PAST = 10.0
"""A cheek goes on past the ends of the blank [mm]."""

TINPLATE = 0.25
"""Of a wear strip where the file lists no steel: the side of a tin; from memory [mm]."""

PLINTH = 9.0
"""The blank stands on a plinth at least so high between the cheeks, which stand on the foot [mm]."""

WALL_HIGH = 3.4
"""The walls that keep the cheeks upright [mm]."""

BOLT_AT = 6.0
"""Axes of the two screws through the cheeks, past the ends of the blank [mm]."""

UNDER_EDGE, OVER_WALL = 3.2, 3.0
"""They stay this far under the lowest edge, and over the walls, which a head clears [mm]."""


FIRST_OVER = 0.2
"""Each setting leaves so much too much at first, more than printed heights are off; then the shim is chosen [mm]."""

WITHIN = 0.10
"""Held by caliper and shim at the front, by two printed cheeks between front and back [mm]."""


def top(task: Task) -> Jig:
    """The cheeks of a nut, and the foot that they stand on."""
    nut, fit = task.nut, task.fit
    wear = wear_of(task)
    left, right = nut.reach
    across, behind = (left - PAST, right + PAST), nut.thickness + task.back_over
    profiles, base = crowns(task), fit.layers(FOOT_HIGH)
    if not np.isfinite([crown.grown(-wear).z(across) for crown in profiles.values()]).all():
        raise NoJigError(refusal("jig.top-too-round"))
    plinth, bolt = _heights(task, profiles.values(), across, wear)
    foot = nut.lowest_z - FIRST_OVER - plinth
    used = Pose(origin=(0.0, 0.0, foot - base))
    parts = [Part("top", _foot(task, across, behind, plinth).solid("the foot of the cheeks"), used)]
    for name, crown in profiles.items():
        side, y = (1.0, nut.foremost) if name.endswith("front") else (-1.0, behind)
        upright = Pose(((side, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -side, 0.0)), (0.0, y, foot))
        shape = (crown if side > 0.0 else crown.mirrored()).raised(-foot)
        span = across if side > 0.0 else (-across[1], -across[0])
        solid = _cheek(task, shape, wear, span, bolt, name).solid("a cheek")
        parts.append(Part(f"top-{name}", solid, upright, apart=(0.0, -22.0 * side, 12.0 + 18.0 * ("bevel" in name))))
    slope = {"bevel_deg": nut.bevel_deg, "land": nut.land - nut.foremost}
    bevel = (step("jig.top-bevel", **slope, **shim_of(task)),) if has_bevel(nut) else ()
    screw, high = length_for(behind - nut.foremost + 2.0 * CHEEK + M3.nut_high + 1.0), crowned(task)
    return Jig(
        name="top",
        stages=("crown", "bevel") if has_bevel(nut) else ("crown",),
        parts=tuple(parts),
        hardware=(
            note("jig.screws-and-nuts", thread="M3", long=screw, count=2, nuts=2),
            note("jig.wear-strips", count=len(profiles), strip=wear, wide=CHEEK),
            note("jig.shims", long=right - left - 2.0, wide=behind - nut.foremost),
        ),
        steps=(step("jig.top-load", strip=wear), step("jig.top-land", height=high, first=FIRST_OVER), *bevel),
        promise=(note("jig.top-holds", within=WITHIN, left=task.top_over),),
        check=Check(note("jig.check-crown"), high),
    )


def crowned(task: Task) -> float:
    """Greatest height of the blank at the front face once its crown is filed, caliper tips on the underside [mm]."""
    xs = np.linspace(*task.nut.reach, 401)
    crown = task.nut.crown.raised(task.top_over)
    return float(np.max(crown.z(xs) - task.nut.underside.z(xs, task.nut.foremost)))


def shim_of(task: Task) -> dict[str, float]:
    """How much more shim a land asks for that is wider by so much [mm]."""
    wider = 0.5
    return {"wider": wider, "shim": wider * math.tan(math.radians(task.nut.bevel_deg))}


def wear_of(task: Task) -> float:
    """Thickness of the wear strips [mm]."""
    return task.tools.steel[0] if task.tools.steel else TINPLATE


def _heights(task: Task, crowns: Iterable[Crown], across: tuple[float, float], wear: float) -> tuple[float, float]:
    """Height of the plinth, and of the screws' axes, over the foot [mm]."""
    nut = task.nut
    places = across[0] + PAST - BOLT_AT - M3.hole, across[1] - PAST + BOLT_AT + M3.hole
    edge = min(float(crown.z(x)) for crown in crowns for x in places) - wear - nut.lowest_z
    plinth = task.fit.layers(max(PLINTH, WALL_HIGH + OVER_WALL + UNDER_EDGE - edge))
    return plinth, min(plinth, plinth + edge - UNDER_EDGE)


def _foot(task: Task, across: tuple[float, float], behind: float, plinth: float) -> Form:
    """A plate with a plinth for the blank, walls for the cheeks, and a stop at the bass end."""
    form, nut, fit = Form(), task.nut, task.fit
    base = fit.layers(FOOT_HIGH)
    walls = across[0] - fit.wall - 0.1, across[1] + fit.wall + 0.1
    near, far = nut.foremost - CHEEK - fit.slide / 2.0, behind + CHEEK + fit.slide / 2.0
    front = near - fit.wall
    form.box((walls[0], front, 0.0), (walls[1], far + fit.wall, base + WALL_HIGH))
    form.box((across[0] - 0.1, near + fit.grown, base), (across[1] + 0.1, far - fit.grown, 99.0), off=True)
    strip(form, task, "TOP", walls, front, base)
    over, low, high = base + plinth, nut.foremost + 0.3, nut.thickness - 0.3
    form.box((nut.reach[0] + 1.0, low, base - 1.0), (nut.reach[1] - 1.0, high, over), after=True)
    side = -nut.bass_first
    end = (nut.reach[0] if side < 0 else nut.reach[1]) + side * task.end_over
    inner, outer = sorted((end, end + side * 3.0))
    form.box((inner, low, base - 1.0), (outer, high, over + 2.0), after=True)
    return form


def crowns(task: Task) -> dict[str, Crown]:
    """The line of the file over each cheek, where it touches the metal: setting and place -> its crown.

    The nut stands on the shim of the crown; for the bevel it comes up by another.
    """
    nut = task.nut
    crown = nut.crown.raised(task.top_over)
    found = {"land-front": crown, "land-back": crown}
    if has_bevel(nut):
        fall = math.tan(math.radians(nut.bevel_deg))
        outer = nut.thickness + task.back_over + CHEEK
        for place, y in (("front", nut.foremost), ("back", outer)):
            found[f"bevel-{place}"] = crown.grown((nut.land - y) * fall).raised(FIRST_OVER)
    return found


def _cheek(task: Task, crown: Crown, wear: float, across: tuple[float, float], bolt: float, name: str) -> Form:
    """A cheek as it lies: x along it, y up it, its profile lower by the wear strip."""
    form, grown = Form(), task.fit.grown
    profile = crown.grown(grown - wear)
    form.prism(under(profile, across[0] - grown, across[1] + grown, -grown), 0.0, CHEEK)
    for x in (across[0] + PAST - BOLT_AT, across[1] - PAST + BOLT_AT):
        form.rod((x, bolt, -1.0), M3.hole / 2.0 - grown, 99.0)
    past = PAST - 3.0  # clear of the heads
    left, right = across[0] + past, across[1] - past
    words = name.split("-")
    if sum(map(letters, words)) > right - left - 3.0 * MARGIN:
        words = [word[0] for word in words]
    form.marks(row(words, left, right, WALL_HIGH + 0.4, CHEEK))
    return form
