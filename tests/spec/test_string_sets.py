"""Sets of one's own: what they say is as if it stood in the instrument file."""

import re
import tomllib
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from nutgen.errors import SpecFaults
from nutgen.play.pull import NEWTON_PER, pull_now
from nutgen.spec.read import parse_spec, read_spec, spec_hash
from nutgen.spec.strings import StringSet
from nutgen.spec.tables import Spec
from tests.calling import run
from tests.kinds import text_of
from tests.spec.refused import path_of

README = Path(__file__).parents[2] / "README.md"

# J. D'Addario & Company, A Complete Technical Reference for Fretted Instrument String Tensions, catalog supplement,
# chart 13934, undated: bass .105 in, 0.00198395 lb/in, 36 in, E1 -> 45.2 lbf, with 386.4 in/s^2
PRINTED_LBF, MAKERS_G, STANDARD_G = 45.2, 386.4, 386.0886

SET = """
title = "Mine, medium"
[[strings]]
gauge = 0.105
wound = true
unit_mass = "0.00198395 lb/in"
[[strings]]
gauge = "2.16 mm"
wound = true
core = 0.020
[[strings]]
gauge = 0.065
wound = true
[[strings]]
gauge = 0.045
wound = true
"""
OWN = {f"strings.{i}.{key}": None for i in range(4) for key in ("gauge", "wound")}


def written(folder: Path, text: str, sets: str = SET) -> Path:
    (folder / "sets").mkdir(exist_ok=True)
    (folder / "sets" / "mine.toml").write_text(sets, "utf-8")
    (folder / "bass.toml").write_text(text, "utf-8")
    return folder / "bass.toml"


def test_a_set_is_as_if_it_stood_in_the_file(tmp_path: Path) -> None:
    with_set = read_spec(written(tmp_path, text_of("bass-4", {**OWN, "string_set": "mine", **AT_36})))
    masses = {"strings.0.unit_mass": "0.00198395 lb/in", "strings.1.gauge": "2.16 mm", "strings.1.core": 0.020}
    plain = read_spec(written(tmp_path, text_of("bass-4", {**AT_36, **masses})))
    assert with_set.strings == plain.strings
    assert spec_hash(with_set) == spec_hash(plain)
    lbf = pull_now(with_set).tension_n[0] / NEWTON_PER["lbf"] * STANDARD_G / MAKERS_G
    assert lbf == pytest.approx(PRINTED_LBF, abs=0.05)


AT_36 = {"instrument.scale_length": "36 in"}


@pytest.mark.parametrize(
    ("changes", "sets", "codes"),
    [
        ({"string_set": "mine"}, SET, ["string-set.twice"] * 8),
        ({**OWN, "string_set": "mine"}, SET.rpartition("[[strings]]")[0], ["string-set.wrong-count"]),
        ({**OWN, "string_set": "../bass"}, SET, ["string-set.no-name"]),
        ({**OWN, "string_set": "other"}, SET, ["file.missing"]),
        ({**OWN, "string_set": "mine"}, SET.replace("0.105", "105"), ["reading.above-range"]),
        ({**OWN, "string_set": "mine"}, SET + "core = 0.044", ["strings.no-room-for-wrap"]),
        ({**OWN, "string_set": 7}, SET, ["reading.missing"] * 4 + ["reading.not-text"]),
    ],
)
def test_faults_of_sets(tmp_path: Path, changes: dict[str, object], sets: str, codes: list[str]) -> None:
    with pytest.raises(SpecFaults) as refused:
        read_spec(written(tmp_path, text_of("bass-4", changes), sets))
    assert sorted(one.code for one in refused.value.findings) == sorted(codes)


def test_a_set_that_was_strung_before(tmp_path: Path) -> None:
    before = {"before": {"string_set": "mine", "tuning": ["D1", "A1", "D2", "G2"]}}
    path = written(tmp_path, text_of("bass-4", before))
    masses = [{"gauge": 0.105, "unit_mass": "0.00198395 lb/in"}, {"gauge": "2.16 mm", "core": 0.020}]
    old = [*masses, {"gauge": 0.065}, {"gauge": 0.045}]
    told = [{"note": note, "wound": True, **one} for note, one in zip(["D1", "A1", "D2", "G2"], old, strict=True)]
    plain = parse_spec(text_of("bass-4", {"before": {"strings": told, "tuning": ["D1", "A1", "D2", "G2"]}}), source="x")
    assert read_spec(path).before.strings == plain.before.strings
    assert spec_hash(read_spec(path)) == spec_hash(plain)
    three = SET.rpartition("[[strings]]")[0]  # a set of another count has to say its notes itself
    with pytest.raises(SpecFaults) as refused:
        read_spec(written(tmp_path, text_of("bass-4", {"before": {"string_set": "mine"}}), three))
    assert [one.about[0].name for one in refused.value.findings] == [f"before.strings[{i}].note" for i in (1, 2, 3)]


def test_the_readmes_set_as_it_stands_there(tmp_path: Path) -> None:
    text = re.search(r"<!-- set -->\n```toml\n(.*?)```", README.read_text("utf-8"), re.S)
    assert text is not None
    Draft202012Validator(StringSet.json_schema()).validate(tomllib.loads(text[1]))
    assert read_spec(written(tmp_path, text_of("bass-4", {**OWN, "string_set": "mine"}), text[1])).strings[0].unit_mass


NOTES = {f"strings.{i}.note": None for i in range(4)}


@pytest.mark.parametrize("left_out", [OWN, OWN | NOTES, {"strings": None}])
def test_the_schema_leaves_to_a_set_what_the_door_does(tmp_path: Path, left_out: dict[str, object]) -> None:
    """What a set says need not stand in the file; without a set both refuse the file that leaves it out."""
    schema = Draft202012Validator(Spec.json_schema())
    path = written(tmp_path, text_of("bass-4", left_out), SET.replace("gauge", 'note = "E1"\ngauge'))
    without = path.read_text("utf-8")
    assert not schema.is_valid(tomllib.loads(without))
    with pytest.raises(SpecFaults):
        read_spec(path)
    path.write_text('string_set = "mine"\n' + without, "utf-8")
    assert schema.is_valid(tomllib.loads(path.read_text("utf-8")))
    assert [one.gauge for one in read_spec(path).strings] == pytest.approx([2.667, 2.16, 1.651, 1.143])


def test_tension_against_a_set(tmp_path: Path) -> None:
    written(tmp_path, text_of("bass-4"))
    got = run("tension", "bass.toml", "--against-set", "mine", cwd=tmp_path)
    assert got.returncode == 0, got.stderr
    assert "Against mine (E1 A1 D2 G2" in got.stdout
    written(tmp_path, text_of("bass-4"), SET + "core = 0.044")
    fat = run("tension", "bass.toml", "--against-set", "mine", cwd=tmp_path)
    assert fat.stderr.startswith("sets/mine.toml: strings[4].core: ")
    for words in (("--against-set", "none"), ("--against-set", "mine", "--against", "bass-5")):
        assert run("tension", "bass.toml", *words, cwd=tmp_path).returncode == 2


def test_a_set_without_a_name_is_refused_by_its_key(tmp_path: Path) -> None:
    spoilt = {"5/8": "", "a" * 100_000: "", "../5": "before."}
    for name, at in spoilt.items():
        changes = {"before": {"string_set": name}} if at else {**OWN, "string_set": name}
        path = written(tmp_path, text_of("bass-4", changes), SET)
        with pytest.raises(SpecFaults) as refused:
            read_spec(path)
        assert refused.value.source == str(path)
        assert [path_of(one) for one in refused.value.findings] == [f"{at}string_set"]
