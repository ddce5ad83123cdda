"""A piece, a block and answers by hand for the page and the files: an elliptic, tapered, bowed tube."""

from typing import Literal

import numpy as np

from nutgen.finding import note, refusal, remedy, warning
from nutgen.geometry.mesh import Mesh
from nutgen.geometry.pose import IDENTITY, Pose
from nutgen.spec.piece import Permit
from nutgen.stock.block import Block, Region
from nutgen.stock.laid import Answer, Laid, Largest
from nutgen.stock.piece import Axis, Piece

LENGTH = 120.0


def axis(along: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Sideways and up of the middle: bowed upward, a little to the left [mm]."""
    share = along / LENGTH
    return 1.5 * share, 6.0 * share * (1.0 - share)


def tube(wide: float, high: float, *, low: float, last: float, around: int, steps: int, drop: float = 0.0) -> Mesh:
    """Closed skin of elliptic sections; diameters at the first end, four fifths of them at the last [mm]."""
    along = np.linspace(low, last, steps)
    turn = 2.0 * np.pi * np.arange(around) / around
    share = 1.0 - 0.2 * along / LENGTH
    left, up = axis(along)
    points = np.stack(
        [
            np.repeat(along, around),
            (left[:, None] + share[:, None] * wide / 2.0 * np.sin(turn)).ravel(),
            (up[:, None] - drop + share[:, None] * high / 2.0 * np.cos(turn)).ravel(),
        ],
        axis=1,
    )
    row, column = np.meshgrid(np.arange(steps - 1), np.arange(around), indexing="ij")
    a, b = row * around + column, row * around + (column + 1) % around
    side = np.concatenate(
        [np.stack([a, b, a + around], -1).reshape(-1, 3), np.stack([b, b + around, a + around], -1).reshape(-1, 3)]
    )
    ends = [np.array([low, left[0], up[0] - drop]), np.array([last, left[-1], up[-1] - drop])]
    first, final = len(points), len(points) + 1
    turn_on = (np.arange(around) + 1) % around
    caps = [
        np.stack([np.full(around, first), turn_on, np.arange(around)], 1),
        np.stack([np.full(around, final), (steps - 1) * around + np.arange(around), (steps - 1) * around + turn_on], 1),
    ]
    # seen from the first end, a turn from up to the left runs counter-clockwise about the axis: sides face outward
    triangles = np.concatenate([side[:, ::-1], *[cap[:, ::-1] for cap in caps]])
    surface = Mesh(np.concatenate([points, ends]), triangles.astype(np.int64))
    return surface if volume(surface) > 0.0 else Mesh(surface.vertices, surface.triangles[:, ::-1])


def volume(surface: Mesh) -> float:
    """Enclosed volume [mm3]."""
    a, b, c = surface.vertices[surface.triangles].transpose(1, 0, 2)
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)


def piece(
    *,
    around: int = 200,
    steps: int = 250,
    core: bool = True,
    found_by: Literal["calipers", "scan"] = "calipers",
    to_source: Pose = IDENTITY,
    title: str = "Shin bone for the page",
) -> Piece:
    """About twice around times steps triangles."""
    along = np.linspace(0.0, LENGTH, 61)
    left, up = axis(along)
    return Piece(
        title=title,
        material="bone",
        found_by=found_by,
        skin=tube(44.0, 38.0, low=0.0, last=LENGTH, around=around, steps=steps),
        core=tube(20.0, 14.0, low=0.0, last=LENGTH, around=96, steps=90, drop=8.0) if core else None,
        axis=Axis(along, left, up),
        length=LENGTH,
        ends=("cut", "cut"),
        first_end=note("first-end.stated", words="the thicker end, with the brand mark"),
        back_line=note("back-line.stated", words="along the sharp crest"),
        permitted=Permit(grain_deg=10.0, wane=0.0, core_in=(), compact=1.0, kerf=1.2),
        to_source=to_source,
    )


def block() -> Block:
    """A bass nut's, as it leaves the saw."""
    outline = ((-4.7, -6.3), (4.7, -6.3), (4.7, 6.3), (-4.7, 6.3))
    return Block(
        length=48.0,
        thickness=9.4,
        height=12.6,
        squared=(46.0, 7.4, 10.6),
        finished=(41.5, 5.0, 8.1),
        to_sand={"end": 3.25, "front": 2.2, "back": 2.2, "underside": 2.0, "top": 2.5},
        to_square={"end": 1.0, "front": 1.0, "back": 1.0, "underside": 1.0, "top": 1.0},
        wane=0.0,
        regions=(Region("front edge and slot floors", "core", -24.0, 24.0, outline, 1.0),),
    )


def laid(along: float, *, margin: float = 0.82, tilt_deg: float | None = None) -> Laid:
    """Over the core, its top toward the back line and along it."""
    share = along / LENGTH
    slope = (6.0 * (1.0 - 2.0 * share) - 0.2 * 19.0) / LENGTH
    tilt = np.arctan(slope) if tilt_deg is None else np.radians(tilt_deg)
    top = 6.0 * share * (1.0 - share) + 19.0 * (1.0 - 0.2 * share)
    long = np.array([np.cos(tilt), 0.0, np.sin(tilt)])
    back = np.array([0.0, 1.0, 0.0])
    pose = Pose.of(np.array([along, 0.6, top - 6.3 - 2.0]), np.stack([long, back, np.cross(long, back)]))
    corner = pose.apply(np.array([[24.0, 4.7, 6.3]]))[0]
    return Laid(
        pose=pose,
        margin=margin,
        skin_margin=margin,
        core_margin=margin + 0.1,
        tightest=note(
            "piece.tightest", against="skin", part="block", level="top", side="back", end="last", along=along
        ),
        tightest_at=corner,
        grain_deg=float(abs(np.degrees(tilt))),
        waste=31_000.0,
        saw_area=2_900.0,
    )


def profile() -> np.ndarray:
    """Best margin along the piece."""
    along = np.linspace(26.0, 94.0, 18)
    return np.stack([along, 0.82 - ((along - 40.0) / 32.0) ** 2], axis=1)


def yes(*, count: int = 1) -> Answer:
    """It fits."""
    places = [60.0] if count == 1 else list(np.linspace(27.0, 93.0, count))
    return Answer(
        block=block(),
        laid=tuple(laid(place) for place in places),
        margin=0.82,
        short=(),
        largest=(),
        notes=(warning("piece.walls-assumed", at=(0.0, 118.0)),),
        profile=profile(),
    )


def no() -> Answer:
    """It does not, by 0.43 mm."""
    return Answer(
        block=block(),
        laid=(laid(60.0, margin=-0.43),),
        margin=-0.43,
        short=(refusal("piece.out-of-skin", missing=0.43, part="block", level="top", side="back", end="", along=60.0),),
        largest=(
            Largest(
                name="a lower blank",
                size=(48.0, 9.4, 11.7),
                finished=(41.5, 5.0, 7.2),
                how=remedy("instead.lower", by=0.9, sawn=(48.0, 9.4, 11.7), left=7.2),
            ),
        ),
        notes=(),
        profile=profile() - np.array([0.0, 1.25]),
    )
