"""Where the strings of a file stand across the nut, counted as if strung right-handed."""

from typing import Literal

from nutgen.errors import CannotBeMade
from nutgen.finding import of_key, refusal
from nutgen.spec.tables import Spec
from nutgen.theory.spacing import NoRoom, equal_centres, equal_gaps

Kind = Literal["bass", "steel", "nylon"]
"""Which practice a nut falls under."""

BASS_SCALE = 700.0
"""Scale length from which a set of strings counts as a bass. Common practice, no source [mm]."""

SOFT = ("nylon", "fluorocarbon", "gut")
"""Materials of soft strings."""


def kind_of(spec: Spec) -> Kind:
    """Which practice a file falls under: "bass", "steel" or "nylon"."""
    if min(spec.instrument.scale_length.values) >= BASS_SCALE:
        return "bass"
    soft = sum(string.material in SOFT for string in spec.strings)
    return "nylon" if 2 * soft >= len(spec.strings) else "steel"


def string_courses(spec: Spec) -> list[int]:
    """A label per string; neighbours with one label form a course, 1 is the treble-most."""
    n = len(spec.strings)
    given = [string.course for string in spec.strings if string.course is not None]
    if given:
        return given
    size = 2 if spec.spacing.course_gap is not None else 1
    return [(n - 1 - index) // size + 1 for index in range(n)]


def string_positions(spec: Spec) -> list[float]:
    """Centres of the strings from the centre line, bass side negative [mm]."""
    width = spec.fretboard.width
    if spec.spacing.rule == "measured":
        return [centre - width / 2.0 for centre in spec.spacing.measured or ()]
    rule = equal_gaps if spec.spacing.rule == "gaps" else equal_centres
    margin = spec.spacing.margin
    if margin is None:
        raise ValueError("a spacing by rule has margins; the door sees to that")
    try:
        centres = rule(
            [string.gauge for string in spec.strings],
            width=width,
            bass_margin=margin.bass,
            treble_margin=margin.treble,
            courses=string_courses(spec),
            course_gap=spec.spacing.course_gap or 0.0,
        )
    except NoRoom as error:
        raise CannotBeMade([refusal("strings.no-room", of_key("spacing.margin"), missing=error.missing)]) from None
    return [centre - width / 2.0 for centre in centres]


def string_shares(x: list[float]) -> list[float]:
    """Share of the way from the bass-most to the treble-most string."""
    spread = x[-1] - x[0]
    return [(at - x[0]) / spread if spread > 0.0 else 0.0 for at in x]


def string_scales(spec: Spec) -> list[float]:
    """Scale length of each string, bass to treble [mm]; raises CannotBeMade where a slanted nut has no places."""
    scale = spec.instrument.scale_length
    if scale.bass == scale.treble:
        return [scale.bass] * len(spec.strings)
    return scale.at(string_shares(string_positions(spec)))
