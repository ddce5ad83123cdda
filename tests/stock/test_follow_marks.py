"""A maker who has only the numbers of the plan and the piece: do the marks lead to the block?

Nothing of the project is used but its files: marks and rip lines from stock.json are set on piece.stl with
trimesh as a pencil would, planes are laid through them, and what they enclose is compared with the block.
"""

import json
from itertools import product

import numpy as np
import pytest
import trimesh

NEAR = 0.12
"""How far a corner may miss the block: numbers of a hundredth, on a skin of facets [mm]."""

LINES = {"back": (0.0, 1.0), "left": (1.0, 0.0), "belly": (0.0, -1.0), "right": (-1.0, 0.0)}


def middle_of(mesh, along):
    """The middle of a section, as two caliper readings give it."""
    cut = trimesh.intersections.mesh_plane(mesh, [1.0, 0.0, 0.0], [along, 0.0, 0.0]).reshape(-1, 3)
    return (cut.min(axis=0) + cut.max(axis=0)) / 2.0


def on_skin(mesh, along, line):
    """Where a line along the piece stands at a distance from the first end."""
    middle = middle_of(mesh, along)
    middle[0] = along
    direction = np.array([0.0, *LINES[line]])
    places, _, _ = mesh.ray.intersects_location([middle], [direction])
    return places[np.argmax((places - middle) @ direction)]


def plane_through(points):
    """The plane that fits points best: a point of it and its normal."""
    middle = np.mean(points, axis=0)
    return middle, np.linalg.svd(points - middle)[2][2]


def outline_of(mesh, origin, normal, mark):
    """The outline of the fresh end face as points, from the back mark on, toward the left."""
    rim = trimesh.intersections.mesh_plane(mesh, normal, origin).reshape(-1, 3)
    middle = (rim.min(axis=0) + rim.max(axis=0)) / 2.0

    def turn(points):  # about the middle, from the back mark to the left; a piece's section is round enough for it
        angle = np.arctan2(points[..., 1] - middle[1], points[..., 2] - middle[2])
        back = np.arctan2(mark[1] - middle[1], mark[2] - middle[2])
        return (angle - back) % (2.0 * np.pi)

    return np.vstack([mark, rim[np.argsort(turn(rim))], mark])


def walked(loop, distance):
    """A point of the outline so far from the back mark; to the right where negative."""
    steps = np.linalg.norm(np.diff(loop, axis=0), axis=1)
    way = np.concatenate([[0.0], np.cumsum(steps)])
    distance = distance % way[-1]
    return np.array([np.interp(distance, way, loop[:, axis]) for axis in range(3)])


def corners(planes):
    """Where three of six planes meet, one from each pair: (8, 3)."""
    found = []
    for three in product(*planes):
        normals = np.array([normal for _, normal in three])
        found.append(np.linalg.solve(normals, [normal @ point for point, normal in three]))
    return np.array(found)


@pytest.mark.parametrize(
    ("nut", "piece"),
    [
        ("acoustic-6", "antler-beam"),
        pytest.param("bass-4-fifths", "shin-bone", marks=pytest.mark.slow),
        pytest.param("electric-6", "shin-bone-scan", marks=pytest.mark.slow),
        pytest.param("ukulele-tenor", "antler-beam-scan", marks=pytest.mark.slow),
    ],
)
def test_marks_lead_to_the_block(nut, piece, made):
    folder = made("stock", nut, "--piece", piece).folder
    told = json.loads((folder / "stock.json").read_text("utf-8"))
    mesh = trimesh.load(folder / "piece.stl", force="mesh")
    mesh.apply_transform(np.linalg.inv(np.array(told["piece"]["to_source"])))

    ends, loops, at_sawn_end = [], [], []
    for cut in told["cuts"]["cross_cuts"]:
        marks = {line: on_skin(mesh, along, line) for line, along in cut["marks"].items()}
        point, normal = plane_through(np.array(list(marks.values())))
        assert max(abs((mark - point) @ normal) for mark in marks.values()) < NEAR
        ends.append((point, normal))
        loops.append(outline_of(mesh, point, normal, marks["back"]))
        at_sawn_end.append(cut["by"] == "sawn end")
    (stretch,) = told["cuts"]["stretches"]
    faces = {}
    for rip in stretch["rip_cuts"]:
        if rip["from_other_end"] is not None:  # a line squared round the freed block
            own, (point, normal) = at_sawn_end.index(True), ends[at_sawn_end.index(False)]
            away = normal * np.sign((ends[own][0] - point) @ normal)
            ends[own] = (point + rip["from_other_end"] * away, normal)
            continue
        ways = rip["from_back_mark_to_the_left"]
        points = [walked(loop, way) for loop, end in zip(loops, ("first", "last"), strict=True) for way in ways[end]]
        faces[rip["face"]] = plane_through(np.array(points))
    found = corners([ends, [faces["front"], faces["back"]], [faces["underside"], faces["top"]]])

    found = trimesh.transform_points(found, told["piece"]["to_source"])  # a scan's own frame

    (block,) = told["laid"]
    axes = np.array([block["length_axis"], block["thickness_axis"], block["height_axis"]])
    half = np.array(block["size"]) / 2.0
    wanted = np.array([half * signs for signs in product((-1, 1), repeat=3)]) @ axes + block["centre"]
    off = np.linalg.norm(found[:, np.newaxis] - wanted, axis=2)
    assert off.min(axis=1).max() < NEAR
    assert sorted(off.argmin(axis=1)) == list(range(8))
