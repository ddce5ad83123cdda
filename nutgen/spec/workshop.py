"""The maker's own bench: the tools that are there, and what the nut is made of."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from nutgen.errors import Unreadable
from nutgen.finding import echoed
from nutgen.spec.fields import FieldType, Measured, in_parts, length, length_reader, one_of, read_by, several, words
from nutgen.spec.toml_table import TomlFile, TomlTable
from nutgen.spec.values import MM_PER, BareUnits, Sheet, shown_value

MaterialName = Literal["bone", "antler", "horn", "hardwood", "brass", "phenolic", "printed plastic"]

MOST_TOOLS = 40


def _inches(*sizes: float) -> tuple[float, ...]:
    return tuple(round(size * 25.4, 6) for size in sizes)


SLOT_FILES = _inches(
    *(0.009, 0.011, 0.013, 0.016, 0.023, 0.028, 0.033, 0.038, 0.043, 0.048, 0.057, 0.062, 0.068, 0.088, 0.093),
    *(0.108, 0.133),
)
"""Round-edged slotting files, whole thousandths of an inch: the fewest of which one is no wider than each slot of the
kinds and, rocked, comes to its width [mm]."""

NUMBER_DRILLS = _inches(
    *(0.0135, 0.016, 0.020, 0.0225, 0.025, 0.028, 0.031, 0.035, 0.040, 0.043, 0.0465, 0.052, 0.055, 0.0595)
)
"""Number drills 80 to 53, the usual ones [mm]. Source: the number drill table of any engineering handbook."""

METRIC_DRILLS = (1.75, 2.0, 2.25, 2.5, 2.75, 3.0)
"""Drills of a household set that carry on where the number drills end [mm]. Common practice, no source."""

METRIC_LEAVES = (0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35, 0.40, 0.45, 0.50, 0.60, 0.70, 0.80, 0.90, 1.00)
"""Feeler leaves of a usual metric set [mm]. From memory; DIN 2275 is the standard of such leaves."""

INCH_LEAVES = _inches(0.0015, *(n / 1000 for n in range(2, 26)), 0.035)
"""Feeler leaves of a usual inch set of 26 [mm]. From memory; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Needle:
    """A round-edged needle file, by caliper; the two are equal where it does not taper.

    tip   : width at the tip [mm]
    shank : width where the teeth end [mm]
    """

    tip: float
    shank: float


@dataclass(frozen=True, slots=True)
class Blade:
    """A saw or a file as a jig sees it, by caliper.

    tool   : "saw" or "file"
    width  : kerf, or the file's thickness where it cuts [mm]
    height : from the cutting edge to what rides on a stop: a saw's back, a shoe clamped on smooth sides [mm]
    length : of what cuts [mm]
    sides  : "smooth" or "toothed"
    taper  : how much wider at one end of what cuts than at the other [mm]
    """

    tool: str
    width: float
    height: float
    length: float
    sides: str
    taper: float = 0.0


def blade_table() -> FieldType:
    """Saws and files as a jig guides them."""
    keys = {
        "tool": one_of("saw", "file"),
        "width": length(0.1, 5.5),
        "height": length(1.0, 60.0),
        "length": length(10.0, 400.0),
        "sides": one_of("smooth", "toothed"),
        "taper": length(0.0, 4.0),
    }
    return several(in_parts(Blade, Blade, keys, free="taper"), least=0, most=MOST_TOOLS)


def tool_sizes(low: float, high: float, *, what: Measured = "", inches: bool = False) -> FieldType:
    """The sizes of a set of tools between two bounds [mm]; an empty list is a bench without them."""
    return several(length(low, high, what=what, inches=inches), least=0, most=MOST_TOOLS)


def needles() -> FieldType:
    """A set of needle files, each a width or { tip = , shank = }."""

    def make(tip: float, shank: float | None = None) -> Needle:
        if shank is not None and tip > shank:
            raise Unreadable("tools.tip-wider-than-shank")
        return Needle(tip, tip if shank is None else shank)

    one = length(0.2, 8.0)
    return several(in_parts(Needle, make, {"tip": one, "shank": one}, alone=one), least=0, most=MOST_TOOLS)


