"""The tables of an instrument file: every key, its range in mm, its default."""

import math
from typing import Annotated, Any, Literal

from pydantic import Field, StrictBool, StrictInt
from pydantic.json_schema import SkipJsonSchema

from nutgen.spec.fields import (
    across,
    across_board,
    by_fret,
    by_kind,
    length,
    number,
    one_of,
    or_way,
    or_word,
    several,
    words,
)
from nutgen.spec.forming import Mill, Print
from nutgen.spec.playing import Before, Clamped, DryFit, Errors, OldNut, Pluck, Saddle, Trial, Tuner
from nutgen.spec.strings import LONGEST_SET_NAME, MOST_STRINGS, OF_FRETS, Drone, Guide, Lap, String, ZeroFret
from nutgen.spec.toml_table import TomlFile, TomlTable
from nutgen.spec.values import Across, ByKind, OnFret
from nutgen.spec.ways import GapsOnFret, OnTrial, Pencil, UnderRuler, UnderString, Way
from nutgen.spec.workshop import MaterialName, Tools

Units = Literal["mm", "in"]

RADIUS = or_word(length(40.0, 3000.0), "flat", means=math.inf)
CLEARANCE = or_word(across(length(0.05, 2.5), each=True), "lowest", means="lowest")
TILT = or_word(across(number(0.5, 25.0, unit="deg"), each=True), "string", means="string")


class Instrument(TomlTable):
    """The instrument as a whole."""

    scale_length: Annotated[Across, across(length(200.0, 1200.0))]
    """nut to saddle, without compensation; a pair, of the outer strings, where the nut is slanted"""
    frets: StrictInt = Field(ge=12, le=36)
    """number of the last fret"""
    strung: Literal["right", "left"] = "right"
    perpendicular_fret: Annotated[float, number(0.0, 36.0)] = 7.0
    """fret that stands square to the centre line, where the nut is slanted"""
    scale_along: Literal["strings", "neck"] = "strings"
    """what scale_length runs along; they differ where fretboard.width_at_12 tells how strings spread"""
    a4_hz: Annotated[float, number(380.0, 500.0)] = 440.0
    """pitch of A4; ISO 16"""
    rod_slack: StrictBool = False
    """whether the truss rod is slack: it lets off no further"""
    relief_per_100_n: Annotated[float, length(0.0, 3.0)] | None = None
    """relief that 100 N more pull adds to this neck, measured by tuning down and up"""


class Fretboard(TomlTable):
    """The playing surface at the nut."""

    width: Annotated[float, length(12.0, 130.0)]
    """caliper square to the neck, where the centre line crosses the front face"""
    width_at_12: Annotated[float, length(12.0, 160.0)] | None = None
    """the same where the centre line crosses fret 12; ends follow the taper and strings spread with it, else both run
    along the neck"""
    radius: Annotated[float, or_way(RADIUS, GapsOnFret)]
    """at the nut, gauge square to the neck, or "flat" """
    fret_height: Annotated[float, or_way(or_word(length(0.3, 2.5), "none", means=0.0), UnderRuler)]
    """crown of fret 1 above the board, straight up"""


class Crowns(TomlTable):
    """The fret crowns as they are, where they do not lie on one arc."""

    high: Annotated[tuple[OnFret, ...], by_fret(length(-1.0, 1.0))] = ()
    """crowns that stand over the others, or sank below them where negative: { 7 = 0.08 }"""
    rocker: Annotated[tuple[OnFret, ...], by_fret(length(-1.0, 1.0))] = ()
    """short straightedge over three frets, by the middle one: held on the two nearer the nut, the gap under its far
    end where it rocks; where it does not, the gap over the middle one, negative; 0 where neither"""
    relief: Annotated[tuple[OnFret, ...], by_fret(length(-1.0, 2.0))] = ()
    """gaps under a straightedge from fret 1 to the last, as many as were read: { 5 = 0.2 }"""
    step: Annotated[float, length(0.0, 0.1)] = 0.02
    """to which such readings are rounded"""


class Seat(TomlTable):
    """The place in the neck that the nut sits in."""

    kind: Annotated[
        Literal["channel", "ledge", "surface"],
        one_of("channel", "ledge", "surface", unknown=dict.fromkeys(("raised", "lap", "lap-raised"), "seat.raised")),
    ]
    thickness: Annotated[float, length(2.0, 15.0)]
    """front face to back face, square to the face"""
    depth: Annotated[float, length(0.0, 15.0)] = 0.0
    """board surface on the centre line down to the seat floor; none for a surface nut"""
    fret_plane: Annotated[Across, or_way(across_board(length(0.5, 20.0)), Pencil, OnTrial)] | None = None
    """straightedge over frets 1 and 2 down to the seat floor, on the face: one for both board edges; bass and treble
    at the edges; with middle, on the centre line too: the radius then hardly moves the floors"""
    floor: Annotated[float, RADIUS] = math.inf
    """"flat", or the radius of a floor arched like the board, gauge square to the neck"""


