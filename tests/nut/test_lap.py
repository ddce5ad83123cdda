"""Nuts under a bar: the tops of strings laid into the exported mesh lie in one plane; what frets say is left out."""

import json
from pathlib import Path

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from nutgen.bench.leaves import floor_over_board, stop_stack
from nutgen.bench.materials import MATERIALS
from nutgen.bench.reuse import reuse
from nutgen.bench.stages import stages
from nutgen.formats.stamp import Stamp
from nutgen.formats.stl import stl_bytes
from nutgen.model.mesh import mesh_of
from nutgen.model.solid import nut_solid
from nutgen.nut import Nut, solve
from nutgen.spec.presets import kind_path
from nutgen.spec.read import overruled, parse_spec
from tests.calling import run
from tests.kinds import text_of
from tests.play.files import solved
from tests.spec.refused import named, refused

KIND = "lap-6"
ARCHED = {"fretboard.radius": 305.0, "instrument.strung": "left", "body.land": 1.0}


def tops_in(mesh: trimesh.Trimesh, nut: Nut) -> np.ndarray:
    """Each string as a rod along its slot's floor, let down until it touches the mesh at the front face: its top."""
    tops = []
    for slot in nut.slots:
        offsets = np.linspace(-0.999, 0.999, 101) * slot.gauge / 2.0
        rays = np.array([[slot.x + off, 0.01, 50.0] for off in offsets])
        hits, which, _ = mesh.ray.intersects_location(rays, np.tile([0.0, 0.0, -1.0], (101, 1)), multiple_hits=True)
        found = np.full(101, -np.inf)
        np.maximum.at(found, which, hits[:, 2])
        under = slot.gauge / 2.0 - np.sqrt((slot.gauge / 2.0) ** 2 - offsets**2)
        tops.append(float(np.max(found - under)) + slot.gauge)
    return np.array(tops)


@pytest.mark.slow
@pytest.mark.parametrize("changes", [{}, ARCHED], ids=["as it comes", "arched, left"])
def test_tops_of_strings_in_the_exported_mesh_lie_in_one_plane(tmp_path: Path, changes: dict[str, object]) -> None:
    nut = solve(parse_spec(text_of(KIND, changes), source="lap"))
    (tmp_path / "nut.stl").write_bytes(stl_bytes(mesh_of(nut_solid(nut)), Stamp("lap", "0123456789ab")))
    np.testing.assert_allclose(tops_in(trimesh.load(tmp_path / "nut.stl"), nut), 9.5, atol=0.02)


@pytest.mark.slow
def test_what_is_made_says_nothing_of_frets(tmp_path: Path) -> None:
    got = run("make", KIND, "--for", "wall", cwd=tmp_path)
    assert got.returncode == 0, got.stderr
    folder = tmp_path / "output" / KIND
    assert not {"heights.svg", "cents.svg"} & {path.name for path in folder.iterdir()}
    record = json.loads((folder / "nut.json").read_text("utf-8"))
    assert not {"first_fret_clearance", "action", "action_now"} & set(record["strings"][0])
    assert record["nut"]["tops"] == 9.5


@settings(max_examples=8)
@given(
    tops=st.floats(5.0, 14.0),
    rise=st.floats(-0.4, 3.0),
    radius=st.one_of(st.just("flat"), st.floats(180.0, 600.0)),
    gauges=st.lists(st.floats(0.009, 0.07), min_size=6, max_size=6),
)
def test_floor_is_plane_less_gauge_and_the_string_rises_with_the_plane(tops, rise, radius, gauges) -> None:
    changes = {f"strings.{i}.gauge": gauge for i, gauge in enumerate(gauges)}
    lap = {"fretboard.radius": radius, "lap.tops": tops, "lap.tops_at_12": tops + rise, "slots.buried": 0.6}
    nut = solve(parse_spec(text_of(KIND, changes | lap), source="lap"))
    for slot in nut.slots:
        assert slot.floor_z + slot.gauge == pytest.approx(tops, abs=1e-6)
        assert slot.incline_deg == pytest.approx(np.degrees(np.arctan(rise / (571.5 / 2.0))), abs=1e-6)
        assert floor_over_board(nut, slot) == pytest.approx(slot.floor_height, abs=1e-6)
    assert nut.crown.curvature == 0.0  # the top is flat like the strings' own plane, whatever the board is


def test_a_file_stops_on_leaves_over_one_block() -> None:
    spec, nut = solved(KIND)
    stops = [stop_stack(nut, slot, spec.tools) for slot in nut.slots]
    assert {stop.block for stop in stops} == {7.0}  # under the lowest floor, 9.5 less .056 in: 8.08
    for stop, slot in zip(stops, nut.slots, strict=True):
        assert stop.block + stop.metric.sum == pytest.approx(9.5 - slot.gauge, abs=0.03)
        assert len(stop.metric.leaves) <= 4
    work = stages(nut, spec.tools, MATERIALS["bone"])
    assert (work[-1].do.code, work[-1].measure.code) == ("stage.fix-under-bar", "measure.fix-under-bar")
    assert not work[-1].reach


