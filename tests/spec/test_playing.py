"""The tables that only playing needs: their faults, with good paths, and their schema."""

import tomllib

import pytest
from jsonschema import Draft202012Validator

from nutgen.errors import SpecFaults
from nutgen.spec.presets import kind_path
from nutgen.spec.read import parse_spec
from nutgen.spec.tables import Spec
from tests.spec.refused import refused, the_only

BASS = kind_path("bass-4").read_text("utf-8")
OLD = "[old_nut]\ncentres = [5, 16, 27, 37]\nwidths = [2.8, 2.3, 1.8, 1.3]\nfloors = [4.2, 4.5, 4.4, 4.1]\n"
TRIAL = (
    "[trial]\nclearances = [0.5, 0.45, 0.4, 0.4]\nover_wires = [9.1, 8.9, 8.4, 7.9]\nwires = [0.1, 0.08, 0.06, 0.045]\n"
    "relief = 0.3\naction = 2.0\n"
)


@pytest.mark.parametrize(
    ("more", "path", "code", "likely"),
    [
        (TRIAL.replace("[0.5, 0.45, 0.4, 0.4]", '["none", 0, 0, "none"]'), "trial.clearances",
         "trial.no-plane", ''),
        (TRIAL.replace("[0.5, 0.45, 0.4, 0.4]", '[0.5, "none"]'), "trial.clearances", "reading.not-one-a-string", ''),
        (TRIAL.replace("0.45,", '"no",'), "trial.clearances[2]", "reading.not-a-length", ''),
        (TRIAL.replace("[9.1, 8.9", "[2.9, 8.9"), "trial.over_wires[1]", "trial.floor-too-low", ''),
        (TRIAL + "drags = [0.55, 0.4, 0.45, 0.45]", "trial.drags[2]", "dry-fit.drags-thinner-than-passes", ''),
        (TRIAL.replace("relief = 0.3\n", ""), "trial.relief", "reading.missing", ''),
        (TRIAL.replace("wires = [0.1, 0", "wires = [100, 0"), "trial.wires[1]", "reading.above-range", '0.1'),
        ('[[before.strings]]\nnote = "E1"\ngauge = 105', "before.strings[1].gauge", "reading.above-range", '0.105'),
        ('[[before.strings]]\nnote = "E1"\ngauge = 0.1\n[[before.strings]]\nnote = "H1"\ngauge = 0.1',
         "before.strings[2].note", "reading.not-a-note", ''),
        ('[[before.strings]]\ngauge = 0.1', "before.strings[1].note", "reading.missing", ''),
        ("[before]\nstrings = []\ntunning = 3", "before.tunning", "reading.unknown-key", 'tuning'),
        ("[before]", "before", "before.says-nothing", ''),
        ('[before.strings]\nnote = "E1"\ngauge = 0.1', "before.strings", "reading.not-tables", ''),
            ("[before]\nstrings = [1]", "before.strings[1]", "reading.not-tables", ''),
        ('[[before.strings]]\nnote = "E1"\ngauge = 0.1\n' * 17, "before.strings", "reading.wrong-count", ''),
        ('[before]\ntuning = ["E1", "A1"]', "before.tuning", "reading.not-one-a-string", ''),
        ('[before]\ntuning = ["E1", "A1", "D2", "X"]', "before.tuning[4]", "reading.not-a-note", ''),
        ("[before]\na4_hz = 4400", "before.a4_hz", "reading.above-range", ''),
        ("[pluck]\nforce_n = 1.0\nheight = 1.0", "pluck.height", "reading.given-together", ''),
        ("[pluck]\nfrom_bridge = 350", "pluck.from_bridge", "pluck.over-board", ''),
        ("[pluck]\nheight = [0.5, 0.5]", "pluck.height", "reading.not-one-a-string", ''),
        ("[errors]\nradius = 5", "errors.radius", "reading.above-range", '0.05'),
        ("[errors]\nfret_hight = 0.1", "errors.fret_hight", "reading.unknown-key", 'fret_height'),
        (OLD.replace("37]", "37, 39]"), "old_nut.centres", "reading.not-one-a-string", ''),
        (OLD.replace("[5, 16, 27, 37]", "[37, 27, 16, 5]"), "old_nut.centres", "reading.centres-out-of-order", ''),
        (OLD + 'floors_from = "fret plane"', "old_nut.floors", "old-nut.floors-too-high", ''),
        (OLD.replace("[4.2, 4.5", "[0.2, 4.5"), "old_nut.floors", "old-nut.floors-too-low", ''),
        (OLD + 'floors_from = "seet"', "old_nut.floors_from", "reading.not-one-of", ''),
        (OLD.replace("centres = [5, 16, 27, 37]\n", ""), "old_nut.centres", "reading.missing", ''),
    ],
)  # fmt: skip
def test_slip_is_named(more: str, path: str, code: str, likely: str) -> None:
    assert the_only(refused(parse_spec, f"{BASS}\n{more}"), path) == (code, likely)


@pytest.mark.parametrize(
    ("old", "new", "path", "code", "likely"),
    [
        ("wound = true", "wound = true\ncore = 0.104", "strings[1].core", "strings.no-room-for-wrap", ""),
        ("wound = true", "wound = true\nwraps = [0.03, 0.03]", "strings[1].wraps", "strings.no-core-left", ""),
        ("wound = true", "core = 0.02", "strings[1].core", "strings.plain-is-built", ""),
    ],
)
def test_builds_that_no_string_has(old: str, new: str, path: str, code: str, likely: str) -> None:
    assert the_only(refused(parse_spec, BASS.replace(old, new, 1)), path) == (code, likely)


@pytest.mark.parametrize(
    ("key", "value", "path", "code", "likely"),
    [
        ("action = ", "action = -2.0", "setup.action", "reading.below-range", "2"),
        (
            "first_fret_clearance = ",
            'first_fret_clearance = "least"',
            "setup.first_fret_clearance",
            "reading.not-a-length",
            "",
        ),
    ],
)
def test_targets_that_cannot_be(key: str, value: str, path: str, code: str, likely: str) -> None:
    line = next(line for line in BASS.splitlines() if line.startswith(key))
    assert the_only(refused(parse_spec, BASS.replace(line, value)), path) == (code, likely)


WHOLE = (
    OLD
    + '[pluck]\nforce_n = 1.5\nfrom_bridge = "4 in"\n[errors]\nrelief = 0.02\n'
    + '[before]\ntuning = ["D1", "G1", "C2", "F2"]\n'
    + TRIAL.replace("0.45,", '"none",')
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
    assert {path for path in spec.assumed if path.startswith("pluck")} == {
        "pluck.height",
        "pluck.margin",
        "pluck.finger",
    }
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
