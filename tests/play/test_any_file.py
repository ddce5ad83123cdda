"""Playing any file that the door lets in and the solver accepts: figures, not failures."""

import io
import json
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import HealthCheck, given, reject, settings

from nutgen.documents.charts.play import cents_svg, heights_svg
from nutgen.documents.words import sentence
from nutgen.errors import CannotBeMade
from nutgen.formats.stamp import Stamp
from nutgen.jobs.record import plain
from nutgen.nut import solve
from nutgen.play.heights_record import heights_record
from nutgen.play.played import played
from nutgen.play.pull import pull_findings, pull_now
from nutgen.spec.read import parse_spec
from tests.cases import cases
from tests.specs import EXAMPLES, specs


@pytest.mark.parametrize("count", cases(2, slow=[-(-EXAMPLES // 15)]))
def test_every_figure_is_finite_and_every_picture_whole(count: int) -> None:
    settings(max_examples=count, suppress_health_check=list(HealthCheck))(given(specs(most_strings=6))(check))()


def check(text: str) -> None:
    spec = parse_spec(text, source="drawn")
    try:
        nut = solve(spec)
    except CannotBeMade:
        reject()
    pull = pull_now(spec)
    assert np.all(np.isfinite(pull.tension_n))
    assert all(sentence(found) for found in pull_findings(pull))
    seen = played(nut, spec.errors, chosen=(1, 3, 5, 12))
    record = plain(heights_record(nut, seen))
    json.dumps(record, allow_nan=False)
    np.testing.assert_allclose(seen.open[:, 0], [slot.first_fret_clearance for slot in nut.slots], atol=1e-9)
    tunable = seen.pitches.tunable
    for values in (seen.pitches.cents, seen.pitches.gain, seen.pitches.both.left, seen.pitches.nut_alone.rms):
        assert np.all(np.isfinite(values[tunable]))
        assert np.all(np.isnan(values[~tunable]))
    assert sum(found.code == "pitch.untunable" for found in seen.findings) == np.sum(~tunable)
    for values in (seen.friction.dead_band[1], seen.friction.down_force_n, seen.spread.buzz_chance):
        assert np.all(np.isfinite(values))
    stamp = Stamp(spec.title, "0" * 12)
    for data in (heights_svg(nut, stamp), cents_svg(nut, stamp)):
        ElementTree.parse(io.BytesIO(data))
