"""What a nut is made of: what to leave on at each stage, what it does to hands, lungs and files.

Every number here is common practice, no source, unless it names one. Cautions are the usual ones:
local codes and licensed practice come first.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from nutgen.finding import Finding, Value, caution, note
from nutgen.spec.workshop import MaterialName

GRAIN = MappingProxyType(
    {"P180": 0.082, "P240": 0.0585, "P320": 0.0462, "P400": 0.0350, "P600": 0.0258, "P1000": 0.0183, "P2000": 0.0103}
)
"""Median grain of abrasive paper [mm]. Source: ISO 6344 (the P grades); values from memory."""

SCRATCH = 0.5
"""Depth of a scratch as a share of the grain that made it. Common practice, no source."""

DEEPEST_STROKE = 0.02
"""The teeth of a fine file bite no deeper, however narrow the slot [mm]. Common practice, no source."""


STRINGS_WHIP = caution("caution.strings")
CUTTERS_GRAB = caution("caution.router")
"""What can hurt beside the material, each in one line."""


@dataclass(frozen=True, slots=True)
class LeftOn:
    """What is left on for later stages [mm].

    sawn_face : by the saw, on each face, for squaring
    squared_thickness : by squaring, on the thickness in all
    squared_end       : by squaring, on each end
    squared_top       : by squaring, on the top
    fit               : by sanding to thickness, in all, for fitting to the seat
    bed               : on the underside, for bedding it in the seat
    dress             : on the top, for dressing once the slots are in
    floors            : in each slot, by the rough slots
    """

    sawn_face: float
    squared_thickness: float
    squared_end: float
    squared_top: float
    fit: float
    bed: float
    dress: float
    floors: float


@dataclass(frozen=True, slots=True)
class Grit:
    """One paper of the polish.

    name      : P grade
    takes_off : each face, so that the scratches of the paper before are gone [mm]
    """

    name: str
    takes_off: float


@dataclass(frozen=True, slots=True)
class NutMaterial:
    """A material and how it is worked.

    left_on        : allowances of a blank that is worked by hand
    cut_per_stroke : what one easy stroke of a slotting file carries off, give or take half to
                     double [mm3]
    cautions       : hazards to people, the worst dust first; `source` is a value where one is published
    working        : what it does to files, saws and abrasive; how it behaves
    papers         : papers of the polish, in order
    last_coarse    : paper that the shaping stages end on
    can_be_filled  : whether dust of it and glue mend a slot
    """

    name: MaterialName
    left_on: LeftOn
    cut_per_stroke: float
    cautions: tuple[Finding, ...]
    working: tuple[Finding, ...]
    papers: tuple[str, ...] = ("P320", "P400", "P600", "P1000", "P2000")
    last_coarse: str = "P240"
    can_be_filled: bool = True

    @property
    def in_short(self) -> Finding:
        """Its hazards in one line, for every paper, screen and file that leads to work on it."""
        return caution("caution.material", material=self.name)

    @property
    def grits(self) -> tuple[Grit, ...]:
        """The polish, paper by paper: each takes off the depth of the scratches before it."""
        before = (self.last_coarse, *self.papers[:-1])
        return tuple(Grit(name, SCRATCH * GRAIN[last]) for name, last in zip(self.papers, before, strict=True))

    @property
    def polish_face(self) -> float:
        """What the whole polish takes off each face [mm]."""
        return sum(grit.takes_off for grit in self.grits)

    @property
    def printed(self) -> bool:
        """Whether the part comes near its size rather than out of a raw piece."""
        return self.name == "printed plastic"

    def depth_per_stroke(self, *, width: float, length: float) -> float:
        """How deep one easy stroke cuts into a face of this width and length [mm]."""
        return min(DEEPEST_STROKE, self.cut_per_stroke / (width * length))


def _cautions(*names: str) -> tuple[Finding, ...]:
    return tuple(caution(f"material.{name}", **_source(name)) for name in names)


def _working(*names: str, **values: Value) -> tuple[Finding, ...]:
    return tuple(note(f"material.{name}", **values, **_source(name)) for name in names)


def _source(name: str) -> dict[str, str]:
    return {"source": _PUBLISHED[name]} if name in _PUBLISHED else {}


_PUBLISHED = {
    "fine-dust": ("OSHA 29 CFR 1910.1000 Table Z-1 (particulates not otherwise regulated); UK COSHH Regulations 2002"),
    "raw-animal": "CDC, guidance on anthrax and animal products",
    "species": "CITES appendices",
    "wasting": "CDC, guidance on chronic wasting disease",
    "wood-dust": "IARC Monographs, wood dust, group 1 (from memory)",
    "licensed-timber": "CITES appendices",
    "lead": "OSHA 29 CFR 1910.1025, lead (from memory)",
    "antler-shell": "A. Rajaram, C. V. Ramanathan, Calcif. Tissue Int. 34, 301 (1982)",
}

_BONE = LeftOn(
    sawn_face=1.0, squared_thickness=0.4, squared_end=1.0, squared_top=1.0, fit=0.10, bed=0.10, dress=0.20, floors=0.25
)
_SQUARE_STOCK = replace(_BONE, sawn_face=0.5)  # sold planed or sheeted: less to true up than a raw piece

_ALL = (
    NutMaterial(
        name="bone",
        left_on=_BONE,
        cut_per_stroke=0.06,
        cautions=_cautions("fine-dust", "raw-animal", "species", "burnt-bone"),
        working=_working("bone-dulls-files", "exit-edge-chips", "bone-along-shaft", "bone-degreased"),
    ),
    NutMaterial(
        name="antler",
        left_on=_BONE,
        cut_per_stroke=0.08,
        cautions=_cautions("fine-dust", "wasting", "raw-animal", "species"),
        working=_working("antler-dulls-files", "antler-shell", "antler-core"),
    ),
    NutMaterial(
        name="horn",
        left_on=replace(_BONE, squared_thickness=0.5, fit=0.15, bed=0.15, dress=0.25),
        cut_per_stroke=0.10,
        cautions=_cautions("fine-dust", "raw-animal", "species", "hot-horn"),
        working=_working("horn-clogs-files", "horn-moves", "horn-layers"),
    ),
    NutMaterial(
        name="hardwood",
        left_on=_SQUARE_STOCK,
        last_coarse="P180",
        papers=("P240", "P320", "P400"),
        cut_per_stroke=0.12,
        cautions=_cautions("wood-dust", "fine-dust", "timber-rash", "licensed-timber"),
        working=_working("timber-clogs-files", "timber-grain", "timber-wears"),
    ),
    NutMaterial(
        name="brass",
        left_on=replace(
            _SQUARE_STOCK, squared_thickness=0.3, squared_end=0.5, fit=0.06, bed=0.05, dress=0.10, floors=0.15
        ),
        cut_per_stroke=0.03,
        can_be_filled=False,
        cautions=_cautions("lead", "brass-filings", "brass-heat"),
        working=_working("brass-wears-files", "brass-pins-files", "brass-burrs"),
    ),
    NutMaterial(
        name="phenolic",
        left_on=_SQUARE_STOCK,
        cut_per_stroke=0.08,
        cautions=_cautions("fine-dust", "phenolic-dust"),
        working=_working("phenolic-wears-files", "phenolic-layers"),
    ),
    NutMaterial(
        name="printed plastic",
        left_on=replace(_BONE, sawn_face=0.0, squared_thickness=0.3, squared_end=0.3, squared_top=0.5, floors=0.30),
        papers=("P320", "P400", "P600"),
        cut_per_stroke=0.15,
        cautions=_cautions("fine-dust", "uncured-resin", "fumes"),
        working=(
            *_working("plastic-melts"),
            *_working("trial-nut", error_low=0.2, error_high=0.3, pilot_width=1.0),
            *_working("print-allowances"),
        ),
    ),
)

MATERIALS: Mapping[str, NutMaterial] = MappingProxyType({material.name: material for material in _ALL})
"""Every material the file may name."""
