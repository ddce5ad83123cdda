"""What a nut is made of: what to leave on at each stage, what it does to hands, lungs and files.

Every number here is common practice, no source, unless it names one. Cautions are the usual ones:
local codes and licensed practice come first.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from nutgen.spec.workshop import MaterialName

COMMON_PRACTICE = "common practice"

GRAIN = MappingProxyType(
    {
        "P180": 0.082,
        "P240": 0.0585,
        "P320": 0.0462,
        "P400": 0.0350,
        "P600": 0.0258,
        "P1000": 0.0183,
        "P2000": 0.0103,
    }
)
"""Median grain of abrasive paper [mm]. Source: ISO 6344 (the P grades); values from memory."""

SCRATCH = 0.5
"""Depth of a scratch as a share of the grain that made it. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Note:
    """A sentence for the maker, and where it comes from."""

    text: str
    source: str


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
class Material:
    """A material and how it is worked.

    left_on        : allowances of a blank that is worked by hand
    last_coarse    : paper that the shaping stages end on
    papers         : papers of the polish, in order
    cut_per_stroke : what one easy stroke of a slotting file carries off, give or take half to
                     double [mm3]
    cautions       : hazards to people
    files          : what it does to files, saws and abrasive
    working        : how it behaves
    """

    name: MaterialName
    left_on: LeftOn
    last_coarse: str
    papers: tuple[str, ...]
    cut_per_stroke: float
    cautions: tuple[Note, ...]
    files: tuple[Note, ...]
    working: tuple[Note, ...]

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


def _practice(*texts: str) -> tuple[Note, ...]:
    return tuple(Note(text, COMMON_PRACTICE) for text in texts)


_DUST_SOURCE = "OSHA 29 CFR 1910.1000 Table Z-1 (particulates not otherwise regulated); UK COSHH Regulations 2002"

_DUST = Note(
    "Fine dust: work wet or with extraction, wear a fitted mask (P3, FFP3 or N95 to P100), wipe up wet, never"
    " sweep dry. The general dust limits are 15 mg/m3 total and 5 respirable (US), 10 inhalable and 4 respirable"
    " (UK); local rules may ask for more.",
    _DUST_SOURCE,
)

_RAW = Note(
    "Raw or imported horn, bone and hide can carry disease, anthrax among it: take cleaned, dried, treated"
    " material from a known seller; wash your hands; cover cuts.",
    "CDC, guidance on anthrax and animal products",
)

_SPECIES = Note(
    "Know the animal it comes from: trade in some species is licensed or forbidden; no ivory.",
    "CITES appendices",
)

_WASTING = Note(
    "Hard, clean, dry antler only: no tissue, no skull plate, nothing from an animal found dead or sick. No human"
    " case of chronic wasting disease is shown; the advice is to avoid exposure.",
    "CDC, guidance on chronic wasting disease",
)

_BONE_PAPERS = ("P320", "P400", "P600", "P1000", "P2000")

