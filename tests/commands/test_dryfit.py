"""`dryfit` as a user meets it: from the file, at a terminal, with a log that grows beside it."""

import json
import tomllib
from pathlib import Path
from xml.etree import ElementTree

import pexpect
import pytest

from nutgen.spec.presets import kind_path
from tests import calling
from tests.calling import Done, at_a_terminal, say
from tests.cases import cases

HIGH = """
[dry_fit]
feeler = [0.80, 0.70, 0.45, 0.60]
sliver = [0.35, 0.25, 0.15, 0.20]
relief = 0.30
action = { bass = 2.4, treble = 2.0 }
"""


def run(folder: Path, *words: str, columns: int = 80) -> Done:
    return calling.run("dryfit", *words, cwd=folder, columns=columns)


@pytest.fixture
def mine(tmp_path: Path) -> Path:
    (tmp_path / "mine.toml").write_text(kind_path("bass-4-fifths").read_text("utf-8") + HIGH)
    return tmp_path


def edit(folder: Path, before: str, after: str) -> None:
    text = (folder / "mine.toml").read_text()
    assert before in text
    (folder / "mine.toml").write_text(text.replace(before, after))


def logged(folder: Path) -> list[dict]:
    return [json.loads(line) for line in (folder / "mine.dryfit.jsonl").read_text().splitlines()]


class TestFromTheFile:
    def test_tells_what_to_file_and_keeps_the_readings(self, mine: Path) -> None:
        done = run(mine, "mine.toml")
        assert done.returncode == 0, done.stderr
        assert "3 to file" in done.stdout
        assert "2 D2: " in done.stdout
        assert "leave it alone" in done.stdout
        assert "in strokes" in done.stdout
        assert "can whip" in done.stdout
        assert "mask" in done.stdout
        assert len(logged(mine)) == 1

    def test_json(self, mine: Path) -> None:
        record = json.loads(run(mine, "mine.toml", "--json").stdout)
        assert record["units"] == "mm"
        assert record["round"] == 1
        assert [s["number"] for s in record["strings"]] == [4, 3, 2, 1]
        assert [s["verdict"] for s in record["strings"]] == ["file", "file", "leave", "file"]
        for string in record["strings"]:
            assert string["floor_off"]["low"] <= string["floor_off"]["high"]
            assert string["file_off"] == pytest.approx(sum(step["values"]["amount"] for step in string["steps"]))
            assert string["then_reads"]["check"] == "feeler"

    def test_the_same_readings_are_kept_once(self, mine: Path) -> None:
        first = run(mine, "mine.toml")
        second = run(mine, "mine.toml")
        assert len(logged(mine)) == 1
        assert "in the log already" in second.stderr
        assert first.stdout == second.stdout

    def test_rounds_add_up(self, mine: Path) -> None:
        run(mine, "mine.toml")
        edit(mine, "feeler = [0.80, 0.70, 0.45, 0.60]", "feeler = [0.60, 0.55, 0.45, 0.50]")
        edit(mine, "sliver = [0.35, 0.25, 0.15, 0.20]", "sliver = [0.20, 0.15, 0.15, 0.15]")
        done = run(mine, "mine.toml")
        assert "round 2" in done.stdout
        assert [one["strings"][0]["gaps"][0]["passes"] for one in logged(mine)] == [0.8, 0.6]

    @pytest.mark.parametrize("columns", [80, 50])
    def test_fits_the_terminal(self, columns: int, mine: Path) -> None:
        edit(mine, "[0.80, 0.70, 0.45, 0.60]", "[0.80, 0.70, 0.20, 0.60]")
        edit(mine, "[0.35, 0.25, 0.15, 0.20]", "[0.35, 0.25, 0.00, 0.20]")
        done = run(mine, "mine.toml", columns=columns)
        assert "Ways back" in done.stdout
        assert [line for line in done.stdout.splitlines() if len(line) > columns] == []

    def test_in_inches(self, tmp_path: Path) -> None:
        text = kind_path("acoustic-6-inches").read_text("utf-8")
        readings = '\n[dry_fit]\nfeeler = [0.025, 0.024, 0.022, 0.021, "20/1000 in", "0.5 mm"]\nrelief = 0.008\n'
        (tmp_path / "mine.toml").write_text(text + readings)
        done = run(tmp_path, "mine.toml")
        assert done.returncode == 0, done.stderr
        assert "0.0250 to" in done.stdout
        assert "All in inches" in done.stdout

    def test_undo_takes_the_last_round_back(self, mine: Path) -> None:
        first = run(mine, "mine.toml")
        edit(mine, "feeler = [0.80, 0.70, 0.45, 0.60]", "feeler = [0.60, 0.55, 0.45, 0.50]")
        edit(mine, "sliver = [0.35, 0.25, 0.15, 0.20]", "sliver = [0.20, 0.15, 0.15, 0.15]")
        second = run(mine, "mine.toml")
        before = (mine / "mine.dryfit.jsonl").read_bytes()
        undone = run(mine, "mine.toml", "--undo")
        assert undone.returncode == 0
        assert "round 2" in undone.stderr
        assert (mine / "mine.dryfit.jsonl").read_bytes().startswith(before)
        assert run(mine, "mine.toml").stdout == second.stdout  # the same round once more
        assert [run(mine, "mine.toml", "--undo").returncode for _ in range(3)] == [0, 0, 2]
        edit(mine, "feeler = [0.60, 0.55, 0.45, 0.50]", "feeler = [0.80, 0.70, 0.45, 0.60]")
        edit(mine, "sliver = [0.20, 0.15, 0.15, 0.15]", "sliver = [0.35, 0.25, 0.15, 0.20]")
        assert run(mine, "mine.toml").stdout == first.stdout

    def test_relief_a_leaf_off_is_reckoned_with(self, mine: Path) -> None:
        edit(mine, "relief = 0.30\naction", "relief = 0.40\naction")
        done = run(mine, "mine.toml")
        assert "3 to file" in done.stdout
        assert "reckoned with the relief as it is" in " ".join(done.stdout.split())

    def test_truss_rod_first(self, mine: Path) -> None:
        edit(mine, "relief = 0.30\naction", "relief = 0.50\naction")
        done = run(mine, "mine.toml")
        assert "The truss rod first" in done.stdout
        assert "licensed" in done.stdout
        assert "in strokes" not in done.stdout

    def test_plot(self, mine: Path) -> None:
        run(mine, "mine.toml")
        edit(mine, "feeler = [0.80, 0.70, 0.45, 0.60]", "feeler = [0.60, 0.55, 0.45, 0.50]")
        edit(mine, "sliver = [0.35, 0.25, 0.15, 0.20]", "sliver = [0.20, 0.15, 0.15, 0.15]")
        assert run(mine, "mine.toml", "--plot", "log.svg").returncode == 0
        root = ElementTree.parse(mine / "log.svg").getroot()
        bars = [one for one in root.iter() if one.get("id", "").startswith("floor-")]
        assert len(bars) == 2 * 4
        assert len([one for one in root.iter() if one.get("id", "").startswith("tolerance-")]) == 4
        words = " ".join(one.text or "" for one in root.iter() if one.tag.endswith("text"))
        assert all(note in words for note in ("4 C1", "3 G1", "2 D2", "1 A2"))


