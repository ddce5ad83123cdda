"""Nuts for tests of drawings: put together from plain numbers, far beyond what strings would ask for."""

import math
from dataclasses import fields, replace

from hypothesis import strategies as st

from nutgen.nut import solve
from nutgen.nut.part import Allowances, Blank, Nut
from nutgen.nut.places import End
from nutgen.nut.seat import SeatHeights, Underside
from nutgen.nut.setback import shelves_of
from nutgen.nut.slot import Slot
from nutgen.nut.strung import Strung
from nutgen.nut.swing import Swing
from nutgen.spec.read import parse_spec
from nutgen.theory.crown import Crown
from tests.kinds import text_of

PLAIN = solve(parse_spec(text_of("electric-6"), source="electric-6"))
"""Whatever is not given stands as it is on a nut that was solved."""

NO_STRINGS = Strung(*((),) * len(fields(Strung)))
NOT_PLAYED = Swing((), (), (), (), True, 0.05, 8.0, (), ())


def slot(**given: float) -> Slot:
    """A slot with plain values where none are given."""
    values = {
        "number": 1,
        "note": "E2",
        "gauge": 1.0,
        "wound": False,
        "course": 1,
        "scale_length": 650.0,
        "x": 0.0,
        "start_y": 0.0,
        "width": 1.1,
        "floor_z": 1.2,
        "floor_height": 0.2,
        "fret_plane_z": 1.0,
        "tilt_deg": 5.0,
        "roll_radius": math.inf,
        "fan_deg": 0.0,
        "incline_deg": 0.2,
        "break_angle_deg": 10.0,
        "bend_deg": 0.0,
        "buried": 0.8,
        "depth": 0.8,
        "first_fret_clearance": 0.4,
        "action": 2.0,
        "action_now": 2.0,
        "to_post": 0.0,
    }
    return replace(PLAIN.slots[0], **(values | given))


def nut(**given: object) -> Nut:
    """A nut with plain values where none are given; its blank follows from its sizes."""
    values: dict[str, object] = {
        "title": "Test bar",
        "kind": "steel",
        "material": "bone",
        "scale_length": (650.0, 650.0),
        "strings": NO_STRINGS,
        "swing": NOT_PLAYED,
        "strung": "right",
        "thickness": 5.0,
        "frets": 20,
        "relief": 0.2,
        "slant_deg": 0.0,
        "crown": Crown(2.0, 0.0, 0.0),
        "underside": Underside(-3.0, 0.0),
        "land": 1.5,
        "bevel_deg": 10.0,
        "edge_radius": 0.4,
        "slots": (),
        "allowances": Allowances(),
        "blank": Blank(42.0, 5.4, 6.0),
        "findings": (),
    }
    half = float(given.pop("length", 40.0)) / 2.0  # type: ignore[arg-type]
    radius = given.pop("board_radius", math.inf)
    seat = SeatHeights("channel", (-half, half), 0.0, radius, 3.0, math.inf, 1.0, None)
    values |= {"seat": seat, "left": End(-half), "right": End(half)} | given
    values.setdefault("shelves", shelves_of(values["slots"], seat.board_radius))
    made = replace(PLAIN, **values)
    made = replace(made, shelves=shelves_of(made.slots, made.board_radius))
    return made if "blank" in given else replace(made, blank=_blank(made))


def _blank(made: Nut) -> Blank:
    return Blank(made.extent + 2.0, made.thickness + 0.4, made.height + 1.0)


@st.composite
def slots(draw: st.DrawFn, *, half_length: float = 20.0) -> Slot:
    """Slots of any width, fan, tilt and roll; some run over each other or out of the end."""
    tilt, fan = draw(st.floats(0.0, 25.0)), draw(st.one_of(st.just(0.0), st.floats(-20.0, 20.0)))
    tilt = draw(st.sampled_from([0.0, tilt]))
    steepest = draw(st.floats(tilt + 0.01, 50.0))
    rolled = 18.0 / (math.sin(math.radians(steepest)) - math.sin(math.radians(tilt)))
    return slot(
        x=draw(st.floats(-half_length, half_length)),
        start_y=draw(st.sampled_from([0.0, -0.4, -1.0])),
        width=draw(st.floats(0.12, 5.7)),
        floor_z=draw(st.floats(0.5, 2.4)),
        tilt_deg=tilt,
        roll_radius=draw(st.sampled_from([math.inf, rolled])),
        fan_deg=fan,
    )


@st.composite
def nuts(draw: st.DrawFn, *, most_slots: int = 8, leaning: bool = False) -> Nut:
    """Nuts of any size and top, flat or round, level or tilted, on a flat or arched seat, none set back.

    leaning : ends that lean, each by itself, and a seat arched about an axis that does
    """
    length = draw(st.floats(12.0, 130.0))
    radius = draw(st.one_of(st.just(math.inf), st.floats(max(40.0, 0.6 * length), 3000.0)))
    seat_radius = draw(st.one_of(st.just(math.inf), st.floats(max(40.0, 0.6 * length), 3000.0)))
    thickness = draw(st.floats(2.0, 15.0))
    most_slope = math.degrees(min(0.05, 5.0 / length))
    drop = 0.0 if math.isinf(radius) else length**2 / 8.0 / math.sqrt(radius**2 - length**2 / 4.0)
    crown = Crown(draw(st.floats(2.0, 4.0)) + drop, draw(st.floats(-most_slope, most_slope)), 1.0 / radius)
    lean = draw(st.tuples(*[st.floats(-22.0, 22.0)] * 3)) if leaning else (0.0, 0.0, 0.0)
    cut = draw(st.lists(slots(half_length=length / 2.0), min_size=1, max_size=most_slots))
    raised = [
        slot(**_fields(one) | {"floor_z": one.floor_z + drop, "start_y": 0.0, "number": i + 1})
        for i, one in enumerate(cut)
    ]
    return nut(
        length=length,
        thickness=thickness,
        board_radius=radius,
        crown=crown,
        left=End(-length / 2.0, lean[0]),
        right=End(length / 2.0, lean[1]),
        underside=Underside(draw(st.floats(-8.0, -3.0)), 1.0 / seat_radius, lean[2]),
        land=draw(st.floats(0.2, thickness)),
        bevel_deg=draw(st.floats(0.0, 15.0)),
        edge_radius=draw(st.one_of(st.just(0.0), st.floats(0.05, 1.5))),
        slots=tuple(sorted(raised, key=lambda one: one.x)),
        strung=draw(st.sampled_from(["right", "left"])),
    )


def _fields(one: Slot) -> dict[str, float]:
    return {name: getattr(one, name) for name in Slot.__slots__}
