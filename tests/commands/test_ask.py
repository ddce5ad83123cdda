"""`new --ask`, driven in a real terminal by another program (pexpect), and the file that its answers make."""

import json
import re
import tomllib
from collections.abc import Iterator
from dataclasses import is_dataclass
from operator import attrgetter
from pathlib import Path

import pexpect
import pytest

from nutgen.ask import drawings
from nutgen.ask.checks import far_off, wrong_with
from nutgen.ask.draft import Draft, answers_from
from nutgen.ask.file import toml_of, values_of
from nutgen.ask.questions import questions
from nutgen.commands.conversation import in_words
from nutgen.errors import Unreadable
from nutgen.nut import solve
from nutgen.spec.presets import kind_names, kind_path
from nutgen.spec.read import parse_spec, read_spec
from nutgen.spec.tables import MEASURED_KEYS, Spec
from nutgen.spec.toml_table import TomlTable, keys_of
from nutgen.spec.values import Across
from nutgen.spec.workshop import Needle, Tools
from tests.calling import at_a_terminal, run
from tests.cases import EACH_KIND, cases


class Terminal:
    """A nutgen process at a terminal of its own."""

    def __init__(self, folder: Path, *words: str, columns: int = 80) -> None:
        self.seen, self.waiting, self.open = "", False, False
        self.child = at_a_terminal(folder, *words, columns=columns)
        self.child.setecho(False)

    def at(self, words: str) -> str:
        """Wait for the prompt under a question; what was printed up to it."""
        self.child.expect_exact(words)
        before = self.child.before + words
        self.child.expect(r"> $|> (?=\r?\n)")
        self.seen += before + self.child.before
        self.waiting, self.open = True, "[" not in self.child.before.splitlines()[-1]
        return before + self.child.before

    def answer(self, text: str = "") -> None:
        self.child.sendline(text)
        self.waiting = False

    def enter_until(self, words: str) -> str:
        """Take every default, and skip every reading, until a question stands on the screen."""
        if self.waiting:
            self.answer("skip" if self.open else "")
        for _ in range(80):
            found = self.child.expect([re.escape(words), r"\[[^\]\x1b\n]*\] > $|(?<!\] )> $"])
            self.seen += self.child.before + self.child.after
            if found == 0:
                self.child.expect(r"> $")
                self.seen += self.child.before
                self.waiting, self.open = True, "[" not in self.child.before.splitlines()[-1]
                return self.child.before
            self.answer("" if self.child.after.startswith("[") else "skip")
        raise AssertionError(f"never asked: {words}")

    def end(self) -> int:
        self.child.expect(pexpect.EOF)
        self.seen += self.child.before
        self.child.close()
        return int(self.child.exitstatus)


def drafted(kind: str, **answers: str) -> Draft:
    return Draft(kind, tomllib.loads(kind_path(kind).read_text("utf-8")), answers)


def spec_of(draft: Draft) -> Spec:
    text = toml_of(values_of(draft), kind_text=kind_path(draft.kind_name).read_text("utf-8"))
    return parse_spec(text, source="draft")


def leaves(value: object, path: str = "") -> Iterator[tuple[str, object]]:
    """Every plain value of a spec, with where it stands."""
    if isinstance(value, TomlTable):
        value = {key: getattr(value, key) for key in keys_of(type(value))}
    if is_dataclass(value):
        value = {name: getattr(value, name) for name in value.__dataclass_fields__}
    if isinstance(value, dict):
        for key, item in value.items():
            yield from leaves(item, f"{path}.{key}")
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from leaves(item, f"{path}[{index}]")
    else:
        yield path, value


def numbers(value: object) -> list[float]:
    """What a key holds, without the 0 of a seat that has no depth."""
    values = value.values if isinstance(value, Across) else (value,)
    return [one for one in values if isinstance(one, int | float) and one > 0.0]


