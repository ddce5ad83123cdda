"""Blocks set on a page: labels, boxes, groups that no page holds."""

import pytest

from nutgen.documents.blocks import Column, Paragraph, Table
from nutgen.documents.lettering import Words
from nutgen.documents.paint.compose import below, composed
from nutgen.documents.paint.page import Group, Linework, rule, stacked
from nutgen.documents.texts import Labelled

ROOM = 60.0


def test_words_go_on_behind_a_label_and_stay_in_the_room() -> None:
    """The label is bold, alone, however many lines it takes; the words begin on its last line where one fits in."""
    for label in ("Take care:", "Height, height at the bass end, height at the treble end past the limit:"):
        (group,) = composed((Paragraph(Labelled(label, "and now some words " * 8)),), ROOM, "mm")
        lines = [item for item in group.items if isinstance(item, Words)]
        assert " ".join(line.text for line in lines if line.bold) == label
        assert " ".join(line.text for line in lines if not line.bold) == ("and now some words " * 8).strip()
        assert all(line.box[0] >= 0.0 and line.box[2] <= ROOM + 1e-6 for line in lines)
        last = [line for line in lines if line.bold][-1]
        behind = [line for line in lines if not line.bold and line.y == last.y]
        assert [line.x > last.box[2] for line in behind] == [True]


def test_every_row_has_its_box_to_tick_and_its_room_to_write() -> None:
    columns = (Column("", "tick"), Column("size"), Column("measured", "write"))
    table = Table(columns, (("", "length, then 0.10 by polish, then 0.20 by hand", ""), ("", "land", "")), "sizes")
    (group,) = composed((table,), ROOM, "mm")
    drawn = {item.name: item for item in group.items if isinstance(item, Linework)}
    rules = [drawn["rule-sizes"].y, drawn["rule-sizes-row-1"].y, group.height]
    for number in (1, 2):
        left, top, right, foot = drawn[f"sizes-tick-{number}"].box
        assert right - left == pytest.approx(foot - top) == 2.3
        assert rules[number - 1] < top < foot < rules[number]
        (side,) = (item for name, item in drawn.items() if name.startswith(f"sizes-write-{number}"))
        assert side.box[1] == pytest.approx(rules[number - 1])


def test_a_group_that_no_page_holds_falls_into_its_parts() -> None:
    parts = [Group(30.0, (rule(str(number), 10.0, 0.0),)) for number in range(5)]
    pages = stacked([below([below(parts[:3], 1.0), below(parts[3:], 1.0)], 1.0)], top=0.0, bottom=100.0, gap=2.0)
    assert [[item.y for item in page] for page in pages] == [[0.0, 31.0, 62.0], [0.0, 31.0]]
