"""`reuse --ask` as a user meets it: slot by slot at a terminal, kept in the file on yes."""

import tomllib
from pathlib import Path

import pexpect
import pytest

from nutgen.spec.presets import kind_path
from tests.calling import at_a_terminal, run, say


def start(folder: Path) -> pexpect.spawn:
    return at_a_terminal(folder, "reuse", "mine.toml", "--ask")


@pytest.fixture
def mine(tmp_path: Path) -> Path:
    (tmp_path / "mine.toml").write_text(kind_path("ukulele-tenor").read_text("utf-8"))
    return tmp_path


def test_edges_by_caliper_with_a_slip_and_kept_on_yes(mine: Path) -> None:
    before = (mine / "mine.toml").read_text()
    child = start(mine)
    say(child, "rattle or move in their slots?", "2 9")
    say(child, "1 to 4", "2, 4")
    say(child, "edges of the slots, or to their centres?", "")
    say(child, "Floors from where?", "")
    for number, (edge, width, floor) in {
        4: ("2.8", "0.7", "7.9"), 3: ("12.3", "0.9", "7.9"), 2: ("22", "1.1", "7.9"), 1: ("31.9", "0.7", "7.9"),
    }.items():  # fmt: skip
        if number == 2:
            say(child, "string 2 (E4): place", "12.2")
            say(child, "one misread?", edge)
        else:
            say(child, f"string {number} (", edge)
        say(child, f"string {number} (", width)
        say(child, f"string {number} (", floor)
    say(child, "Keep these readings in mine.toml, as [old_nut]?", "yes")
    child.expect(pexpect.EOF)
    assert "Old nut:" in child.before
    text = (mine / "mine.toml").read_text()
    assert text.startswith(before)
    assert tomllib.loads(text)["old_nut"] == {
        "edges": [2.8, 12.3, 22, 31.9],
        "widths": [0.7, 0.9, 1.1, 0.7],
        "floors": [7.9] * 4,
        "floors_from": "seat floor",
        "rattles": [2, 4],
    }
    again = run("reuse", "mine.toml", cwd=mine)
    assert again.returncode == 0
    assert again.stdout.split()[-40:] == child.before.split()[-40:]


def test_without_a_table_or_a_terminal_one_clear_message(mine: Path) -> None:
    for words, said in ((("mine.toml",), "[old_nut]"), (("mine.toml", "--ask"), "asks at a terminal")):
        done = run("reuse", *words, cwd=mine)
        assert done.returncode == 2
        assert said in done.stderr
        assert len(done.stderr.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        (
            "widths = [1, 1, 1, 1]\nfloors = [8, 8, 8, 8]",
            "old_nut.centres: missing; write centres = ... (from the bass end of the nut; or edges",
        ),
        (
            "centres = [3, 13, 23, 33]\nedges = [3, 13, 23, 33]\nwidths = [1, 1, 1, 1]\nfloors = [8, 8, 8, 8]",
            "given together with centres",
        ),
        ("edges = [3, 13, 23]\nwidths = [1, 1, 1, 1]\nfloors = [8, 8, 8, 8]", "old_nut.edges: 3 values"),
    ],
)
def test_places_are_measured_one_way(readings: str, words: str, mine: Path) -> None:
    with (mine / "mine.toml").open("a") as file:
        file.write(f"\n[old_nut]\n{readings}\n")
    done = run("reuse", "mine.toml", cwd=mine)
    assert done.returncode == 2
    assert words in done.stderr