class TestSlips:
    @pytest.mark.parametrize(
        ("before", "after", "words"),
        [
            ("[0.80, 0.70, 0.45, 0.60]", "[0.80, 0.70, -0.45, 0.60]", "dry_fit.feeler[3]: -0.45 mm is below 0"),
            ("[0.80, 0.70, 0.45, 0.60]", "[32, 28, 18, 24]", 'thousandths? write "0.032 in"'),
            ("[0.80, 0.70, 0.45, 0.60]", "[0.80, 0.70, 0.018, 0.60]", 'inches? write "0.018 in"'),
            ("[0.80, 0.70, 0.45, 0.60]", "[0.80, 0.70, 0.03, 0.60]", "less than the thinnest leaf"),
            ("[0.80, 0.70, 0.45, 0.60]", "[0.80, 0.70, 0.45]", "dry_fit.feeler: 3 values for 4 strings"),
            ("[0.80, 0.70, 0.45, 0.60]", '[0.80, "wide", 0.45, 0.6]', "dry_fit.feeler[2]"),
            ("sliver = ", "silver = ", "did you mean sliver?"),
            (
                "relief = 0.30\naction",
                "feeler_drags = [0.8, 0.75, 0.5, 0.65]\naction",
                "drags is the thicker|drags but",
            ),
            ("action = { bass = 2.4", "barred = [0.3]\naction = { bass = 2.4", "dry_fit.barred: 1 value for 4 strings"),
        ],
    )
    def test_readings_that_cannot_be(self, before: str, after: str, words: str, mine: Path) -> None:
        edit(mine, before, after)
        done = run(mine, "mine.toml")
        assert done.returncode == 2
        assert any(word in done.stderr for word in words.split("|")), done.stderr
        assert "Traceback" not in done.stderr
        assert not (mine / "mine.dryfit.jsonl").exists()

    def test_a_string_that_rises(self, mine: Path) -> None:
        run(mine, "mine.toml")
        edit(mine, "0.45, 0.60]", "0.70, 0.60]")
        edit(mine, "0.15, 0.20]", "0.35, 0.20]")
        done = run(mine, "mine.toml", "--json")
        record = json.loads(done.stdout)
        assert record["strings"][2]["verdict"] == "measure again"
        assert record["strings"][2]["says"]["code"] == "dry-fit.rose"
        assert record["in_doubt"]
        assert all(string["file_off"] == 0.0 for string in record["strings"])

    def test_readings_in_doubt_are_no_round_until_they_are_read_twice(self, mine: Path) -> None:
        run(mine, "mine.toml")
        before = (mine / "mine.dryfit.jsonl").read_bytes()
        edit(mine, "0.45, 0.60]", "0.70, 0.60]")
        edit(mine, "0.15, 0.20]", "0.35, 0.20]")
        done = run(mine, "mine.toml")
        assert "not yet round 2" in done.stdout
        assert "read_twice = true" in " ".join(done.stdout.split())
        assert (mine / "mine.dryfit.jsonl").read_bytes() == before
        edit(mine, "relief = 0.30\naction", "relief = 0.30\nread_twice = true\naction")
        record = json.loads(run(mine, "mine.toml", "--json").stdout)
        assert (record["round"], record["in_doubt"]) == (2, False)
        assert record["strings"][2]["verdict"] == "file"
        assert len(logged(mine)) == 2

    def test_a_kind_is_not_a_nut(self, tmp_path: Path) -> None:
        done = run(tmp_path, "bass-4")
        assert done.returncode == 2
        assert "nutgen new mine.toml --from bass-4" in done.stderr
        assert list(tmp_path.iterdir()) == []

    def test_without_readings_and_terminal_one_clear_message(self, tmp_path: Path) -> None:
        (tmp_path / "mine.toml").write_text(kind_path("bass-4").read_text("utf-8"))
        done = run(tmp_path, "mine.toml")
        assert done.returncode == 2
        assert "asks at a terminal" in done.stderr
        assert "[dry_fit]" in done.stderr

    def test_a_log_that_cannot_be_written_still_gives_the_advice(self, mine: Path) -> None:
        (mine / "mine.dryfit.jsonl").symlink_to(mine / "gone" / "log")
        done = run(mine, "mine.toml")
        assert done.returncode == 1
        assert "NOT kept" in done.stderr
        assert "3 to file" in done.stdout

    def test_a_folder_in_the_place_of_the_log(self, mine: Path) -> None:
        (mine / "mine.dryfit.jsonl").mkdir()
        done = run(mine, "mine.toml")
        assert done.returncode == 1
        assert len(done.stderr.strip().splitlines()) == 1

    def test_plot_wants_an_svg(self, mine: Path) -> None:
        done = run(mine, "mine.toml", "--plot", "log.png")
        assert done.returncode == 2
        assert ".svg" in done.stderr
        assert [path.name for path in mine.iterdir()] == ["mine.toml"]  # refused before a round is logged


