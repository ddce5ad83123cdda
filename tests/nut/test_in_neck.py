"""A slanted nut in its neck: ends, strings, floors and the solid, by a checker that knows the neck alone."""

import io
import math
import tomllib
from collections import defaultdict

import numpy as np
import pytest
import trimesh

from nutgen.errors import CannotBeMade
from nutgen.formats.stamp import Stamp
from nutgen.formats.stl import stl_bytes
from nutgen.jobs.record import nut_record
from nutgen.model.mesh import mesh_of
from nutgen.model.solid import nut_solid
from nutgen.nut import Nut, solve
from tests.kinds import text_of
from tests.nut.in_neck import Neck, off_by, slanted
from tests.specs import EXAMPLES, spec_of

LENGTH, ANGLE_DEG = 0.01, 0.05  # what the bench can see
GAP = 0.02


def made(seed: int) -> tuple[str, Nut] | None:
    text = slanted(seed)
    try:
        return text, solve(spec_of(text))
    except CannotBeMade:
        return None


def check(seeds: range) -> None:
    worst: dict[str, float] = defaultdict(float)
    drawn = [one for one in map(made, seeds) if one is not None]
    assert len(drawn) > 0.9 * len(seeds)
    for text, nut in drawn:
        for name, off in off_by(text, nut_record(spec_of(text), nut)):
            worst[name] = max(worst[name], abs(off))
    assert all(off < (ANGLE_DEG if name.endswith("_deg") else LENGTH) for name, off in worst.items()), worst


def test_in_the_neck_every_number_is_what_was_measured_there() -> None:
    check(range(40))


@pytest.mark.slow
def test_in_many_necks_every_number_is_what_was_measured_there() -> None:
    check(range(40, 40 + EXAMPLES))


def gaps(text: str, nut: Nut) -> dict[str, float]:
    """Greatest distance of the printed nut's faces from a seat modelled in the neck: front, both ends, floor [mm]."""
    neck = Neck(tomllib.loads(text), nut_record(spec_of(text), nut)["nut"])
    data = stl_bytes(mesh_of(nut_solid(nut)), Stamp("In its neck", "0123456789ab"))
    mesh = trimesh.load(io.BytesIO(data), file_type="stl")
    corners = mesh.triangles[mesh.triangles[:, :, 1].min(axis=1) > -1e-6]  # what stands on the board is no seat's
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal /= np.linalg.norm(normal, axis=1)[:, None] + 1e-30
    (across, along), (faces, _) = neck.places(corners), neck.places(normal)
    found = {"front": float(np.abs(corners[normal[:, 1] < -0.999][:, :, 1]).max())}
    for name, side in (("bass", -1.0), ("treble", 1.0)):
        end = (side * faces > 0.9995) & (
            (side * across).min(axis=1) > neck.width / 2.0 - 1.5
        )  # the walls of slots face so too
        assert np.ptp(corners[end][:, :, 1]) > nut.thickness - 1e-3
        found[name] = float(np.abs(across[end] - side * neck.half_width(along[end])).max())
    under = normal[:, 2] < -0.9
    found["floor"] = float(np.abs(corners[under][:, :, 2] - np.vectorize(neck.seat)(across[under])).max())
    return found


@pytest.mark.parametrize("seed", [3, *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(20, 26))])
def test_laid_in_its_seat_it_leaves_no_gap(seed: int) -> None:
    one = made(seed)
    assert one is not None
    assert max(gaps(*one).values()) < GAP, gaps(*one)


def test_the_board_is_read_across_the_neck_and_the_arch_along_the_face_is_flatter() -> None:
    spec = spec_of(text_of("electric-6-slanted", {"fretboard.width_at_12": None}))
    nut = solve(spec)
    cosine = math.cos(math.radians(nut.slant_deg))
    assert nut.length == pytest.approx(spec.fretboard.width / cosine, abs=1e-6)
    assert nut.board_radius == pytest.approx(spec.fretboard.radius / cosine**2, abs=1e-6)


def test_ends_that_follow_a_tapered_board_on_a_square_nut() -> None:
    """42 wide at the nut, 53 at fret 12 of a scale of 647.7: each edge goes in by 5.5 over 323.85."""
    nut = solve(spec_of(text_of("electric-6", {"fretboard.width_at_12": 53.0})))
    shift = 3.4 * 5.5 / 323.85
    assert (nut.end_x(-1), nut.end_x(1)) == (-21.0, 21.0)
    assert (nut.end_x(-1, 3.4), nut.end_x(1, 3.4)) == pytest.approx((-21.0 + shift, 21.0 - shift), abs=1e-9)
