"""Sets of one's own: what they say is as if it stood in the instrument file."""

from pathlib import Path

import pytest

from nutgen.errors import SpecFaults
from nutgen.play.pull import NEWTON_PER, pull_now
from nutgen.spec.read import read_spec, spec_hash
from tests.calling import run
from tests.kinds import text_of

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


def test_tension_against_a_set(tmp_path: Path) -> None:
    written(tmp_path, text_of("bass-4"))
    got = run("tension", "bass.toml", "--against-set", "mine", cwd=tmp_path)
    assert got.returncode == 0, got.stderr
    assert "Against mine (E1 A1 D2 G2" in got.stdout
    for words in (("--against-set", "none"), ("--against-set", "mine", "--against", "bass-5")):
        assert run("tension", "bass.toml", *words, cwd=tmp_path).returncode == 2
