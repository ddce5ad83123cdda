"""What is not milled from above, and what a cutter that goes round the nut leaves in its corners."""

import math
from collections.abc import Iterator

from nutgen.finding import Finding, step
from nutgen.geometry.lines import Chain, polygon
from nutgen.model.mill.dogbones import inside_corners
from nutgen.model.mill.milling import TAB_HEIGHT, Clamped, tab_width
from nutgen.model.mill.runs import NOTHING
from nutgen.model.shelf import plan_corners


def by_hand(work: Clamped) -> Iterator[Finding]:
    """What is left for saw and file, in the order in which it is done."""
    nut = work.nut
    yield step("mill.saw-the-tabs", wide=tab_width(nut.thickness), high=TAB_HEIGHT)
    left = corner_left(work)
    if left >= NOTHING:
        yield step("mill.square-the-corners", left=left)
    standing = nut.standing
    if standing:
        under = max(float(nut.shelves.under(min(max(0.0, shelf.left), shelf.right))) for shelf in standing)
        yield step("mill.not-from-above", hollow=under - nut.lowest_z)
    hollow = nut.underside.z0 - nut.lowest_z
    if hollow >= NOTHING:
        yield step("mill.arched-underside", hollow=hollow, off_square_deg=abs(nut.underside.axis_deg))


def corner_left(work: Clamped) -> float:
    """How far the cutter's round stays from the point of the tightest inside corner of the outline [mm].

    A circle of radius r that touches both sides of a corner is r / sin(half the corner) - r from its point; rounds
    that clear the corner leave nothing.
    """
    outline = Chain("", polygon(plan_corners(work.nut, work.nut.thickness)))
    if len(work.around.parts) > len(outline.parts):
        return 0.0
    r = work.cutter.radius
    halves = [math.radians(opening) / 2.0 for opening in inside_corners(outline)]
    return max((r / math.sin(half) - r for half in halves), default=0.0)