_ALL = (
    Material(
        name="bone",
        left_on=LeftOn(1.0, 0.4, 1.0, 1.0, 0.10, 0.10, 0.20, 0.25),
        last_coarse="P240",
        papers=_BONE_PAPERS,
        cut_per_stroke=0.06,
        cautions=(
            _DUST,
            _RAW,
            _SPECIES,
            *_practice("Burnt bone stinks and its smoke irritates: go slowly and wet under a rotary tool."),
        ),
        files=_practice(
            "Dulls fine files slowly; the dust packs the teeth, so brush them out every few strokes.",
            "Chips at an exit edge: let the file run out onto a scrap, or file from both sides.",
        ),
        working=_practice(
            "Lay the nut's length along the shaft of the bone. Reject soft, translucent spots and keep any porous"
            " core out of the slot floors and the front edge.",
            "Fat yellows and smells: degrease raw bone before it is squared.",
        ),
    ),
    Material(
        name="antler",
        left_on=LeftOn(1.0, 0.4, 1.0, 1.0, 0.10, 0.10, 0.20, 0.25),
        last_coarse="P240",
        papers=_BONE_PAPERS,
        cut_per_stroke=0.08,
        cautions=(_DUST, _WASTING, _RAW, _SPECIES),
        files=_practice("Easy on files, a little softer than bone; the dust packs the teeth, so brush them out."),
        working=(
            Note(
                "A compact shell around a porous core, all along: cut the nut from the shell. The compact antler is"
                " softer than bone (7.5 GPa, 108 MPa, wet).",
                "A. Rajaram, C. V. Ramanathan, Calcif. Tissue Int. 34, 301 (1982)",
            ),
            *_practice("Porous core that must stay is soaked with thin glue first; never leave it under a string."),
        ),
    ),
    Material(
        name="horn",
        left_on=LeftOn(1.0, 0.5, 1.0, 1.0, 0.15, 0.15, 0.25, 0.25),
        last_coarse="P240",
        papers=_BONE_PAPERS,
        cut_per_stroke=0.10,
        cautions=(
            _DUST,
            _RAW,
            _SPECIES,
            *_practice("Horn softens and stinks when it is hot: light cuts, no dry power sanding, open the window."),
        ),
        files=_practice("Easy on files but clogs them: chalk the teeth and brush them out; heat smears it."),
        working=_practice(
            "It moves with damp and heat and wears faster than bone under a wound string: let the squared blank rest"
            " a day before it is fitted, and look at the slots again after some months.",
            "It is built in layers: keep them level with the board so that no layer edge lifts in a slot.",
        ),
    ),
    Material(
        name="hardwood",
        left_on=LeftOn(0.5, 0.4, 1.0, 1.0, 0.10, 0.10, 0.20, 0.25),
        last_coarse="P180",
        papers=("P240", "P320", "P400"),
        cut_per_stroke=0.12,
        cautions=(
            Note(
                "Wood dust is a recognised cause of cancer of the nose: extraction and a fitted mask (P3, FFP3 or"
                " N95 to P100), no dry sweeping; many countries set a stricter limit for hardwood than for dust in"
                " general.",
                "IARC Monographs, wood dust, group 1 (from memory)",
            ),
            _DUST,
            *_practice("Ebony, rosewood and other oily timbers can bring on a rash or asthma: stop at the first sign."),
            Note("Some rosewoods and ebonies are licensed in trade.", "CITES appendices"),
        ),
        files=_practice("Easy on files; oily timber clogs them, so brush them out along the teeth."),
        working=_practice(
            "A plain steel string saws through end grain and soft spots: let the grain run along the nut, and run"
            " thin glue into the slot floors of a soft timber.",
            "Slots wear low within months; keep this nut's sheet for the next one.",
        ),
    ),
    Material(
        name="brass",
        left_on=LeftOn(0.5, 0.3, 0.5, 1.0, 0.06, 0.05, 0.10, 0.15),
        last_coarse="P240",
        papers=("P320", "P400", "P600", "P1000", "P2000"),
        cut_per_stroke=0.03,
        cautions=(
            Note(
                "Free-cutting brass holds lead: wash your hands before eating, keep the dust off food and away from"
                " children, wipe up wet; clamp it down on a drill or router, it snatches.",
                "OSHA 29 CFR 1910.1025, lead (from memory)",
            ),
            *_practice(
                "Filings are sharp and fly: goggles, gloves off near anything that turns.",
                "It grows hot on a belt or wheel long before it looks it: dip it often.",
            ),
        ),
        files=_practice(
            "Wears gauged slotting files fast, and a file worn on brass skates on bone: start the slots with a saw"
            " and keep older files for it.",
            "Pins the teeth and then scores the slot: chalk and brush the file.",
        ),
        working=_practice(
            "Burrs at every edge will cut a string: break them with P600. There is no filling a metal slot that is"
            " too low: shim the nut or start again.",
        ),
    ),
    Material(
        name="phenolic",
        left_on=LeftOn(0.5, 0.4, 1.0, 1.0, 0.10, 0.10, 0.20, 0.25),
        last_coarse="P240",
        papers=("P320", "P400", "P600", "P1000", "P2000"),
        cut_per_stroke=0.08,
        cautions=(
            _DUST,
            *_practice(
                "Phenolic dust with paper or cloth fibres irritates skin, eyes and lungs; hot cutting gives off"
                " formaldehyde: wet work, sharp tools, slow speeds, sleeves closed.",
            ),
        ),
        files=_practice("Abrasive to fine files, more so with glass or cloth in it; brush them out dry."),
        working=_practice(
            "Layers show at the edges and may fray: lay them level with the board and file toward the middle.",
        ),
    ),
    Material(
        name="printed plastic",
        left_on=LeftOn(0.0, 0.3, 0.3, 0.5, 0.10, 0.10, 0.20, 0.30),
        last_coarse="P240",
        papers=("P320", "P400", "P600"),
        cut_per_stroke=0.15,
        cautions=(
            _DUST,
            *_practice(
                "Uncured resin sensitises skin: gloves, and cure a resin print fully before you touch or sand it.",
                "Printers and heat guns give off fumes: air the room. No flame near alcohol or acetone.",
            ),
        ),
        files=_practice("Does not wear files but melts into the teeth: slow strokes, brush them out, or file wet."),
        working=_practice(
            "A trial nut: PLA softens at 55 to 65 C, so not in a parked car. Expect 0.2 to 0.3 mm of error from a"
            " filament printer, and slots under about 1 mm as pilots only.",
            "Print it with this sheet's allowances (body.top, back, ends, floors) so that there is plastic to"
            " take off.",
        ),
    ),
)

MATERIALS: Mapping[MaterialName, Material] = MappingProxyType({material.name: material for material in _ALL})
"""Every material the file may name."""
