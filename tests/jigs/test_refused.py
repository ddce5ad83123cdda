"""What keeps a jig from being made is said with its cure."""

from typing import Any

import pytest
from shapely.geometry import Point, Polygon

from nutgen.documents.words.catalogue import sentence
from nutgen.errors import CannotBeMade
from nutgen.jigs.choose import MAKERS, jigs
from nutgen.jigs.guides import guided
from nutgen.jigs.jig import JigName
from nutgen.jigs.lay import laid
from nutgen.jigs.plates import pocket
from tests.jigs.jigs_of import task_of

LOW = [{"tool": "file", "width": "0.42 mm", "height": "5 mm", "length": "60 mm", "sides": "smooth"}]
BARE: dict[str, Any] = {"saws": [], "files": [], "needle_files": [], "drill_shanks": [], "feeler": [], "steel": []}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "changes", "bench", "said"),
    [
        ("ends", {}, BARE, "no saw on the bench: list its kerf under tools.saws"),
        ("comb", {}, BARE, "list yours under [tools]"),
        ("depth", {}, BARE, "list the drill shanks of 2.4 to 4.2 mm"),
        ("depth", {}, {}, "no stop: not listed under tools.blades"),
        ("depth", {}, {"blades": LOW}, "5.00 mm high, and a shoe needs"),
        ("comb", {"print": {"bed": [60.0, 60.0]}}, {}, "and print.bed is 60.00 mm by 60.00 mm: a larger printer"),
        ("comb", {"print": {"nozzle": 1.8}}, {}, "use a thinner saw for both, or a finer nozzle"),
    ],
)
def test_refused(name: JigName, changes: dict[str, Any], bench: dict[str, Any], said: str) -> None:
    task = task_of("electric-6", changes, bench)
    with pytest.raises(CannotBeMade) as refused:
        jigs(task, [name])
    told = [sentence(why) for why in refused.value.findings]
    assert any(said in one for one in told), told


def test_a_low_file_is_told_the_height_that_serves_all_its_strings() -> None:
    task = task_of("electric-6", {}, {"blades": LOW})
    (one,) = [one for one in guided(task) if one.tool == "slotting file" and one.stop.code == "jig.blade-low"]
    least = float(f"{dict(one.stop.values)['least'] + 0.005:.2f}")
    task = task_of("electric-6", {}, {"blades": [{**LOW[0], "height": f"{least} mm"}]})
    assert [one.stop.code for one in guided(task) if one.tool == "slotting file"] == ["jig.blade-stopped"]


def test_a_top_too_round_for_its_cheeks() -> None:
    """The roundest board and the deepest seat that a file may have: the arc of 40 ends before a half of 31 and 10."""
    task = task_of(
        "electric-6", {"fretboard.width": 62.0, "fretboard.radius": 40.0, "spacing.margin": 8.0, "seat.depth": 15.0}
    )
    with pytest.raises(CannotBeMade) as refused:
        jigs(task, ["top"])
    assert [one.code for one in refused.value.findings] == ["jig.top-too-round"]


@pytest.mark.slow
def test_letters_of_the_cheeks_of_a_narrow_nut() -> None:
    """Where they have no room they hung over and fell off as bodies of their own."""
    task = task_of("bass-4", {"fretboard.width": 20.0, "spacing.margin": 1.5})
    assert all(laid(part, task.printer).mesh.faults == [] for part in MAKERS["top"](task).parts)


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["acoustic-12", "mandolin", "bass-5"])
def test_the_room_of_shelves_that_stand_close_is_one(kind: str) -> None:
    """Those of a course stand a tenth apart, less than the blank's play: the room's outline crossed itself."""
    task = task_of(kind, {"slots.setback": {"bass": 0.5, "treble": 0.25}, "material": "brass"})
    room = Polygon(pocket(task))
    assert room.is_valid
    assert all(room.contains(Point(slot.x, slot.start_y)) for slot in task.nut.slots)
    (comb,) = MAKERS["comb"](task).parts
    assert laid(comb, task.printer).mesh.faults == []