def sheets() -> FieldType:
    """Sheets by their names, each with the thickness of ten: { card = { ten = 2.95 } }."""
    ten, shape = length_reader(0.2, 20.0), length(0.2, 20.0).schema

    def read(value: object, units: BareUnits | None) -> tuple[Sheet, ...]:
        if units is None and isinstance(value, tuple):
            return value
        if not isinstance(value, Mapping) or len(value) > MOST_TOOLS:
            raise Unreadable("tools.own-leaves-misread", written=shown_value(value))
        read_so = []
        for name, one in value.items():
            if not re.fullmatch(r"[a-z]{2,20}", name) or name in (*MM_PER, "inch", "inches", "wire", "flat"):
                raise Unreadable("tools.no-sheet-name", written=echoed(name, 40))
            if not isinstance(one, Mapping) or set(one) != {"ten"}:
                raise Unreadable("tools.own-leaves-misread", written=shown_value(one))
            read_so.append(Sheet(name, ten(one["ten"], units) / 10.0))
        return tuple(read_so)

    one = {"type": "object", "properties": {"ten": shape}, "required": ["ten"], "additionalProperties": False}
    return read_by(read, {"type": "object", "additionalProperties": one})


class GapTools(TomlTable):
    """What a gap is read with that has no size of its own marked on it."""

    own_leaves: Annotated[tuple[Sheet, ...], sheets()] = ()
    """paper, card and the like as leaves: { card = { ten = 2.95 } }, ten squeezed by caliper"""
    wires: Annotated[tuple[float, ...], tool_sizes(0.1, 2.0, what="gauge")] = ()
    """offcuts of plain strings as gauges, by their packets; bare numbers are in gauge_units"""


class Tools(GapTools):
    """What is on the bench. A tool listed twice is there twice.

    The defaults are common practice, no source: they let a sheet be printed before the maker
    has listed the bench, and show which tool would serve. Who lists sheets, wires or steel strips
    has no other leaves but those that the file lists; who lists blades has no other saws, or files, than those.
    """

    files: Annotated[tuple[float, ...], tool_sizes(0.15, 5.5, what="gauge")] = SLOT_FILES
    """slotting files with a round edge; bare numbers are in gauge_units"""
    needle_files: Annotated[tuple[Needle, ...], needles()] = (Needle(0.9, 3.0),)
    """round needle files: a width, or { tip = , shank = }"""
    saws: Annotated[tuple[float, ...], tool_sizes(0.1, 2.0)] = (0.30, 0.55)
    """kerf of each fine saw: caliper a cut made in scrap"""
    drill_shanks: Annotated[tuple[float, ...], tool_sizes(0.2, 5.5)] = NUMBER_DRILLS + METRIC_DRILLS
    """drills whose smooth shank can carry abrasive paper"""
    abrasive: Annotated[float, length(0.05, 0.6)] = 0.25
    """thickness of the abrasive paper for the shanks"""
    feeler: Annotated[tuple[float, ...], tool_sizes(0.01, 2.0)] = METRIC_LEAVES
    """feeler leaves; a leaf that is there twice is listed twice"""
    feeler_inch: Annotated[tuple[float, ...], tool_sizes(0.01, 2.0, inches=True)] = INCH_LEAVES
    """feeler leaves of an inch set; bare numbers are inches"""
    steel: Annotated[tuple[float, ...], tool_sizes(0.03, 3.0)] = ()
    """flat strips by caliper, one for the top of a stop stack: tinplate with its edges dulled, the smooth part of a
    saw back"""
    caliper: Annotated[float, length(0.005, 0.2)] = 0.02
    """smallest step in which the caliper can be trusted"""
    veneer: Annotated[tuple[float, ...], tool_sizes(0.03, 2.0)] = (0.05, 0.1, 0.6)
    """sheets for packing: brass, paper, card or veneer"""
    blades: Annotated[tuple[Blade, ...], blade_table()] = ()
    """saws and files that a jig is to guide: { tool, width, height, length, sides, taper }; those of a kind are all of
    it where saws, or files, are not listed beside"""
    sanding_paper: Annotated[float, length(0.05, 1.0)] = 0.25
    """thickness of the paper on the glass"""

    def with_blades(self) -> "Tools":
        """The bench whose saws, and whose files, are those listed as blades, where it lists them nowhere else."""
        found = {
            key: tuple(one.width for one in self.blades if one.tool == tool and not one.taper)
            for key, tool in (("saws", "saw"), ("files", "file"))
            if key not in self.model_fields_set
        }
        return self.model_copy(update={key: widths for key, widths in found.items() if widths})


class ReadyBlank(TomlTable):
    """A blank that is squared already."""

    name: Annotated[str, words(40)]
    """what is written on it"""
    size: Annotated[tuple[float, float, float], several(length(1.0, 500.0), least=3, most=3, like=[52.0, 6.0, 9.0])]
    """length along the grain, thickness, height"""


class Drawer(TomlFile):
    """Squared blanks that lie ready."""

    units: Literal["mm", "in"] = "mm"
    """of bare lengths"""
    blanks: tuple[ReadyBlank, ...] = Field(min_length=1, max_length=200)
    """each with its name and size"""
