"""The printed wedge that holds a blank against the far wall of its pocket."""

from nutgen.jigs.shapes.form import Form

THIN = 4.0
"""At the pocket's far end [mm]."""

TAPER = 1.0 / 20.0
"""It holds by itself: plastic rubs on bone at 0.1 and more. From memory."""

OUT = 8.0
"""It stands out by this, to be driven, and drawn again [mm]."""


def thick_at(back: float) -> float:
    """Room of the wedge, so far back from the pocket's far end [mm]."""
    return THIN + back * TAPER


def wedge(long: float, high: float, grown: float) -> Form:
    """The wedge as it lies: its straight side toward the blank on y = 0, the middle of the blank at x = 0.

    long  : of the blank [mm]
    grown : added to every side [mm]
    """
    form, far, near = Form(), long / 2.0 - OUT, -long / 2.0 - OUT
    thick = [THIN + (long / 2.0 - x) * TAPER + grown for x in (far, near)]
    form.prism([(near, -grown), (far, -grown), (far, thick[0]), (near, thick[1])], 0.0, high)
    return form