def test_an_old_nut_whose_tops_leave_the_plane() -> None:
    spec, nut = solved(KIND)
    off = [0.0, 0.04, -0.04, 0.2, -0.2, 0.0]
    old = {
        "centres": [nut.from_bass_end(slot) for slot in nut.slots],
        "widths": [slot.width for slot in nut.slots],
        "floors": [nut.floor_over_seat(slot) + by for slot, by in zip(nut.slots, off, strict=True)],
    }
    judged = reuse(nut, overruled(spec, {"old_nut": old}).old_nut, spec.tools)
    assert [round(one.too_low_by, 2) for one in judged.strings] == [0.0, 0.0, 0.0, 0.0, 0.2, 0.0]
    assert "old-slot.file-down" in {step.code for step in judged.strings[3].steps}
    assert [step.code for step in judged.strings[4].steps] == ["old-slot.too-low-under-bar"]
    assert judged.findings == ()  # no pluck decides it: no string comes near a fret


@pytest.mark.parametrize(
    ("more", "found"),
    [
        ("[setup]\naction = 1.8\nrelief = 0.2", ("setup", "lap.no-frets")),
        ("[crowns]\nhigh = { 7 = 0.08 }", ("crowns", "lap.no-frets")),
        ("[dry_fit]\nrelief = 0.2", ("dry_fit", "lap.no-frets")),
    ],
)
def test_what_frets_say_is_refused(more: str, found: tuple[str, str]) -> None:
    assert named(refused(parse_spec, text_of(KIND, more="\n" + more + "\n"))) == [found]


@pytest.mark.parametrize(
    ("changes", "found"),
    [
        ({"fretboard.fret_height": 1.05}, ("fretboard.fret_height", "lap.no-frets")),
        ({"seat.fret_plane": 4.0}, ("seat.fret_plane", "lap.no-frets")),
        ({"slots.setback": 0.3}, ("slots.setback", "lap.no-frets")),
        ({"not_measured": ["setup.relief"]}, ("not_measured[1]", "not-measured.not-in-file")),
        ({"lap.tops": 0.4}, ("lap.tops", "reading.below-range")),
        ({"lap.tops_at_12": None}, ("lap.tops_at_12", "reading.missing")),
    ],
)
def test_a_slip_is_named(changes: dict[str, object], found: tuple[str, str]) -> None:
    assert named(refused(parse_spec, text_of(KIND, changes))) == [found]


def test_frets_that_are_none_want_a_bar() -> None:
    text = kind_path("electric-6").read_text("utf-8").replace("fret_height = 1.05", 'fret_height = "none"')
    assert named(refused(parse_spec, text)) == [("fretboard.fret_height", "lap.fret-height-none")]


@pytest.mark.parametrize("words", ["setup", "heights --lowest", "heights --only buzz", "log --add"])
def test_what_does_not_apply_says_so(tmp_path: Path, words: str) -> None:
    command, *options = words.split()
    got = run(command, KIND, *options, cwd=tmp_path)
    assert (got.returncode, "nothing is pressed on frets" in got.stderr) == (1, True)


def test_heights_tell_the_plane_and_friction(tmp_path: Path) -> None:
    told = json.loads(run("heights", KIND, "--json", cwd=tmp_path).stdout)
    assert (told["tops"], told["tops_at_12"]) == (9.5, 10.0)
    assert set(told["strings"][0]) == {"number", "note", "floor_z", "floor_height", "friction"}
    shown = run("heights", KIND, cwd=tmp_path).stdout
    assert "9.50 over the board at the nut and 10.00 at the mark" in shown
    assert "fret plane" not in run("check", KIND, cwd=tmp_path).stdout
    assert run("heights", KIND, "--only", "friction", cwd=tmp_path).stdout == shown


def test_a_bar_goes_through_log_and_compare_without_frets(tmp_path: Path) -> None:
    (tmp_path / "lap.toml").write_text(text_of(KIND, {"lap.tops": 9.0}), "utf-8")
    assert json.loads(run("log", "lap.toml", "--json", cwd=tmp_path).stdout)["findings"] == []
    told = json.loads(run("compare", KIND, "lap.toml", "--json", cwd=tmp_path).stdout)["strings"]
    assert [one["floor_above_seat"] for one in told] == pytest.approx([-0.5] * 6)
    assert {one[key] for one in told for key in ("first_fret_clearance", "action")} == {None}