class TestInATerminal:
    def test_a_full_run_ends_with_the_file_written_and_checked(self, tmp_path: Path) -> None:
        talk = Terminal(tmp_path, "new", "mine.toml", "--ask")
        talk.at("Which kind comes nearest?")
        talk.answer("bass-4")
        talk.at("What is this job called?")
        talk.answer("Bass of the choir")
        talk.enter_until("Relief")
        talk.answer("0.25")
        talk.at("Action, bass-most string")
        talk.answer("2.4")
        talk.at("Action, treble-most string")
        talk.answer("1.9")
        talk.at("Board width at the nut")
        talk.answer("41.2")
        talk.enter_until("Action wanted, treble-most string")
        talk.answer("1.8")
        talk.enter_until("Write mine.toml?")
        talk.answer()
        assert talk.end() == 0
        assert "Bass of the choir" in talk.seen
        assert "No warnings." not in talk.seen
        assert "instrument.scale_length not measured" in talk.seen
        spec = read_spec(tmp_path / "mine.toml")
        assert spec.title == "Bass of the choir"
        assert (spec.setup.relief, spec.setup.action.values, spec.fretboard.width) == (0.25, (2.4, 1.8), 41.2)
        assert spec.setup.action_now is not None
        assert spec.setup.action_now.values == (2.4, 1.9)
        assert sorted(path.name for path in tmp_path.iterdir()) == ["mine.toml"]

    def test_a_slip_is_told_at_once_and_corrected(self, tmp_path: Path) -> None:
        talk = Terminal(tmp_path, "new", "mine.toml", "--ask", "--from", "bass-4")
        talk.enter_until("String 4: bass-most")
        talk.answer("E1 105 wound")
        assert "thousandths? write 0.105" in talk.at("! ")
        talk.answer("E1 0.105 wound")
        talk.enter_until("Board width at the nut")
        talk.answer("1.65")
        assert 'inches? write "1.65 in"' in talk.at("! ")
        talk.answer("1.65 in")
        talk.at("Board radius at the nut")
        talk.answer("flat")
        talk.enter_until("Write mine.toml?")
        talk.answer("yes")
        assert talk.end() == 0
        spec = read_spec(tmp_path / "mine.toml")
        assert spec.fretboard.width == pytest.approx(41.91)
        assert spec.strings[0].gauge == pytest.approx(0.105 * 25.4)

    @pytest.mark.slow
    def test_the_whole_scale_for_half_of_it_is_doubted(self, tmp_path: Path) -> None:
        talk = Terminal(tmp_path, "new", "mine.toml", "--ask", "--from", "ukulele-soprano")
        talk.enter_until("Nut to fret 12")
        talk.answer("350")
        assert "was that the whole scale?" in talk.at("How many frets?")
        talk.answer("back")
        talk.at("Nut to fret 12")
        talk.answer("175")
        talk.enter_until("Write mine.toml?")
        talk.answer()
        assert talk.end() == 0
        assert read_spec(tmp_path / "mine.toml").instrument.scale_length.values == (350.0,)

    @pytest.mark.slow
    def test_back_shows_the_answer_that_was_given(self, tmp_path: Path) -> None:
        talk = Terminal(tmp_path, "new", "mine.toml", "--ask", "--from", "electric-6")
        talk.at("1 of ")
        talk.answer("back")
        assert "this is the first question" in talk.at("! ")
        talk.answer("Mine")
        talk.at("2 of ")
        talk.answer("back")
        assert "[Mine]" in talk.at("1 of ")
        talk.answer("Yours")
        talk.enter_until("Write mine.toml?")
        talk.answer("back")
        talk.at("What will the nut be made of?")
        talk.answer("antler")
        talk.at("Write mine.toml?")
        talk.answer("1")
        assert "[Yours]" in talk.at("1 of ")
        talk.answer("Ours")
        talk.at("Write mine.toml?")
        talk.answer("yes")
        assert talk.end() == 0
        spec = read_spec(tmp_path / "mine.toml")
        assert (spec.title, spec.material) == ("Ours", "antler")

    @pytest.mark.parametrize("leave", cases("quit", slow=["ctrl-d", "ctrl-c"]))
    def test_quit_and_resume(self, leave: str, tmp_path: Path) -> None:
        talk = Terminal(tmp_path, "new", "mine.toml", "--ask", "--from", "mandolin")
        talk.at("What is this job called?")
        talk.answer("Half way")
        talk.enter_until("Relief")
        talk.answer("0.10")
        talk.at("Action, bass-most")
        if leave == "quit":
            talk.answer("quit")
        elif leave == "ctrl-d":
            talk.child.sendeof()
        else:
            talk.child.sendintr()
        assert talk.end() == 1
        assert "mine.toml.draft" in talk.seen
        assert [path.name for path in tmp_path.iterdir()] == ["mine.toml.draft"]
        again = Terminal(tmp_path, "new", "mine.toml", "--ask")
        assert "Going on from" in again.at("Action, bass-most")
        again.enter_until("Write mine.toml?")
        again.answer()
        assert again.end() == 0
        spec = read_spec(tmp_path / "mine.toml")
        assert (spec.title, spec.setup.relief) == ("Half way", 0.1)
        assert [path.name for path in tmp_path.iterdir()] == ["mine.toml"]

    @pytest.mark.slow
    def test_what_cannot_be_made_goes_back_to_its_answer(self, tmp_path: Path) -> None:
        talk = Terminal(tmp_path, "new", "mine.toml", "--ask", "--from", "bass-4")
        talk.enter_until("Margin at the bass-most")
        talk.answer("19")
        talk.at("Margin at the treble-most")
        talk.answer("19")
        talk.enter_until("Not yet a nut")
        assert "spacing.margin" in talk.seen
        place = re.search(r"(\d+) +margin, bass", talk.seen)
        assert place is not None
        talk.answer("yes")
        talk.at("! ")
        talk.answer(place[1])
        talk.at("Margin at the bass-most")
        talk.answer("3.2")
        talk.at("Write mine.toml?")
        talk.answer(str(int(place[1]) + 1))
        talk.at("Margin at the treble-most")
        talk.answer("3.0")
        talk.at("Write mine.toml?")
        talk.answer()
        assert talk.end() == 0

    @pytest.mark.parametrize("columns", cases(slow=[50, 80]))
    def test_fits_the_screen(self, columns: int, tmp_path: Path) -> None:
        talk = Terminal(tmp_path, "new", "mine.toml", "--ask", "--from", "bass-5", columns=columns)
        talk.enter_until("Write mine.toml?")
        talk.answer()
        assert talk.end() == 0
        lines = re.sub(r"\x1b\[\d*m", "", talk.seen).splitlines()
        assert [line for line in lines if len(line) > columns] == []

    @pytest.mark.slow
    def test_in_inches(self, tmp_path: Path) -> None:
        talk = Terminal(tmp_path, "new", "mine.toml", "--ask", "--from", "electric-6")
        talk.enter_until("Which units")
        talk.answer("in")
        talk.enter_until("Nut to fret 12")
        talk.answer("12 3/4 in")
        talk.enter_until("Relief")
        talk.answer("0.008")
        talk.enter_until("Board width")
        talk.answer("1.65")
        talk.enter_until("Write mine.toml?")
        talk.answer()
        assert talk.end() == 0
        spec = read_spec(tmp_path / "mine.toml")
        assert spec.units == "in"
        assert spec.instrument.scale_length.bass == pytest.approx(25.5 * 25.4)
        assert spec.setup.relief == pytest.approx(0.008 * 25.4)
        assert spec.fretboard.width == pytest.approx(1.65 * 25.4)
        assert spec.slots.clearance.wound == pytest.approx(0.10)  # the kind's, in mm in its own file


