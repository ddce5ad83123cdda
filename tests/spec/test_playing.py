"""The tables that only playing needs: their faults, with good paths, and their schema."""

import tomllib

import pytest
from jsonschema import Draft202012Validator

from nutgen.errors import SpecFaults
from nutgen.spec.kinds import kind_path
from nutgen.spec.read import parse_spec
from nutgen.spec.tables import Spec

BASS = kind_path("bass-4").read_text("utf-8")
OLD = "[old_nut]\ncentres = [5, 16, 27, 37]\nwidths = [2.8, 2.3, 1.8, 1.3]\nfloors = [4.2, 4.5, 4.4, 4.1]\n"


def faults_of(more: str, text: str = BASS) -> list[str]:
    with pytest.raises(SpecFaults) as caught:
        parse_spec(f"{text}\n{more}", source="bass.toml")
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("more", "path", "words"),
    [
        ('[[before.strings]]\nnote = "E1"\ngauge = 105', "before.strings[1].gauge", "thousandths? write 0.105"),
        ('[[before.strings]]\nnote = "E1"\ngauge = 0.1\n[[before.strings]]\nnote = "H1"\ngauge = 0.1',
         "before.strings[2].note", "is not a note"),
        ('[[before.strings]]\ngauge = 0.1', "before.strings[1].note", "missing"),
        ("[before]\nstrings = []\ntunning = 3", "before.tunning", "did you mean tuning?"),
        ("[before]", "before", "says nothing"),
        ('[before]\ntuning = ["E1", "A1"]', "before.tuning", "2 notes for 4 strings"),
        ('[before]\ntuning = ["E1", "A1", "D2", "X"]', "before.tuning", "entry 4:"),
        ("[before]\na4_hz = 4400", "before.a4_hz", "above 500"),
        ("[pluck]\nforce_n = 1.0\nheight = 1.0", "pluck.height", "keep one"),
        ("[pluck]\nfrom_bridge = 350", "pluck.from_bridge", "is over the board"),
        ("[pluck]\nheight = [0.5, 0.5]", "pluck.height", "2 values for 4 strings"),
        ("[errors]\nradius = 5", "errors.radius", "per cent? write 0.05"),
        ("[errors]\nfret_hight = 0.1", "errors.fret_hight", "did you mean fret_height?"),
        (OLD.replace("37]", "37, 39]"), "old_nut.centres", "5 values for 4 strings"),
        (OLD.replace("[5, 16, 27, 37]", "[37, 27, 16, 5]"), "old_nut.centres", "must grow from the bass end"),
        (OLD + 'floors_from = "fret plane"', "old_nut.floors", "measured from the seat floor? write floors_from"),
        (OLD.replace("[4.2, 4.5", "[0.2, 4.5"), "old_nut.floors", 'write floors_from = "fret plane"'),
        (OLD + 'floors_from = "seet"', "old_nut.floors_from", '"seat floor"'),
        (OLD.replace("centres = [5, 16, 27, 37]\n", ""), "old_nut.centres", "missing"),
    ],
)  # fmt: skip
def test_slip_is_named(more: str, path: str, words: str) -> None:
    matching = [
        fault for fault in faults_of(more) if fault.startswith(f"bass.toml: {path}: ") or fault.startswith(f"{path}: ")
    ]
    assert len(matching) == 1, faults_of(more)
    assert words in matching[0]


@pytest.mark.parametrize(
    ("old", "new", "path", "words"),
    [
        ("wound = true", "wound = true\ncore = 0.104", "strings[1].core", "leaves no room for a wrap"),
        ("wound = true", "wound = true\nwraps = [0.03, 0.03]", "strings[1].wraps", "no core is left"),
        ("wound = true", "core = 0.02", "strings[1].core", "a plain string has none"),
    ],
)
def test_builds_that_no_string_has(old: str, new: str, path: str, words: str) -> None:
    (fault,) = faults_of("", BASS.replace(old, new, 1))
    assert fault.startswith(f"{path}: ")
    assert words in fault


@pytest.mark.parametrize(
    ("key", "value", "path", "words"),
    [
        ("action = ", "action = -2.0", "setup.action", "measured the other way?"),
        ("first_fret_clearance = ", 'first_fret_clearance = "least"', "setup.first_fret_clearance", "is not a length"),
    ],
)
def test_targets_that_cannot_be(key: str, value: str, path: str, words: str) -> None:
    line = next(line for line in BASS.splitlines() if line.startswith(key))
    (fault,) = faults_of("", BASS.replace(line, value))
    assert fault.startswith(f"{path}: ")
    assert words in fault


WHOLE = (
    OLD
    + '[pluck]\nforce_n = 1.5\nfrom_bridge = "4 in"\n[errors]\nrelief = 0.02\n'
    + '[before]\ntuning = ["D1", "G1", "C2", "F2"]\n'
)


def test_schema_and_door_take_the_same_tables() -> None:
    text = f"{BASS}\n{WHOLE}".replace("[slots]", "[slots]\nsetback = [0.2, 0.2, 0.1, 0.1]")
    line = next(line for line in BASS.splitlines() if line.startswith("first_fret_clearance"))
    text = text.replace(line, 'first_fret_clearance = "lowest"').replace(
        "[instrument]", "[instrument]\nrelief_per_100_n = 0.1"
    )
    Draft202012Validator(Spec.json_schema()).validate(tomllib.loads(text))
    spec = parse_spec(text, source="x")
    assert spec.pluck.from_bridge == pytest.approx(101.6)
    assert spec.pluck.given == {"force_n", "from_bridge"}
    assert spec.setup.first_fret_clearance == "lowest"
    assert spec.slots.setback.values == (0.2, 0.2, 0.1, 0.1)
    assert spec.before is not None
    assert spec.old_nut is not None
    assert spec.old_nut.floors_from == "seat floor"


@pytest.mark.parametrize(
    ("old", "new"),
    [("force_n = 1.5", "force_n = -1"), ("relief = 0.02", "reliev = 0.02"), ("tuning = [", "tuning = [1, ")],
)
def test_schema_and_door_refuse_the_same_slips(old: str, new: str) -> None:
    text = f"{BASS}\n{WHOLE.replace(old, new, 1)}"
    assert not Draft202012Validator(Spec.json_schema()).is_valid(tomllib.loads(text))
    with pytest.raises(SpecFaults):
        parse_spec(text, source="x")
