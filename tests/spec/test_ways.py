"""Ways of reading at the door: what a way comes to, its error, its faults, against files with plain values."""

import math
import tomllib

import pytest
from jsonschema import Draft202012Validator

from nutgen.documents.words import sentence
from nutgen.nut import solve
from nutgen.play.spread import nut_spread
from nutgen.spec.read import overruled, parse_spec, spec_hash
from nutgen.spec.tables import Spec
from tests.kinds import text_of
from tests.spec.refused import named, refused

KIND = "electric-6"
WAYS = {
    "setup.relief": {"under_string": 0.25},
    "fretboard.radius": {"gaps": [0.70, 0.66], "chord": 41.0},
    "fretboard.fret_height": {"under_ruler": 1.1},
    "seat.fret_plane": {"pencil": {"bass": 7.1, "middle": 7.45, "treble": 7.0}, "lead": 3.4},
}


def read(changes):
    return parse_spec(text_of(KIND, changes), source="x")


def test_a_way_is_a_plain_value_after_the_door() -> None:
    """Chord 41, s = ((sqrt .70 + sqrt .66) / 2)^2 = 0.67985; R = 41^2 / 8s + s/2 - 1.1 = 308.3 (by hand)."""
    spec = read(WAYS)
    assert spec.fretboard.radius == pytest.approx(308.3, abs=0.05)
    assert spec.fretboard.fret_height == pytest.approx(1.1)
    assert spec.setup.relief == pytest.approx(0.2507, abs=1e-4)  # fret 9 of 22 lies 0.28 % under the middle
    assert spec.seat.fret_plane is not None
    assert spec.seat.fret_plane.values == pytest.approx((3.7, 4.05, 3.6))
    plain = {
        "setup.relief": spec.setup.relief,
        "fretboard.radius": spec.fretboard.radius,
        "fretboard.fret_height": 1.1,
        "seat.fret_plane": {"bass": 3.7, "middle": 4.05, "treble": 3.6},
    }
    same = read(plain)
    assert solve(spec).slots == solve(same).slots
    assert spec != same
    assert spec_hash(spec) != spec_hash(same)


def test_ways_tell_result_error_and_fret() -> None:
    told = {way.key: way for way in read(WAYS).ways}
    assert {way.name for way in told.values()} == {"under_string", "gaps", "under_ruler", "pencil"}
    assert told["setup.relief"].fret == 9
    assert told["fretboard.radius"].least < 308.3 < told["fretboard.radius"].most
    codes = {finding.code: sentence(finding) for finding in solve(read(WAYS)).findings}
    assert "over fret 9" in codes["way.under-string"]
    assert "hardly matters" in codes["way.gaps"]
    alone = {one.code: sentence(one) for one in solve(read({"fretboard.radius": WAYS["fretboard.radius"]})).findings}
    assert "would make it hardly matter" in alone["way.gaps"]


def test_a_way_brings_its_error_unless_the_file_has_one() -> None:
    spec, own = read(WAYS), read(WAYS | {"errors": {"relief": 0.02}})
    assert spec.errors.relief == pytest.approx((0.05**2 + 0.0254**2) ** 0.5, abs=1e-5)
    assert "errors.relief" not in spec.assumed
    assert spec.errors.depth == own.errors.depth
    assert own.errors.relief == 0.02
    assert next(way.error for way in own.ways if way.key == "setup.relief") == 0.02


@pytest.mark.parametrize(
    ("key", "written", "path", "code"),
    [
        ("setup.relief", {"under_sting": 0.2}, "setup.relief.under_sting", "reading.unknown-key"),
        ("setup.relief", {"under_string": 25}, "setup.relief.under_string", "reading.above-range"),
        ("fretboard.radius", {"gaps": [0.7], "chord": 41}, "fretboard.radius.gaps", "reading.wrong-count"),
        ("fretboard.radius", {"gaps": [0.7, 0.7]}, "fretboard.radius.chord", "reading.missing"),
        ("fretboard.radius", {"gaps": [9.0, 9.0], "chord": 41}, "fretboard.radius", "reading.below-range"),
        ("seat.fret_plane", {"pencil": 7.0}, "seat.fret_plane.lead", "reading.missing"),
        ("seat.fret_plane", {"pencil": 3.0, "lead": 3.4}, "seat.fret_plane", "reading.below-range"),
        (
            "fretboard.fret_height",
            {"under_ruler": "1 foot"},
            "fretboard.fret_height.under_ruler",
            "stack.unknown-sheet",
        ),
    ],
)
def test_a_slip_in_a_way_is_named_by_the_key_that_was_written(key, written, path, code) -> None:
    faults = named(refused(parse_spec, text_of(KIND, {key: written})))
    assert (path, code) in faults
    assert all(place.startswith(key) for place, _ in faults)


def test_what_a_way_needs_may_have_faults_of_its_own() -> None:
    faults = refused(parse_spec, text_of(KIND, WAYS | {"instrument.frets": 2, "fretboard.fret_height": 9.0}))
    assert [path for path, _ in named(faults)] == ["instrument.frets", "fretboard.fret_height"]


def test_schema_takes_ways() -> None:
    Draft202012Validator(Spec.json_schema()).validate(tomllib.loads(text_of(KIND, WAYS)))


def test_another_value_on_the_command_line_takes_the_way_away() -> None:
    spec = read(WAYS)
    assert overruled(spec, {"body": {"top": 0.2}}).ways == spec.ways
    kept = overruled(spec, {"setup": {"relief": 0.1}}).ways
    assert {way.key for way in kept} == set(WAYS) - {"setup.relief"}


