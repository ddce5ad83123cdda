"""The nut in its neck on paper: posts where they were measured, bends as a protractor finds them on the drawing."""

import math
import re
import tomllib
from itertools import combinations

import numpy as np
import pytest

from nutgen.documents.blocks import Figure
from nutgen.documents.neck import neck_figure
from nutgen.geometry.lines import Arc, Line
from nutgen.nut import solve
from tests.nut.in_neck import SEMITONE, slanted
from tests.play.files import solved
from tests.specs import PRESETS, spec_of


def on(figure: Figure, layer: str, scale: int) -> list[np.ndarray]:
    """Corners of every chain on a layer, carried back to the part's size."""
    chains = [chain for chain in figure.chains if chain.layer == layer]
    return [np.array([chain.parts[0].start, *(part.end for part in chain.parts)]) * scale for chain in chains]


def crossing(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Where the lines through two pairs of places cross."""
    (a, b), (c, d) = one, other
    return a + np.linalg.solve(np.column_stack([b - a, c - d]), c - a)[0] * (b - a)


@pytest.mark.parametrize("seed", range(6))
def test_what_is_measured_on_the_drawing_is_what_was_read(seed: int) -> None:
    text = slanted(seed)
    file, figure = tomllib.loads(text), neck_figure(solve(spec_of(text)), widest=180.0, highest=120.0)
    scale = int(re.search(r"1:(\d+)", str(figure.caption))[1])  # type: ignore[index]
    side = -1.0 if file["instrument"]["strung"] == "left" else 1.0
    strings = on(figure, "neck-strings", scale)
    posts = [chain.parts[0] for chain in figure.chains if chain.layer == "neck-posts"]
    for number, string, post, line in zip(range(6, 0, -1), file["strings"], posts, strings, strict=True):
        wanted = (side * string["post"]["x"], string["post"]["y"])
        assert isinstance(post, Arc)
        assert np.array(post.centre) * scale == pytest.approx(wanted, abs=1e-3)
        assert line[2] == pytest.approx(wanted, abs=1e-3)
        before, behind = (math.degrees(math.atan2(*step)) for step in np.diff(line, axis=0))
        (label,) = (words.text for words in figure.labels if words.text.startswith(f"{number} "))
        told = re.search(r": (?:([\d.]+)° to (\w+)|straight on),", label)
        assert told
        said = float(told[1]) * (1.0 if told[2] == "treble" else -1.0) if told[1] else 0.0
        assert said == pytest.approx(side * (behind - before), abs=0.051)
    (fret,), (nut,) = on(figure, "neck-fret", scale), on(figure, "neck-nut", scale)
    if file["instrument"]["scale_along"] == "strings":
        for line, scale_length in zip(
            (strings[0], strings[-1]), file["instrument"]["scale_length"].values(), strict=True
        ):
            first, face = (crossing(line[:2], other[:2]) for other in (fret, nut))
            assert math.dist(first, face) == pytest.approx(scale_length * SEMITONE, abs=1e-3)


@pytest.mark.parametrize("path", PRESETS, ids=lambda path: path.stem)
def test_labels_stand_clear_of_each_other_and_of_the_lines(path) -> None:
    figure = neck_figure(solved(path.stem)[1], widest=180.0, highest=110.0)
    left, low, right, high = figure.box
    assert right - left <= 180.0
    assert high - low <= 110.0
    boxes = [words.box_up for words in figure.labels]
    for (a, b, c, d), (e, f, g, h) in combinations(boxes, 2):
        assert c <= e or g <= a or d <= f or h <= b
    drawn = [part for chain in figure.chains if chain.layer.startswith("neck") for part in chain.parts]
    points = np.concatenate([np.linspace(part.start, part.end, 200) for part in drawn if isinstance(part, Line)])
    for a, b, c, d in boxes:
        assert not np.any((points > (a, b)).all(axis=1) & (points < (c, d)).all(axis=1))
