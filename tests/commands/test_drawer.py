"""The whole job with what is in a drawer: calipers, a ruler, paper, cards, old strings, a pencil, a tin, a few files.

A five-string moved up a fourth to lighter strings, the old nut cut for thick ones, an antler spike 20 thick whose wall
is read once its thick end is trimmed; from the first question to the dry fit, in a real terminal (pexpect).
"""

import json
import re
from pathlib import Path

import pytest

from nutgen.spec.read import read_spec
from tests.calling import run
from tests.commands.test_ask import Terminal

STRINGS = ("E1 0.100 wound", "A1 0.080 wound", "D2 0.060 wound", "G2 0.045 wound", "C3 0.030 wound")
POSTS = ((42, -24, 5.5), (78, -14.5, 10.5), (114, -5, 15), (150, 4.5, 19.5), (92, 22, 12.5))
SHEETS = {"paper": 1.02, "card": 2.95}
SPIKE = """
title = "Antler spike"
material = "antler"
back_line = "along the hollow of the bow"
first_end = "the thick end, trimmed"
stations = [
  { at = 0.0, width = 20.4, height = 20.0, gap_back = 0.0 },
  { at = 40.0, width = 19.8, height = 19.4, gap_back = "3 card + 1 paper" },
  { at = 80.0, width = 19.2, height = 18.9, gap_back = "4 card" },
  { at = 125.0, width = 18.6, height = 18.0, gap_back = 0.0 },
]
permit = { core_in = ["underside"], kerf = 0.8 }
tools = { own_leaves = { paper = { ten = 1.02 }, card = { ten = 2.95 } } }
"""
WALL = ", wall = { left = 6.6, right = 6.4, back = 6.8, belly = 6.2 } },"


def in_units(units: str, *mm: float) -> str:
    return " ".join(f"{one:g}" if units == "mm" else f"{one / 25.4:.4f}" for one in mm)


def asked(units: str) -> list[tuple[str, str]]:
    """Every question in turn, and what a drawer answers."""

    def in_(*mm: float) -> str:
        return in_units(units, *mm)

    sheets = ", ".join(f"{name} {in_(ten)}" for name, ten in SHEETS.items())
    strings = [(f"String {5 - place}", line) for place, line in enumerate(STRINGS)]
    posts = [(f"post of string {5 - place}", in_(*post)) for place, post in enumerate(POSTS)]
    return [
        ("this job called?", "Five up a fourth"), ("Which units", units), ("right or left", ""), ("All readings", ""),
        ("Feeler leaves?", ""), ("Sheets that fill", sheets), ("Offcuts", "0.009 0.011 0.013 0.017"),
        ("Strips of steel", in_(0.24)), ("Slotting files", ""),
        ("needle files", "0.9-3.0 1.2" if units == "mm" else "0.0354-0.1181 0.0472"), ("Fine saws", in_(0.5)),
        ("Drills", ""), ("How many strings?", "5"), *strings, ("Nut to fret 12", in_(431.8)), ("How many frets?", "24"),
        ("Relief", "string 1 card"), ("Action, bass", "8 card"), ("Action, treble", "6 card + 1 paper"),
        ("Board width", in_(47.2)), ("Board radius", f"gap 3 card; 2 card + 3 paper; {in_(43)}"),
        ("Height of fret 1", "ruler 3 card + 2 paper"), ("do not lie level", ""), ("to be spaced", "centres"),
        ("Margin at the bass", in_(3.4)), ("Margin at the treble", in_(3.1)), ("Behind the nut", "posts"), *posts,
        ("String guide", ""), ("which seat", "ledge"), ("Thickness", in_(5.6)),
        ("Depth of the seat", in_(3.4)), ("Floor of the seat", "flat"), ("Fret plane by", "pencil"),
        ("Height of the lead", in_(3.4)), ("pencil at the bass", in_(7.0)),
        ("pencil at the treble", in_(6.95)), ("pencil on the centre", in_(7.9)), ("Action wanted, bass", ""),
        ("Action wanted, treble", ""), ("over fret 1, bass", ""), ("over fret 1, treble", ""), ("made of", "antler"),
    ]  # fmt: skip