@pytest.mark.parametrize("gaps", [[0.0, 0.0], [0.03, 0.0]])
def test_a_flat_board_by_its_gaps(gaps) -> None:
    spec = read({"fretboard.radius": {"gaps": gaps, "chord": 41.0}})
    assert spec.fretboard.radius == math.inf
    assert "errors.radius" in spec.assumed
    (told,) = (sentence(one) for one in solve(spec).findings if one.code == "way.gaps")
    assert told.startswith("fretboard.radius: flat by the gaps")
    assert "or flatter" in told


def test_relief_at_the_dry_fit_by_a_string() -> None:
    spec = read({"dry_fit": {"feeler": [0.5] * 6, "relief": {"under_string": 0.30}}})
    assert spec.dry_fit is not None
    assert spec.dry_fit.relief == pytest.approx(0.3008, abs=1e-4)
    assert "errors.relief" in spec.assumed  # which is of setup.relief


def test_a_radius_by_gaps_is_never_doubted_as_another_gauge() -> None:
    """A plane off by the arch of 241 against 305 mm is put down to the gauge only where there was one."""
    plane = {"seat.fret_plane": 3.35}
    gaps = {"gaps": [0.92, 0.92], "chord": 42.0}
    codes = {}
    for name, radius in (("gauge", 241.0), ("gaps", gaps)):
        found = solve(read(plane | {"fretboard.radius": radius})).findings
        codes[name] = {slip.code for one in found for slip in dict(one.values).get("slips", ())}
    assert "slip.other-radius" in codes["gauge"]
    assert "slip.other-radius" not in codes["gaps"]


def test_gaps_along_a_slanted_fret_are_of_a_radius_square_to_the_neck() -> None:
    """A cylinder cut along a line at an angle v to its cross-section is an ellipse, R / cos^2 v at its top (Euler).

    The angle is that of the solved nut, 12.9 deg, brought down to fret 1 by the lead of the bass side, by hand.
    """
    square = {"fretboard.radius": 508.0}
    nut = solve(parse_spec(text_of("electric-6-slanted", square), source="x"))
    semitone = 2.0 ** (1.0 / 12.0)
    lead = (1.0 / semitone - semitone**-7) / (1.0 - semitone**-7)
    angle = math.asin(math.sin(math.radians(nut.slant_deg)) * lead)
    along, chord = (508.0 + 1.05) / math.cos(angle) ** 2, 40.0
    gap = along - math.sqrt(along**2 - chord**2 / 4.0)
    read = {"fretboard.radius": {"gaps": [gap, gap], "chord": chord}}
    got = parse_spec(text_of("electric-6-slanted", read), source="x").fretboard.radius
    assert got == pytest.approx(508.0, rel=0.004)


def test_gaps_filled_with_sheets_bring_the_error_of_their_stack() -> None:
    """0.03, 0.01 a sheet, and half a paper left open; a card of 0.295, a paper of 0.102, by ten in the caliper."""
    left_open = 0.051 * 1.96 / math.sqrt(3.0)
    own = {"tools": {"own_leaves": {"paper": {"ten": 1.02}, "card": {"ten": 2.95}}}}
    spec = read(
        own
        | {
            "setup.relief": {"under_string": "2 paper"},
            "fretboard.radius": {"gaps": ["2 card + 1 paper", "2 card"], "chord": 41.0},
            "fretboard.fret_height": {"under_ruler": "3 card + 2 paper"},
        }
    )
    told = {way.key: way for way in spec.ways}
    assert told["fretboard.fret_height"].value == pytest.approx(3 * 0.295 + 2 * 0.102)
    assert told["fretboard.fret_height"].error == pytest.approx(math.hypot(0.03 + 5 * 0.01, left_open), abs=1e-6)
    assert told["setup.relief"].error == pytest.approx(math.hypot(0.03 + 2 * 0.01, left_open, 0.0254), abs=1e-6)
    plain = read({"fretboard.radius": {"gaps": [0.692, 0.59], "chord": 41.0}, "fretboard.fret_height": 1.089})
    assert told["fretboard.radius"].value == pytest.approx(plain.fretboard.radius)
    assert told["fretboard.radius"].error > next(way.error for way in plain.ways)
    assert nut_spread(solve(spec), spec.errors, spec.ways, draws=100).sources


def test_a_relief_by_loose_sheets_under_a_straightedge() -> None:
    spec = read({"tools": {"own_leaves": {"paper": {"ten": 1.02}}}, "setup.relief": "2 paper"})
    (way,) = spec.ways
    assert (way.name, way.value, way.error) == ("stack", pytest.approx(0.204), pytest.approx(0.05))
    assert spec.errors.relief == pytest.approx(0.05)


@pytest.mark.parametrize(("off", "told"), [(0.0, False), (0.175, False), (0.25, True)])
def test_readings_without_gauges_may_differ_by_what_their_errors_leave(off: float, told: bool) -> None:
    """Pencil 0.10, depth and fret height 0.05, radius 0.06 of 0.92 at the edge: 0.13, and 0.175 in 99 of 100."""
    edge, board = 241.0 - math.sqrt(241.0**2 - 21.0**2), {"gaps": [0.86, 0.86], "chord": 41.0}
    height = 3.0 + 1.05 + 3.4
    pencil = {"bass": height - edge + off, "middle": height, "treble": height - edge}
    changes = {"seat.fret_plane": {"pencil": pencil, "lead": 3.4}, "fretboard.radius": board}
    codes = {one.code for one in solve(read(changes)).findings}
    assert ("seat.readings-disagree" in codes) is told