class TestRefusals:
    def test_without_a_terminal_one_clear_message(self, tmp_path: Path) -> None:
        done = run("new", "mine.toml", "--ask", cwd=tmp_path)
        assert done.returncode == 2
        assert done.stderr.count("\n") == 1
        assert "asks at a terminal" in done.stderr
        assert "--from KIND" in done.stderr
        assert list(tmp_path.iterdir()) == []

    def test_neither_kind_nor_ask(self, tmp_path: Path) -> None:
        done = run("new", "mine.toml", cwd=tmp_path)
        assert done.returncode == 2
        assert "--from KIND" in done.stderr

    def test_a_file_that_is_there_is_left_alone(self, tmp_path: Path) -> None:
        (tmp_path / "mine.toml").write_text("precious")
        done = run("new", "mine.toml", "--ask", cwd=tmp_path)
        assert done.returncode == 2
        assert (tmp_path / "mine.toml").read_text() == "precious"

    @pytest.mark.parametrize(
        ("text", "words"),
        [
            ("{", "torn"),
            ('{"nutgen draft": 9, "from": "bass-4", "answers": {}}', "another version"),
            ('{"nutgen draft": 1, "from": "mandolin", "answers": {}}', "begun from mandolin"),
        ],
    )
    def test_a_draft_that_does_not_fit(self, text: str, words: str, tmp_path: Path) -> None:
        (tmp_path / "mine.toml.draft").write_text(text)
        talk = Terminal(tmp_path, "new", "mine.toml", "--ask", "--from", "bass-4")
        assert talk.end() == 2
        assert words in " ".join(talk.seen.split())
        assert (tmp_path / "mine.toml.draft").read_text() == text


