"""What hurts follows what the nut is made of, on every screen, paper and file; each time with whom to ask."""

import json
import re
from pathlib import Path
from typing import get_args

import ezdxf
import pypdfium2
import pytest

from nutgen.bench.materials import MATERIALS
from nutgen.documents.words import sentence
from nutgen.spec.workshop import MaterialName
from tests.calling import run
from tests.kinds import text_of

OTHERS = {"bone", "antler", "horn", "wood", "brass", "phenolic", "plastic"}
OWN = {"hardwood": "wood", "printed plastic": "plastic"}
ASK = "local rules first; unsure, ask a licensed repairer"


def test_one_line_each() -> None:
    for name in get_args(MaterialName):
        line = sentence(MATERIALS[name].in_short)
        assert line.endswith(f"{ASK}.")
        assert len(line) <= 160
        spoken = {other for other in OTHERS if re.search(rf"\b{other}\b", line, re.IGNORECASE)}
        assert spoken == {OWN.get(name, name)}, line
        assert "mask" in line
        assert "eye protection" in line


@pytest.mark.parametrize("command", ["tension", "heights"])
def test_strings_whip_on_the_screens_of_playing(command: str, tmp_path: Path) -> None:
    said = " ".join(run(command, "electric-6", cwd=tmp_path).stdout.split())
    assert "A string under tension can whip" in said
    assert ASK in said
    told = json.loads(run(command, "electric-6", "--json", cwd=tmp_path).stdout)
    assert [one["code"] for one in told["cautions"]] == ["caution.strings"]


def test_reuse_speaks_of_the_old_nut_s_material(tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(text_of("bass-4-fifths", {"material": "brass"}), "utf-8")
    said = " ".join(run("reuse", "mine.toml", cwd=tmp_path).stdout.split())
    assert "Brass filings" in said
    assert ASK in said
    assert not re.search(r"\b(bone|antler)\b", said, re.IGNORECASE)


@pytest.mark.slow
@pytest.mark.parametrize("material", ["brass", "hardwood"])
def test_a_made_set_speaks_of_its_own_material(material: MaterialName, tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(text_of("electric-6", {"material": material}), "utf-8")
    done = run("make", "mine.toml", "--for", "trace,mill", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    folder = tmp_path / "output" / "mine"
    pdf = pypdfium2.PdfDocument(folder / "template.pdf")
    texts = {
        "screen": done.stdout,
        "mill.txt": (folder / "mill.txt").read_text("utf-8"),
        "template.pdf": " ".join(page.get_textpage().get_text_bounded() for page in pdf),
        "template.svg": " ".join(
            re.findall(r"<text [^>]*>([^<]*)</text>", (folder / "template.svg").read_text("utf-8"))
        ),
    }
    for name in ("mill.dxf", "mill-profile.dxf", "template.dxf"):
        notes = ezdxf.readfile(folder / name).modelspace().query("TEXT")
        texts[name] = " ".join(note.dxf.text for note in notes)
    for name, text in texts.items():
        said = " ".join(text.split())
        assert sentence(MATERIALS[material].in_short).split(":")[0] in said, name
        assert ASK in said, name
        assert not re.search(r"\b(bone|antler)\b", said, re.IGNORECASE), name
    record = json.loads((folder / "nut.json").read_text("utf-8"))
    codes = [one["code"] for one in record["cautions"]]
    assert codes == [*(one.code for one in MATERIALS[material].cautions), "caution.material", "caution.strings"]
