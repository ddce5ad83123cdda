"""Nuts of any file: every jig is one closed body that fits the bed, or is told why it is not made."""

import pytest
from hypothesis import HealthCheck, given, settings

from nutgen.documents.words.catalogue import sentence
from nutgen.jigs.choose import MAKERS
from nutgen.jigs.jig import JigName, NoJigError
from nutgen.jigs.lay import laid
from tests.jigs.jigs_of import DRAWS, task_from
from tests.specs import specs

BENCH = """
[tools]
steel = ["0.3 mm"]
blades = [
  { tool = "saw", width = "0.30 mm", height = "12.0 mm", length = "12.0 mm", sides = "smooth" },
  { tool = "saw", width = "0.55 mm", height = "14.0 mm", length = "12.0 mm", sides = "smooth" },
]
"""


@pytest.mark.slow
@pytest.mark.parametrize("name", MAKERS)
@given(text=specs())
@settings(max_examples=DRAWS, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_nut(name: JigName, text: str) -> None:
    task = task_from(text + BENCH, "drawn")
    try:
        parts = [laid(part, task.printer) for part in MAKERS[name](task).parts]
        told = ["made"]
    except NoJigError as error:
        parts, told = [], [sentence(why) for why in error.why]
    assert all(told)
    for part in parts:
        assert part.mesh.faults == []
        assert part.mesh.volume == pytest.approx(part.volume, rel=2e-3)
