"""The published JSON Schema against an independent validator, and against the door."""

import tomllib

import pytest
from jsonschema import Draft202012Validator

from nutgen.errors import SpecFaults
from nutgen.spec.presets import kind_names, kind_path
from nutgen.spec.read import parse_spec, read_spec, spec_hash
from nutgen.spec.tables import Spec
from tests.kinds import text_of

SCHEMA = Spec.json_schema()


def test_is_a_schema() -> None:
    Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("kind", kind_names())
def test_every_kind_is_valid_by_the_schema_and_by_the_door(kind: str) -> None:
    raw = tomllib.loads(kind_path(kind).read_text("utf-8"))
    Draft202012Validator(SCHEMA).validate(raw)
    read_spec(kind_path(kind))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("width = 42.0", "widht = 42.0"),
        ('kind = "channel"', 'kind = "chanel"'),
        ("frets = 22", "frets = 5"),
        ("{ bass = 1.8, treble = 1.5 }", "{ bass = 1.8 }"),
        ("bevel_deg = 8.0", "bevel_deg = 80"),
        ("wound = true", "wound = 1"),
    ],
)
def test_schema_and_door_refuse_the_same_slips(old: str, new: str) -> None:
    text = kind_path("electric-6").read_text("utf-8")
    assert old in text
    text = text.replace(old, new, 1)
    assert not Draft202012Validator(SCHEMA).is_valid(tomllib.loads(text))
    with pytest.raises(SpecFaults):
        parse_spec(text, source="x")


@pytest.mark.parametrize(
    ("kind", "changes", "taken"),
    [
        ("lap-6", {}, True),
        ("lap-6", {"fretboard.fret_height": "none"}, True),
        ("lap-6", {"setup": {"relief": 0.2, "action": 2.0}}, False),
        ("lap-6", {"crowns": {"high": {"7": 0.08}}}, False),
        ("lap-6", {"lap": None}, False),
        ("lap-6", {"fretboard.fret_height": 1.05}, False),
        ("lap-6", {"seat.fret_plane": 4.0}, False),
        ("electric-6", {"fretboard.fret_height": "none"}, False),
        ("electric-6", {"fretboard.fret_height": None}, False),
        ("electric-6", {"setup": None}, False),
    ],
)
def test_schema_and_door_agree_on_what_a_bar_leaves_out(kind: str, changes: dict[str, object], taken: bool) -> None:
    text = text_of(kind, changes)
    assert Draft202012Validator(SCHEMA).is_valid(tomllib.loads(text)) is taken
    if taken:
        parse_spec(text, source="x")
        return
    with pytest.raises(SpecFaults):
        parse_spec(text, source="x")


def test_hash_names_values_and_not_spelling() -> None:
    text = kind_path("electric-6").read_text("utf-8")
    spelled = text.replace("width = 42.0", 'width = "4.2 cm"').replace("# of every", "# quite another remark, of every")
    other = text.replace("width = 42.0", "width = 42.1")
    one, same, changed = (spec_hash(parse_spec(t, source="x")) for t in (text, spelled, other))
    assert one == same
    assert one != changed


def test_inches_and_millimetres_of_one_nut_agree() -> None:
    text = kind_path("electric-6").read_text("utf-8")
    inches = text.replace("width = 42.0", 'width = "1.65354330708661417 in"')
    a, b = parse_spec(text, source="x"), parse_spec(inches, source="x")
    assert a.fretboard.width == pytest.approx(b.fretboard.width, abs=1e-12)