class TestTheFile:
    @pytest.mark.parametrize("kind", kind_names())
    @pytest.mark.parametrize("units", ["mm", "in"])
    def test_skipped_all_along_gives_the_kind_and_says_so(self, kind: str, units: str) -> None:
        """What may be left out is; every other value comes back, in either unit, to what a default shows: 0.0001 in."""
        asked = dict(leaves(spec_of(drafted(kind, units=units))))
        own = dict(leaves(read_spec(kind_path(kind))))
        left_out = (".fretboard.width_at_12", ".setup.action_now")
        skipped = (
            *left_out,
            ".units",
            ".not_measured",
            ".before",
            ".old_nut",
            ".spacing.margin",
            ".headstock.break_angle_deg",
            *(f".tools.{key}" for key in ("feeler", "files", "needle_files", "saws", "drill_shanks")),
        )
        for path, value in own.items():
            if path.startswith(skipped):
                continue
            if isinstance(value, float):
                assert asked[path] == pytest.approx(value, abs=0.006, rel=1e-4), path
            else:
                assert asked[path] == value, path

    @pytest.mark.parametrize("kind", kind_names())
    def test_it_keeps_the_comments(self, kind: str) -> None:
        kind_text = kind_path(kind).read_text("utf-8")
        text = toml_of(values_of(drafted(kind)), kind_text=kind_text)
        assert '# of every bare length: "mm" or "in"' in text
        assert "# caliper across the board at the nut" in text

    @pytest.mark.parametrize("kind", kind_names())
    @pytest.mark.parametrize("extent", ["all", "least"])
    def test_no_reading_of_the_kind_is_taken_for_one_of_the_maker(self, kind: str, extent: str) -> None:
        """Whatever the file holds of MEASURED_KEYS, but for what was answered, stands in not_measured."""
        spec = spec_of(
            drafted(kind, extent=extent, width="33.5 mm", **({"centres": "skip"} if extent == "least" else {}))
        )
        held = {path for path in MEASURED_KEYS if path.count(".") == 1 and path not in ("strings.post",)} - spec.assumed
        held = {path for path in held if getattr(spec, path.partition(".")[0]) is not None}
        if spec.lap is not None:
            held -= {"setup.relief", "fretboard.fret_height"}
        posts = {f"strings[{place}].post" for place, one in enumerate(spec.strings, 1) if one.post}
        assert set(spec.not_measured) == (held | posts) - {"fretboard.width"}

    def test_every_span_is_that_of_the_kinds(self) -> None:
        specs = [read_spec(kind_path(kind)) for kind in kind_names()]
        for path, span in MEASURED_KEYS.items():
            if not isinstance(span, tuple) or isinstance(span[0], str) or path in ("seat.floor", "zero_fret.height"):
                continue
            key = path.removesuffix("_now")  # kinds have wishes alone
            found = [value for spec in specs if spec.lap is None for value in numbers(attrgetter(key)(spec))]
            assert (min(found), max(found)) == pytest.approx(span), path

    def test_a_title_of_any_letters(self) -> None:
        title = 'Übung "9" \\ #1 \N{MUSIC FLAT SIGN}'
        assert spec_of(drafted("bass-4", title=title)).title == title

    def test_more_and_fewer_strings_than_the_kind(self) -> None:
        fewer = drafted("electric-7", strings="6")
        assert [s.note for s in spec_of(fewer).strings] == ["E2", "A2", "D3", "G3", "B3", "E4"]
        more = drafted("electric-6", strings="7", **{"string 7": "B1 0.059 wound"})
        assert [s.note for s in spec_of(more).strings] == ["B1", "E2", "A2", "D3", "G3", "B3", "E4"]
        assert len(solve(spec_of(more)).slots) == 7

    def test_ways_without_gauges_go_into_the_file_as_they_were_read(self) -> None:
        """R = w^2 / 8s + s / 2, less the fret height; 42 mm and 0.918 mm: 240.65 mm (calculated)."""
        ways = {"radius": "gap 0.918 0.918 42", "fret height": "ruler 1.1", "relief": "string 0.2"}
        spec = spec_of(drafted("electric-6", **ways))
        assert spec.fretboard.radius == pytest.approx(240.65 - 1.1, abs=0.06)
        assert spec.setup.relief == pytest.approx(0.2, abs=0.002)
        assert {way.name for way in spec.ways} == {"gaps", "under_ruler", "under_string"}

    def test_the_bench_of_a_drawer_goes_into_the_file(self) -> None:
        """Ten papers of 1.02 and ten cards of 2.95: two cards and a paper are 0.692 mm."""
        drawer = {"sheets": "paper 1.02, card 2.95", "wires": "0.009 0.012", "steel": "0.24"}
        spec = spec_of(drafted("bass-5", **drawer, **{"action now, bass": "9 card", "relief": "2 card + 1 paper"}))
        assert (spec.tools.feeler, spec.tools.feeler_inch, spec.tools.steel) == ((), (), (0.24,))
        assert spec.tools.wires == pytest.approx((0.2286, 0.3048))
        assert spec.setup.relief == pytest.approx(0.692)
        assert spec.setup.action_now is not None
        assert spec.setup.action_now.bass == pytest.approx(2.655)

    @pytest.mark.parametrize(
        ("answer", "sets"),
        [("none", (0, 0)), ("metric", (15, 0)), ("inch", (0, 26)), ("0.1 0.2 0.3", (3, 0)), ("", (0, 0))],
    )
    def test_leaves_are_those_that_were_told(self, answer: str, sets: tuple[int, int]) -> None:
        tools = spec_of(drafted("bass-4", **({"leaves": answer} if answer else {}))).tools
        assert (len(tools.feeler), len(tools.feeler_inch)) == sets

    def test_tools_for_slots_are_those_that_were_told(self) -> None:
        told = {"files": "0.016 0.024", "needle files": "0.9-3.0 1.2", "saws": "usual", "drills": "none"}
        tools = spec_of(drafted("bass-4", **told)).tools
        assert tools.files == pytest.approx((0.4064, 0.6096))
        assert tools.needle_files == (Needle(0.9, 3.0), Needle(1.2, 1.2))
        assert (tools.saws, tools.drill_shanks) == (Tools().saws, ())
        assert spec_of(drafted("bass-4")).tools.files == ()

    @pytest.mark.parametrize("radius", ["305", "flat"])
    def test_the_line_of_a_pencil(self, radius: str) -> None:
        """7.1 to the line, 3.4 of lead: the plane is 3.7 over the underside."""
        lines = {f"fret plane line, {place}": read for place, read in (("bass", "7.1"), ("treble", "7.0"))}
        draft = drafted("bass-5", radius=radius, **{"fret plane by": "pencil", "fret plane, lead": "3.4"}, **lines)
        plane = spec_of(draft).seat.fret_plane
        assert plane is not None
        assert plane.values == pytest.approx((3.7, 3.6))
        middle = draft.with_answer("fret plane line, middle", "7.6")
        assert (len(spec_of(middle).seat.fret_plane.values) == 3) == (radius != "flat")  # type: ignore[union-attr]
        no_line = drafted("bass-5", **{"fret plane by": "pencil", "fret plane, lead": "3.4"})
        assert spec_of(no_line).seat.fret_plane is None
        one = drafted("bass-5", **{"fret plane by": "pencil", "fret plane, lead": "3.4", "fret plane line, bass": "7"})
        assert spec_of(one).seat.fret_plane == Across((pytest.approx(3.6),))

    def test_the_fret_over_which_relief_is_read(self) -> None:
        """By 12-tone equal temperament: of 20 frets the crown of 8 is nearest half way, of 24 that of 9."""
        for frets, middle in (("20", "fret 8"), ("24", "fret 9")):
            asked = next(one for one in questions(drafted("electric-6", frets=frets)) if one.key == "relief")
            assert f"the gap over {middle}," in asked.where

    def test_break_angle_from_fall_and_run(self) -> None:
        """12 over 80: 8.53 degrees (calculated)."""
        spec = spec_of(drafted("electric-6", **{"break angle": "12/80"}))
        assert spec.headstock.break_angle_deg is not None
        assert spec.headstock.break_angle_deg.bass == pytest.approx(8.53)

    def test_posts_instead_of_an_angle(self) -> None:
        posts = {f"post {n}": f"{40 + 30 * n} {-3 * n} 12" for n in range(1, 7)}
        spec = spec_of(drafted("electric-6", **{"behind the nut": "posts"}, **posts))
        assert next((s.post.y, s.post.x, s.post.drop) for s in spec.strings if s.post) == (220.0, -18.0, 12.0)
        assert spec.headstock.break_angle_deg is None

    def test_one_side_of_the_fret_plane_serves_for_both(self) -> None:
        spec = spec_of(drafted("electric-6", **{"fret plane, treble": "3.9"}))
        assert spec.seat.fret_plane is not None
        assert spec.seat.fret_plane.values == (3.9,)

    def test_the_fret_plane_on_the_centre_line(self) -> None:
        edges = {"fret plane, bass": "3.8", "fret plane, treble": "3.9"}
        for radius, heights in (("241", (3.8, 4.7, 3.9)), ("flat", (3.8, 3.9))):
            draft = drafted("electric-6", **edges, **{"fret plane, middle": "4.7", "radius": radius})
            assert spec_of(draft).seat.fret_plane == Across(heights)

    @pytest.mark.parametrize(
        ("kind", "key", "answer", "words"),
        [
            ("bass-4", "strings", "0", "1 to 16"),
            ("bass-4", "strings", "four", "whole number"),
            ("bass-4", "seat", "chanel", "did you mean channel?"),
            ("bass-4", "frets", "20.5", "not a whole number"),
            ("bass-4", "radius", "gap wide", "gap 0.7 0.66 41"),
            ("bass-4", "radius", "gap 0.7 0.6 9", "below 10 mm"),
            ("bass-4", "relief", "string", "not a length"),
            ("bass-4", "relief", "2 card", 'no sheet "card"'),
            ("bass-4", "leaves", "metrik", "not a length"),
            ("bass-4", "sheets", "card", "paper 1.02, card 2.95"),
            ("bass-4", "sheets", "card 295", "above 20 mm"),
            ("bass-4", "wires", "9 12", "above"),
            ("bass-4", "fret plane by", "eye", "write ruler, pencil"),
            ("bass-4", "break angle", "9/", "12/80"),
            ("bass-4", "thickness", "", "measure it and write what you read"),
            ("bass-4", "title", "", "nothing was given"),
            ("ukulele-soprano", "seat", "", "write skip"),
            ("bass-4", "string 1", "G2", "note and gauge"),
            ("bass-5", "post 5", "42 -24", "three lengths"),
            ("bass-4", "depth", "0,3", "a point, not a comma"),
            ("bass-4", "nut to fret 12", "99999", "doubled, "),
            ("banjo-5", "centres", "3 11 20", "3 values for 4 strings"),
            ("banjo-5", "centres", "3 11 10 28", "must grow"),
        ],
    )
    def test_slips_are_told_at_the_answer(self, kind: str, key: str, answer: str, words: str) -> None:
        draft = drafted(kind, **{key: answer})
        (asked,) = (one for one in questions(draft) if one.key == key)
        assert words in in_words(wrong_with(draft, asked, kind_text=kind_path(kind).read_text("utf-8")), draft.units)

    @pytest.mark.parametrize("kind", EACH_KIND)
    @pytest.mark.parametrize("units", cases("mm", slow=["in"]))
    def test_every_default_passes_the_door(self, kind: str, units: str) -> None:
        draft = drafted(kind, units=units)
        kind_text = kind_path(kind).read_text("utf-8")
        for asked in questions(draft):
            answered = draft.with_answer(asked.key, asked.default)
            wrong = wrong_with(draft.with_answer(asked.key, asked.taken_by_enter), asked, kind_text=kind_text)
            assert [one.code for one in wrong] == ["answer.unread"] * asked.reading, asked.key
            assert not wrong_with(answered, asked, kind_text=kind_text) or not asked.default, asked.key
            assert not far_off(answered, asked), asked.key

    def test_drawings_stand_on_a_narrow_screen_in_plain_letters(self) -> None:
        shown = [value for value in vars(drawings).values() if isinstance(value, tuple)]
        assert len(shown) >= 14
        for drawing in shown:
            for line in drawing:
                assert len(line) <= 48
                assert line.isascii()

    def test_the_draft_is_plain_json(self) -> None:
        raw = json.loads(drafted("bass-4", title="x").to_json())
        assert raw == {"nutgen draft": 1, "from": "bass-4", "answers": {"title": "x"}}

    @pytest.mark.parametrize("text", ["[" * 50_000, "[]", "7", drafted("bass-4", title="a\x1b[31m").to_json()])
    def test_what_is_no_draft_is_refused(self, text: str) -> None:
        with pytest.raises(Unreadable):
            answers_from(text)