class Headstock(TomlTable):
    """Where the strings go behind the nut, where the tuner posts are not given string by string."""

    break_angle_deg: Annotated[Across, across(number(1.0, 25.0, unit="deg"), each=True)] | None = None
    """bend down from the string's line over the board to the tuner"""
    fan_deg: Annotated[Across, across(number(-20.0, 20.0, unit="deg"), each=True)] | None = None
    """bend sideways from the string's line over the board to the tuner, positive toward the treble side"""


class Setup(TomlTable):
    """The heights that are wanted, at pitch."""

    relief: Annotated[float, or_way(length(0.0, 1.5, what="gap"), UnderString)]
    """dip of the crowns below the line from fret 1 to the last fret"""
    back_bow: StrictBool = False
    """whether the neck bows backward at pitch: the middle frets stand over the line"""
    action: Annotated[Across, across(length(0.3, 8.0, what="gap"), each=True)]
    """open string's underside to the crown of fret 12, as it is wanted"""
    action_now: Annotated[Across, across(length(0.2, 8.0, what="gap"), each=True)] | None = None
    """the same as it is measured now; as wanted where not given"""
    action_read: Literal["open", "capo 1"] = "open"
    """how action_now was read: open, or with a capo at fret 1, which leaves the nut out"""
    clearance_now: Annotated[Across, across(length(0.0, 2.5, what="gap"), each=True)] | None = None
    """open string's underside to the crown of fret 1 over the nut that is in now"""
    relief_now: Annotated[float, or_way(length(0.0, 1.5, what="gap"), UnderString)] | None = None
    """relief as it is measured now; as wanted where not given"""
    first_fret_clearance: Annotated[Across | Literal["lowest"], CLEARANCE] | None = None
    """open string's underside to the crown of fret 1; or 'lowest', the least that [pluck] leaves clear"""
    floor_height: Annotated[Across, across(length(-1.0, 3.0), each=True)] | None = None
    """slot floor at the front face above the fret plane, instead of the clearance"""


class Spacing(TomlTable):
    """Where the strings stand across the nut."""

    rule: Literal["gaps", "centres", "measured"] = "gaps"
    margin: Annotated[Across, across(length(0.5, 20.0))] | None = None
    """board edge to the near edge of the outer string, along the front face"""
    course_gap: Annotated[float, length(0.4, 6.0)] | None = None
    """room inside a course, edge to edge along the front face; strings pair up as they are listed"""
    measured: Annotated[tuple[float, ...], several(length(0.3, 130.0))] | None = None
    """centres from the bass end of the board, along the front face"""


class Slots(TomlTable):
    """The grooves."""

    clearance: Annotated[ByKind, by_kind(length(0.0, 0.5))] = ByKind(wound=0.10, plain=0.05)
    """slot width over the gauge, in total, square to the slot"""
    buried: Annotated[ByKind, by_kind(number(0.2, 1.5, unit="share"))] = ByKind(wound=0.5, plain=0.8)
    """share of the gauge below the top at the front face"""
    floor: Literal["straight", "rolled"] = "straight"
    tilt_deg: Annotated[Across | Literal["string"], TILT] | None = None
    """fall of a straight floor, along the slot; or 'string', as the string falls to its tuner; half the break angle, 3
    at least, where not given"""
    setback: Annotated[Across, across(length(0.0, 2.0), each=True)] = Across((0.0,))
    """nut setback: the string starts this far in front of the front face, along the string, on a shelf; listeners
    rarely notice it"""


class Body(TomlTable):
    """The shape of the top, and what is left on for a part that is finished by hand."""

    land: Annotated[float, length(0.2, 15.0)] = 1.5
    """flat strip behind the front top edge, square to the face"""
    bevel_deg: Annotated[float, number(0.0, 40.0, unit="deg")] = 11.0
    """slope from the land down to the back, square to the face"""
    edge_radius: Annotated[float, length(0.0, 2.0)] = 0.4
    """eased edges"""
    top: Annotated[float, length(0.0, 5.0)] = 0.0
    """left on the top"""
    back: Annotated[float, length(0.0, 5.0)] = 0.0
    """left on the back face"""
    ends: Annotated[float, length(0.0, 5.0)] = 0.0
    """left on each end, square to it"""
    floors: Annotated[float, length(0.0, 2.0)] = 0.0
    """left in each slot, above the final floor"""