class TestAtATerminal:
    def start(self, folder: Path, *words: str) -> pexpect.spawn:
        return at_a_terminal(folder, "dryfit", "mine.toml", *words)

    @pytest.fixture
    def plain(self, tmp_path: Path) -> Path:
        (tmp_path / "mine.toml").write_text(kind_path("ukulele-tenor").read_text("utf-8"))
        return tmp_path

    def first_round(self, child: pexpect.spawn, readings: tuple[str, str, str, str]) -> None:
        say(child, "Relief", "0.05")
        say(child, "bass-most string", "2.6")
        say(child, "treble-most string", "2.4")
        say(child, "Which checks?", "feeler")
        for number, text in zip((4, 3, 2, 1), readings, strict=True):
            say(child, f"string {number} (", text)
        say(child, "Nut position", "")

    def read_once(self, child: pexpect.spawn, readings: tuple[str, str, str, str]) -> None:
        self.first_round(child, readings)
        say(child, "Keep these readings", "")

    def test_asks_one_by_one_with_slip_and_back(self, plain: Path) -> None:
        child = self.start(plain)
        say(child, "Relief", "0.05")
        say(child, "bass-most string", "2.6")
        say(child, "treble-most string", "24")
        say(child, "is above", "2.4")
        say(child, "Which checks?", "")
        say(child, "string 4 (G4): open", "20")
        say(child, "thousandths?", "0.70 to 0.72")
        say(child, "string 4 (G4): pressed", "back")
        say(child, "[0.70 to 0.72]", "0.70")
        say(child, "string 4 (G4): pressed", "0.30")
        for number, (open_at_1, pressed) in {3: (".65", ".25"), 2: (".6", ".2"), 1: (".6", ".25")}.items():
            say(child, f"string {number} (", open_at_1)
            say(child, f"string {number} (", pressed)
        say(child, "Nut position", "")
        say(child, "Keep these readings in mine.toml, as [dry_fit]?", "no")
        child.expect(pexpect.EOF)
        assert "to file" in child.before
        child.close()
        assert child.exitstatus == 0
        (entry,) = logged(plain)
        assert [gap["passes"] for gap in entry["strings"][0]["gaps"]] == [0.7, 0.3]
        assert (plain / "mine.toml").read_text() == kind_path("ukulele-tenor").read_text("utf-8")

    def test_on_yes_the_readings_are_kept_in_the_file_and_all_else_stays(self, plain: Path) -> None:
        before = (plain / "mine.toml").read_text()
        child = self.start(plain)
        self.first_round(child, (".7", ".65", "0.6 to 0.62", ".6"))
        say(child, "Keep these readings", "yes")
        child.expect(pexpect.EOF)
        text = (plain / "mine.toml").read_text()
        assert text.startswith(before)
        assert tomllib.loads(text[len(before) :])["dry_fit"] == {
            "relief": 0.05,
            "action": {"bass": 2.6, "treble": 2.4},
            "feeler": [0.7, 0.65, 0.6, 0.6],
            "feeler_drags": ["0.75 mm", "0.7 mm", 0.62, "0.65 mm"],
        }
        assert "in the log already" in run(plain, "mine.toml").stderr
        (plain / "mine.toml").write_text(text.replace("[dry_fit]", "[dry_fit]  # the loan one") + "\n# last words\n")
        child = self.start(plain, "--ask")
        say(child, "What was done", "nothing")
        self.first_round(child, (".7", ".65", ".6", ".6"))
        say(child, "Keep these readings", "yes")
        child.expect(pexpect.EOF)
        text = (plain / "mine.toml").read_text()
        assert text.startswith(before)
        assert "# the loan one" in text
        assert "# last words" in text
        assert "feeler_drags" not in tomllib.loads(text)["dry_fit"]

    def test_quit_keeps_nothing(self, plain: Path) -> None:
        child = self.start(plain)
        say(child, "Relief", "quit")
        child.expect(pexpect.EOF)
        child.close()
        assert child.exitstatus == 1
        assert not (plain / "mine.dryfit.jsonl").exists()

    @pytest.mark.parametrize("again", cases("0.80", slow=["0.55"]))
    def test_a_string_that_rose_is_read_again_at_once(self, plain: Path, again: str) -> None:
        """Another reading puts it right; the same one is taken as true. Either way it is one round."""
        child = self.start(plain)
        self.read_once(child, ("0.55", "0.55", "0.55", "0.55"))
        child.expect(pexpect.EOF)
        child = self.start(plain, "--json")
        say(child, "What was done", "")
        self.first_round(child, ("0.55", "0.55", "0.80", "0.55"))
        say(child, "Read these strings again now?", "")
        say(child, "string 2 (E4)", again)
        say(child, "Keep these readings", "")
        child.expect(pexpect.EOF)
        assert '"verdict": "measure again"' not in child.before
        entries = logged(plain)
        assert len(entries) == 2
        assert not any(s["doubt"] for s in entries[1]["strings"])
        assert [s["gaps"][0]["passes"] for s in entries[1]["strings"]] == [0.55, 0.55, float(again), 0.55]
