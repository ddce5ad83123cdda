"""What keeps a jig from being made is said with its cure."""

from typing import Any

import pytest

from nutgen.documents.words.catalogue import sentence
from nutgen.errors import CannotBeMade
from nutgen.jigs.choose import jigs
from nutgen.jigs.jig import JigName
from tests.jigs.jigs_of import task_of

BARE: dict[str, Any] = {"saws": [], "files": [], "needle_files": [], "drill_shanks": [], "feeler": [], "steel": []}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "changes", "bench", "said"),
    [
        ("ends", {}, BARE, "no saw on the bench: list its kerf under tools.saws"),
        ("comb", {}, BARE, "list yours under [tools]"),
        ("depth", {}, BARE, "list the drill shanks of 2.4 to 4.2 mm"),
        ("depth", {}, {}, "no stop: not listed under tools.blades"),
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