class TestFretsAndGuides:
    def test_left_out_by_enter(self) -> None:
        spec = spec_of(drafted("bass-5", rocker="", guide=""))
        assert (spec.crowns.rocker, spec.guides) == ((), ())

    def test_as_they_were_read(self) -> None:
        spec = spec_of(drafted("bass-5", rocker="8 0.12, 9 -0.06", guide="30 12 strings 1 2"))
        assert dict(spec.crowns.rocker) == {8: 0.12, 9: -0.06}
        assert [(one.y, one.drop, one.strings) for one in spec.guides] == [(30.0, 12.0, (1, 2))]
        assert [slot.guide is not None for slot in solve(spec).slots] == [False, False, False, True, True]
        inches = spec_of(drafted("bass-5", units="in", rocker="8 0.005", guide="1.2 0.5"))
        assert dict(inches.crowns.rocker)[8] == pytest.approx(0.127)
        assert [(one.y, one.strings) for one in inches.guides] == [(pytest.approx(30.48), None)]

    @pytest.mark.parametrize(
        ("key", "text", "says"),
        [
            ("rocker", "8", "each fret with its gap"),
            ("rocker", "30 0.1", "2 to 23"),
            ("guide", "30", "y and drop"),
            ("guide", "30 6 strings 9", "9"),
            ("guide", "300 6", "post"),
        ],
    )
    def test_a_slip_is_told_at_once(self, key: str, text: str, says: str) -> None:
        draft = drafted("bass-5", **{key: text})
        (asked,) = [one for one in questions(draft) if one.key == key]
        kind_text = kind_path("bass-5").read_text("utf-8")
        assert says in in_words(wrong_with(draft, asked, kind_text=kind_text), "mm")

    @pytest.mark.parametrize("kind", ["bass-5", "electric-6"])
    def test_what_a_kind_shows_in_comments_is_a_file_once_it_is_uncommented(self, kind: str) -> None:
        text = kind_path(kind).read_text("utf-8")
        shown = re.sub(r"(?m)^# (?=\[|\w+ = )", "", text)
        spec = parse_spec(shown, source=kind)
        assert shown != text
        assert spec.guides or (spec.crowns.rocker and spec.crowns.high)
