"""What a file leaves to its defaults, and a file with other values: both through the same door."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from nutgen.spec.piece import PieceSpec
from nutgen.spec.presets import find_piece, kind_path
from nutgen.spec.read import overruled, parse_spec, read_piece, read_spec, spec_hash
from nutgen.spec.tables import Spec
from nutgen.spec.values import BareUnits
from tests.spec.refused import named, refused

ELECTRIC = kind_path("electric-6").read_text("utf-8")
SPEC = parse_spec(ELECTRIC, source="x")


class TestAssumed:
    def test_a_default_that_is_written_is_no_longer_assumed(self) -> None:
        """Same values, another file: a program that tells what was assumed must not take one for the other."""
        said = parse_spec(ELECTRIC.replace("[instrument]", "[instrument]\nperpendicular_fret = 7.0"), source="x")
        assert said.instrument.perpendicular_fret == SPEC.instrument.perpendicular_fret
        assert SPEC.assumed - said.assumed == {"instrument.perpendicular_fret"}
        assert said != SPEC
        assert hash(said) != hash(SPEC)
        assert spec_hash(said) == spec_hash(SPEC)

    def test_a_table_that_is_not_there_is_assumed_key_by_key(self) -> None:
        assert {"pluck", "pluck.finger", "pluck.force_n", "errors.floors", "before", "seat.floor"} <= SPEC.assumed
        assert {"strings[1].post", "strings[6].wound"} <= SPEC.assumed
        assert not {"seat", "seat.depth", "strings", "strings[1].wound"} & SPEC.assumed

    def test_the_same_text_is_the_same_spec(self) -> None:
        assert parse_spec(ELECTRIC, source="y") == SPEC
        assert len({parse_spec(ELECTRIC, source="y"), SPEC}) == 1

    def test_it_cannot_be_written(self) -> None:
        assert ("assumed", "reading.unknown-key") in named(refused(parse_spec, f'assumed = ["seat"]\n{ELECTRIC}'))
        assert "assumed" not in Spec.json_schema()["properties"]
        assert not {"assumed", "folder"} & set(PieceSpec.json_schema()["properties"])

    def test_frozen(self) -> None:
        with pytest.raises(ValidationError, match="frozen"):
            SPEC.title = "another"


class TestOverruled:
    def test_other_values_are_given_and_the_rest_stays(self) -> None:
        other = overruled(SPEC, {"print": {"nozzle": "0.3", "material": "PETG"}, "title": "Other"})
        assert (other.print.nozzle, other.print.material, other.title) == (0.3, "PETG", "Other")
        assert SPEC.assumed - other.assumed == {"print", "print.nozzle", "print.material"}
        assert other.print.layer_height == SPEC.print.layer_height
        assert other.seat == SPEC.seat

    def test_a_key_is_left_out(self) -> None:
        plane = overruled(SPEC, {"seat": {"fret_plane": 4.0}})
        assert plane.seat.fret_plane is not None
        assert overruled(plane, {"seat": {"fret_plane": None}}) == SPEC

    def test_nothing_changed_is_the_same(self) -> None:
        assert overruled(SPEC, {}) == SPEC

    @pytest.mark.parametrize(
        ("changes", "path", "code"),
        [
            ({"print": {"nozzle": 9}}, "print.nozzle", "reading.above-range"),
            ({"print": {"nozle": 0.3}}, "print.nozle", "reading.unknown-key"),
            ({"print": {"layer_height": 0.5}}, "print.layer_height", "print.layer-over-nozzle"),
            ({"seat": {"thickness": 1.0}}, "seat.thickness", "reading.below-range"),
            ({"body": {"land": 5.0}}, "body.land", "body.land-too-wide"),
            ({"fretboard": {"width": math.nan}}, "fretboard.width", "reading.not-finite"),
            ({"fretboard": {"radius": math.inf}}, "fretboard.radius", "reading.not-finite"),
            ({"instrument": {"a4_hz": math.inf}}, "instrument.a4_hz", "reading.not-finite"),
            ({"strings": ()}, "strings", "reading.not-tables"),
        ],
    )
    def test_through_the_door(self, changes: dict[str, Any], path: str, code: str) -> None:
        faults = refused(lambda what, source: overruled(SPEC, what, source=source), changes)
        assert named(faults) == [(path, code)]

    def test_faults_of_several_tables_come_out_at_once(self) -> None:
        changes = {"print": {"nozzle": 9, "material": "tin"}, "mill": {"cutters": ["1 cube"]}}
        paths = [path for path, _ in named(refused(lambda what, source: overruled(SPEC, what), changes))]
        assert paths == ["print.nozzle", "print.material", "mill.cutters[1].end"]

    def test_bare_numbers_are_read_in_the_units_that_are_said(self) -> None:
        inches = overruled(SPEC, {"pluck": {"from_bridge": "4", "margin": 0.002}}, bare=BareUnits("in", "in"))
        assert inches.pluck.from_bridge == pytest.approx(101.6)
        assert inches.pluck.margin == pytest.approx(0.0508)
        again = overruled(inches, {"pluck": {"finger": 0.25}}, bare=BareUnits("in", "in"))
        assert again.pluck.from_bridge == pytest.approx(101.6)

    @given(st.floats(300.0, 800.0), st.floats(38.0, 130.0))
    def test_what_was_read_is_read_again_as_it_is(self, scale: float, width: float) -> None:
        """Values in mm, a flat radius among them, go through the door as often as one likes."""
        changes = {"instrument": {"scale_length": scale}, "fretboard": {"width": width, "radius": "flat"}}
        other = overruled(SPEC, changes)
        once_more = overruled(other, {"fretboard": {"fret_height": SPEC.fretboard.fret_height}})
        assert once_more == other
        assert (once_more.instrument.scale_length.bass, once_more.fretboard.width) == (scale, width)
        assert math.isinf(once_more.fretboard.radius)

    def test_a_piece_stays_in_its_folder(self) -> None:
        piece = read_piece(find_piece("shin-bone-scan"))
        other = overruled(piece, {"permit": {"kerf": "1.2"}})
        assert (other.permit.kerf, other.folder) == (1.2, piece.folder)
        assert named(refused(lambda what, source: overruled(piece, what), {"permit": {"kerf": 50}})) == [
            ("permit.kerf", "reading.above-range")
        ]

    def test_every_kind_survives_being_written_over_with_its_own(self) -> None:
        for path in kind_path("bass-5").parent.glob("*.toml"):
            spec = read_spec(path)
            own = {name: {} for name in ("instrument", "seat", "setup", "slots", "body", "tools")}
            assert overruled(spec, own) == spec
