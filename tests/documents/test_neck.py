"""The nut in its neck on paper: posts where they were measured, bends as a protractor finds them on a print."""

import math
import re
import tomllib
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import shapely
import svgelements

from nutgen.documents.neck import neck_figure
from nutgen.documents.paint.svg import page_svg
from nutgen.documents.template.template import neck_page
from nutgen.formats.stamp import Stamp
from nutgen.geometry.lines import Line
from nutgen.nut import solve
from nutgen.spec.presets import kind_path
from tests.nut.in_neck import SEMITONE, slanted
from tests.play.files import solved
from tests.specs import PRESETS, spec_of

Lines = dict[str, list[np.ndarray]]


def measured(path: Path) -> tuple[Lines, list[np.ndarray], dict[str, str]]:
    """The file as a ruler on its print reads it: corners of the lines of each layer, and the middles of the posts, from
    where the centre line crosses the nut's face, at the part's size, up positive [mm]; the words by their first one."""
    svg = svgelements.SVG.parse(str(path), ppi=25.4)
    words = [e.text for e in svg.elements() if isinstance(e, svgelements.Text)]
    scale = next(int(text.rpartition("1:")[2]) for text in words if "1:" in text)
    lines: Lines = {}
    for layer in ("nut", "fret", "strings", "posts", "centre"):
        paths = svg.get_element_by_id(f"neck.neck-{layer}").select(lambda e: isinstance(e, svgelements.Path))
        ends = [
            [path.first_point, *(part.end for part in path if not isinstance(part, svgelements.Move))] for path in paths
        ]
        lines[layer] = [np.array([(p.x, -p.y) for p in points]) * scale for points in ends]
    (nut,), (centre,) = lines["nut"], lines["centre"]
    origin = crossing(nut[:2], centre)
    lines = {layer: [line - origin for line in found] for layer, found in lines.items()}
    return lines, [post[:2].mean(axis=0) for post in lines["posts"]], {text.split(" ")[0]: text for text in words}


def crossing(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Where the lines through two pairs of places cross."""
    (a, b), (c, d) = one, other
    return a + np.linalg.solve(np.column_stack([b - a, c - d]), c - a)[0] * (b - a)


@pytest.mark.parametrize("seed", [None, *range(6)])
def test_what_is_measured_on_the_file_is_what_was_read(seed: int | None, tmp_path: Path) -> None:
    text = kind_path("electric-6-slanted").read_text("utf-8") if seed is None else slanted(seed)
    file, one, path = tomllib.loads(text), solve(spec_of(text)), tmp_path / "neck.svg"
    path.write_bytes(page_svg(neck_page(one, Stamp("Neck", "0" * 12), paper="a4"), Stamp("Neck", "0" * 12)))
    lines, posts, words = measured(path)
    told = file["instrument"]
    side = -1.0 if told.get("strung") == "left" else 1.0
    for number, string, post, line in zip(range(6, 0, -1), file["strings"], posts, lines["strings"], strict=True):
        wanted = (side * string["post"]["x"], string["post"]["y"])
        assert post == pytest.approx(wanted, abs=1e-3)
        assert line[2] == pytest.approx(wanted, abs=1e-3)
        before, behind = (math.degrees(math.atan2(*step)) for step in np.diff(line, axis=0))
        said = re.search(r": (?:([\d.]+)° to (\w+)|straight on),", words[f"{number}"])
        assert said
        bend = float(said[1]) * (1.0 if said[2] == "treble" else -1.0) if said[1] else 0.0
        assert bend == pytest.approx(side * (behind - before), abs=0.051)
    (fret,), (nut,) = lines["fret"], lines["nut"]
    outer, scales = (lines["strings"][0], lines["strings"][-1]), list(told["scale_length"].values())
    face = [crossing(line[:2], nut[:2]) for line in outer]
    lead = [math.cos(math.atan2(*(line[1] - line[0]))) if told["scale_along"] == "strings" else 1.0 for line in outer]
    behind = (scales[0] * lead[0] - scales[1] * lead[1]) * (1.0 - 2.0 ** (-told["perpendicular_fret"] / 12.0))
    slant = math.degrees(math.atan2(behind, side * (face[1] - face[0])[0]))
    along = nut[1] - nut[0]
    assert math.degrees(math.atan2(-side * along[1], abs(along[0]))) == pytest.approx(slant, abs=0.02)
    if told["scale_along"] == "strings":
        for line, at, scale_length in zip(outer, face, scales, strict=True):
            assert math.dist(crossing(line[:2], fret), at) == pytest.approx(scale_length * SEMITONE, abs=1e-3)


@pytest.mark.parametrize("path", PRESETS, ids=lambda path: path.stem)
def test_labels_and_leaders_stand_clear_of_each_other_and_of_the_lines(path) -> None:
    figure = neck_figure(solved(path.stem)[1], widest=180.0, highest=125.0)
    left, low, right, high = figure.box
    assert right - left <= 180.0
    assert high - low <= 125.0
    boxes = [words.box_up for words in figure.labels]
    for (a, b, c, d), (e, f, g, h) in combinations(boxes, 2):
        assert c <= e or g <= a or d <= f or h <= b
    leaders = [
        shapely.LineString([chain.parts[0].start, *(part.end for part in chain.parts)])
        for chain in figure.chains
        if chain.layer == "leaders"
    ]
    assert not any(one.intersects(other) for one, other in combinations(leaders, 2))
    drawn = [part for chain in figure.chains if chain.layer.startswith("neck") for part in chain.parts]
    points = np.concatenate([np.linspace(part.start, part.end, 200) for part in drawn if isinstance(part, Line)])
    for a, b, c, d in boxes:
        assert not np.any((points > (a, b)).all(axis=1) & (points < (c, d)).all(axis=1))
