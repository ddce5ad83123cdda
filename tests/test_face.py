"""The face for Python: the three lines of the README, run as they stand there."""

import re
from pathlib import Path

import pytest

import nutgen
from nutgen.errors import SpecFaults

README = Path(__file__).parents[1] / "README.md"


def readme_lines() -> str:
    found = re.search(r"<!-- python -->\n```python\n(.*?)```", README.read_text("utf-8"), re.S)
    assert found
    return found[1]


def test_the_readme_s_lines_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text((README.parent / "presets" / "bass-4-fifths.toml").read_text("utf-8"))
    scope: dict[str, object] = {}
    exec(readme_lines(), scope)  # the README is our own
    shape = scope["shape"]
    assert shape.isValid()  # type: ignore[attr-defined]
    box = shape.BoundingBox()  # type: ignore[attr-defined]
    assert box.xlen == pytest.approx(scope["nut"].length, abs=1e-6)  # type: ignore[attr-defined]
    assert isinstance(nutgen.findings(scope["nut"]), tuple)  # type: ignore[arg-type]


def test_every_name_of_the_face_is_there() -> None:
    assert all(callable(getattr(nutgen, name)) for name in nutgen.__all__)


def test_a_name_of_a_kind_will_do() -> None:
    assert hash(nutgen.solve(nutgen.read("banjo-5"))) == hash(nutgen.solve(nutgen.read("banjo-5")))


def test_slips_come_out_together(tmp_path: Path) -> None:
    text = (README.parent / "presets" / "banjo-5.toml").read_text("utf-8")
    file = tmp_path / "slip.toml"
    file.write_text(re.sub(r"(?m)^(width|thickness) = .*$", r"\1 = -1", text))
    with pytest.raises(SpecFaults) as caught:
        nutgen.read(file)
    assert "fretboard.width" in str(caught.value)
    assert "seat.thickness" in str(caught.value)