MEASURED_KEYS: dict[str, float | tuple[float, float] | tuple[str, str]] = {
    "instrument.scale_length": 0.03,
    "instrument.frets": (12, 24),
    "instrument.perpendicular_fret": 0.3,
    "instrument.relief_per_100_n": 0.5,
    "fretboard.width": 0.05,
    "fretboard.width_at_12": 0.05,
    "fretboard.radius": (241.0, math.inf),
    "fretboard.fret_height": 0.25,
    "seat.kind": ("channel", "ledge"),
    "seat.thickness": (3.4, 6.35),
    "seat.depth": (3.0, 5.0),
    "seat.fret_plane": 0.1,
    "seat.floor": (241.0, math.inf),
    "lap.tops_at_12": 0.1,
    "zero_fret.behind": 0.2,
    "zero_fret.height": (-0.05, 0.15),
    "headstock.break_angle_deg": (8.0, 14.0),
    "headstock.fan_deg": 0.5,
    "setup.relief": (0.05, 0.3),
    "setup.action_now": (1.4, 3.8),
    "setup.clearance_now": 0.5,
    "setup.relief_now": (0.05, 0.3),
    "spacing.measured": 0.03,
    "strings.post": 0.2,
}
"""Keys that are read on the instrument, and how far one that was not may be off: from the least to the greatest that
the kinds have, or a share of itself to either side (common practice, no source), or the other word."""


def _unless(schema: dict[str, Any], given: str, key: str, means: Any) -> None:
    """Where one key is not given, another has to be what the door wants of it; there at all, where it is wanted."""
    wanted = {"properties": {key: means}, "required": [key] if key in schema.get("required", ()) else []}
    schema.setdefault("allOf", []).append({"if": {"not": {"required": [given]}}, "then": wanted})


class Spec(TomlFile):
    """A whole instrument file, every length in mm."""

    ways: SkipJsonSchema[tuple[Way, ...]] = Field((), exclude=True)
    """keys that were read in another way, with what came of it"""

    title: Annotated[str, words(80)]
    """what the job is called"""
    units: Units = "mm"
    """of every bare length"""
    gauge_units: Units = "in"
    """of bare string gauges"""
    material: MaterialName = "bone"
    """what the nut is made of"""
    not_measured: Annotated[tuple[str, ...], Field(max_length=60)] = ()
    """keys of this file whose values stand for readings that were not taken"""
    instrument: Instrument
    fretboard: Fretboard
    seat: Seat
    crowns: Crowns = Crowns.model_construct()
    headstock: Headstock = Headstock.model_construct()
    zero_fret: ZeroFret | None = None
    lap: Lap | None = None
    setup: Setup
    spacing: Spacing
    slots: Slots = Slots.model_construct()
    body: Body = Body.model_construct()
    string_set: Annotated[str, words(LONGEST_SET_NAME)] | None = None
    """a set of your own, sets/NAME.toml beside this file: what it says of a string is left out below"""
    strings: tuple[String, ...] = Field(min_length=1, max_length=MOST_STRINGS)
    """bass to treble; numbered the trade's way, 1 = treble-most"""
    drones: tuple[Drone, ...] = Field((), max_length=MOST_STRINGS)
    """strings beside the bass-most one that do not cross the nut, such as a banjo's fifth: they count in the pull
    alone"""
    guides: tuple[Guide, ...] = Field((), max_length=MOST_STRINGS)
    """what presses strings down between nut and tuners"""
    pluck: Pluck = Pluck.model_construct()
    saddle: Saddle = Saddle.model_construct()
    clamped: Clamped | None = None
    errors: Errors = Errors.model_construct()
    before: Before | None = None
    old_nut: OldNut | None = None
    tools: Tools = Tools.model_construct()
    dry_fit: DryFit | None = None
    trial: Trial | None = None
    tuner: Tuner | None = None
    print: Print = Print.model_construct()
    mill: Mill = Mill.model_construct()

    @classmethod
    def json_schema(cls) -> dict[str, Any]:
        """A set says what strings are, and is not in the file; where a bar lies on them, nothing is said of frets."""
        schema = super().json_schema()
        tables = schema["$defs"]
        of_string: list[str] = tables["String"].pop("required")
        for strung in (schema, tables["Before"]):
            _unless(strung, "string_set", "strings", {"items": {"required": of_string}})
        tables["Fretboard"]["required"].remove("fret_height")
        _unless(schema, "lap", "setup", True)
        of_frets = {"required": ["fret_height"], "properties": {"fret_height": {"not": {"const": "none"}}}}
        _unless(schema, "lap", "fretboard", of_frets)
        barred: dict[str, Any] = dict.fromkeys(OF_FRETS, False)
        barred |= {"fretboard": {"properties": {"fret_height": {"const": "none"}}}}
        barred |= {"seat": {"properties": {"fret_plane": False}}}
        schema["allOf"].append({"if": {"required": ["lap"]}, "then": {"properties": barred}})
        return schema | {"required": [key for key in schema["required"] if key not in ("strings", "setup")]}

    @property
    def numbered(self) -> tuple[tuple[int, String], ...]:
        """The strings behind the trade's count, bass to treble: 1 is the treble-most."""
        count = len(self.strings)
        return tuple((count - index, string) for index, string in enumerate(self.strings))
