"""What readings that were not taken may cost, and the door of not_measured."""

import pytest

from nutgen.errors import SpecFaults
from nutgen.nut import solve
from nutgen.spec.presets import kind_path
from nutgen.spec.read import overruled, parse_spec, spec_hash
from nutgen.spec.tables import MEASURED_KEYS, Spec

TEXT = kind_path("electric-6").read_text("utf-8")


def unread(*paths: str) -> Spec:
    listed = ", ".join(f'"{path}"' for path in paths)
    return parse_spec(f"not_measured = [{listed}]\n{TEXT}", source="test")


def test_the_seat_floor_moves_every_floor_by_as_much() -> None:
    """Depth of the kinds is 3 to 5 mm, and the file's is 3: floors over the seat rise by 2, and so does the blank."""
    (found,) = solve(unread("seat.depth")).unmeasured
    assert found.value("tried") == (3.0, 5.0)
    assert found.value("floors") == pytest.approx(2.0)
    assert found.value("blank") == pytest.approx(2.0)


def test_the_width_moves_the_blank_by_its_share() -> None:
    (found,) = solve(unread("fretboard.width")).unmeasured
    assert found.value("blank") == pytest.approx(0.05 * 42.0)
    assert found.value("places") > 1.5


@pytest.mark.parametrize("path", ["fretboard.fret_height", "setup.relief", "fretboard.radius", "seat.thickness"])
def test_as_a_nut_made_by_hand_from_either_end(path: str) -> None:
    """Made through the whole solver, floors compared at the front face: no more than what is told."""
    spec, (table, key) = unread(path), path.split(".")
    nut, limits = solve(spec), MEASURED_KEYS[path]
    now = getattr(getattr(spec, table), key)
    ends = limits if isinstance(limits, tuple) else ((1 - limits) * now, (1 + limits) * now)
    most = 0.0
    for end in ends:
        other = solve(overruled(spec, {table: {key: "flat" if end == float("inf") else end}}))
        heights = zip(nut.slots, other.slots, strict=True)
        most = max(most, *(abs(other.floor_over_seat(b) - nut.floor_over_seat(a)) for a, b in heights))
    (found,) = nut.unmeasured
    assert isinstance(told := found.value("floors"), float)
    assert most <= told + 1e-9
    if path != "seat.thickness":  # floors fall behind the front face
        assert told == pytest.approx(most, abs=0.02)


def test_all_that_was_measured_is_quiet() -> None:
    assert solve(parse_spec(TEXT, source="test")).unmeasured == ()


def test_it_is_part_of_the_file() -> None:
    plain, marked = parse_spec(TEXT, source="test"), unread("seat.depth")
    assert plain != marked
    assert hash(plain) != hash(marked)
    assert spec_hash(plain) != spec_hash(marked)


@pytest.mark.parametrize(
    ("paths", "code"),
    [
        (("seat.dept",), "not-measured.no-such-key"),
        (("material",), "not-measured.no-reading"),
        (("setup.action",), "not-measured.no-reading"),
        (("seat.fret_plane",), "not-measured.not-in-file"),
        (("strings[7].post",), "not-measured.not-in-file"),
        (("seat.depth", "seat.depth"), "not-measured.twice"),
    ],
)
def test_what_is_no_reading_of_the_file_is_refused(paths: tuple[str, ...], code: str) -> None:
    with pytest.raises(SpecFaults) as caught:
        unread(*paths)
    assert [fault.code for fault in caught.value.findings] == [code]


@pytest.mark.parametrize(
    ("key", "way"),
    [
        ("setup.relief", "{ under_string = 0.2 }"),
        ("setup.relief", '"1 card"'),
        ("fretboard.radius", "{ gaps = [0.9, 0.9], chord = 41 }"),
        ("fretboard.fret_height", "{ under_ruler = 1.1 }"),
    ],
)
def test_what_was_read_in_a_way_of_its_own_was_measured(key: str, way: str) -> None:
    name = key.partition(".")[2]
    lines = [f"{name} = {way}" if line.startswith(f"{name} =") else line for line in TEXT.splitlines()]
    text = "\n".join(lines) + "\n[tools]\nown_leaves = { card = { ten = 2.95 } }\n"
    parse_spec(text, source="test")
    with pytest.raises(SpecFaults) as caught:
        parse_spec(f'not_measured = ["{key}"]\n{text}', source="test")
    assert [fault.code for fault in caught.value.findings] == ["not-measured.was-read"]
