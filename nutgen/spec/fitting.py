"""The readings of a dry fit: what feeler leaves say of a nut in its seat, strings at pitch."""

from typing import Annotated, Literal

from pydantic import Field, StrictBool

from nutgen.spec.fields import across, length, several
from nutgen.spec.strings import MOST_STRINGS
from nutgen.spec.toml_table import TomlTable
from nutgen.spec.values import Across

After = Literal["filing", "nothing", "fill", "shim", "new nut"]

HIGHEST_READING = 3.0  # mm; a leaf stack thicker than this is no gap under a string at fret 1

LEAVES = several(length(0.0, HIGHEST_READING, what="leaf"), most=MOST_STRINGS, like=[0.55, 0.50, 0.50, 0.45])
"""Readings by feeler leaf, one a string from the bass; 0 where not even the thinnest leaf passes [mm]."""


class DryFit(TomlTable):
    """The readings of a dry fit: nut in its seat, strings at pitch. Lists run bass to treble.

    A leaf passes where it slips in without lifting the string, and drags where it no longer does.
    """

    feeler: Annotated[tuple[float, ...], LEAVES] | None = Field(
        default=None, description="open string, over fret 1: thickest leaf or stack that passes; 0 where none does"
    )
    feeler_drags: Annotated[tuple[float, ...], LEAVES] | None = Field(
        default=None, description="thinnest that drags there; the next stack up where not given"
    )
    sliver: Annotated[tuple[float, ...], LEAVES] | None = Field(
        default=None, description="string pressed at fret 3, over fret 1: thickest leaf or stack that passes"
    )
    sliver_drags: Annotated[tuple[float, ...], LEAVES] | None = Field(
        default=None, description="thinnest that drags there; the next stack up where not given"
    )
    barred: Annotated[tuple[float, ...], LEAVES] | None = Field(
        default=None, description="barre at fret 1, over fret 2: thickest leaf that passes; goes with feeler"
    )
    relief: Annotated[float, length(0.0, 1.5)] | None = Field(
        default=None, description="thickest leaf under a straightedge from fret 1 to the last, as it is now"
    )
    action: Annotated[Across, across(length(0.2, 8.0), each=True)] | None = Field(
        default=None, description="open string's underside to the crown of fret 12, as it is now"
    )
    face_to_fret_1: Annotated[Across, across(length(8.0, 80.0))] | None = Field(
        default=None,
        description="nut position: front face to the crown of fret 1, along the bass-most string, or a pair",
    )
    after: After = Field(default="filing", description="what was done to the nut since the readings before")
    read_twice: StrictBool = Field(
        default=False,
        description="readings that were in doubt were taken again and are the same: they are taken as true",
    )