def answered(talk: Terminal, answers: list[tuple[str, str]]) -> None:
    for words, answer in answers:
        talk.at(words)
        talk.answer(answer)


def names_no_other_tool(said: str) -> None:
    """No feeler leaf, slotting file or drill: none was listed."""
    plain = " ".join(re.sub(r"\x1b\[\d*m", "", said).split())
    assert not re.search(
        r"no leaf|[Ll]ay leaves|feeler le|the leaf|leaves? (between|that)|[Ss]lotting file \d|drill shank \d", plain
    )


@pytest.mark.slow
@pytest.mark.parametrize("units", ["mm", "in"])
def test_from_the_first_question_to_the_dry_fit(units: str, tmp_path: Path) -> None:
    talk = Terminal(tmp_path, "new", "mine.toml", "--ask", "--from", "bass-5")
    answered(talk, [*asked(units), ("Write mine.toml?", "")])
    assert talk.end() == 0
    told = talk.seen.split("this is nutgen check")[1]
    for word in ("gap under a ruler", "by the gaps", "the thinnest string pressed", "by a halved pencil"):
        assert word in " ".join(told.split()), word
    names_no_other_tool(told)
    spec = read_spec(tmp_path / "mine.toml")
    assert spec.not_measured == ()
    assert {way.name for way in spec.ways} == {"under_ruler", "gaps", "under_string", "pencil"}

    stages = run("stages", "mine.toml", cwd=tmp_path)
    assert stages.returncode == 0
    names_no_other_tool(stages.stdout)
    assert "steel over" in stages.stdout
    assert "1 card + 1 paper" in stages.stdout

    made = run("make", "mine.toml", "--for", "trace,wall", cwd=tmp_path)
    assert made.returncode == 0
    assert (tmp_path / "output/mine/template.pdf").is_file()

    (tmp_path / "spike.toml").write_text(SPIKE, "utf-8")
    before = run("stock", "mine.toml", "--piece", "spike.toml", cwd=tmp_path)
    assert before.returncode == 1
    assert "no wall was measured" in " ".join(before.stdout.split())
    (tmp_path / "spike.toml").write_text(SPIKE.replace(" },", WALL, 1), "utf-8")
    trimmed = run("stock", "mine.toml", "--piece", "spike.toml", "--json", cwd=tmp_path)
    assert trimmed.returncode == 0
    assert json.loads(trimmed.stdout)["fits"]
    names_no_other_tool(run("stock", "mine.toml", "--piece", "spike.toml", cwd=tmp_path).stdout)

    fit = Terminal(tmp_path, "dryfit", "mine.toml")
    readings = [("open, over fret 1", "2 card + 1 paper"), ("pressed at 3, over fret 1", "1 card")] * 5
    answered(fit, [("Relief", "string 1 card"), ("Action, bass", "8 card"), ("Action, treble", "6 card + 1 paper"),
                   ("Which checks?", "both"), *readings, ("Nut position", ""), ("Keep these", "yes")])  # fmt: skip
    assert fit.end() == 0
    names_no_other_tool(fit.seen.split("Keep these")[1] + fit.seen.split("Which checks?")[1])
    assert "file" in fit.seen
    kept = read_spec(tmp_path / "mine.toml").dry_fit
    assert kept is not None
    assert kept.feeler == pytest.approx((0.692,) * 5, abs=2e-4)
    assert kept.relief == pytest.approx(spec.setup.relief, abs=1e-6)
    logged = [json.loads(line) for line in (tmp_path / "mine.dryfit.jsonl").read_text("utf-8").splitlines()]
    assert ["made" in one for one in logged] == [True, False]  # what `make` made, then the round
