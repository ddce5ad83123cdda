"""The jigs of every kind: one closed body each, on the bed, with room for the blank on a straight way in."""

from functools import cache

import pytest

import nutgen
from nutgen.bench.materials import MATERIALS
from nutgen.jigs.choose import Made, jigs
from nutgen.jigs.jig import JigName
from nutgen.jigs.task import Task
from nutgen.spec.presets import kind_names
from nutgen.spec.read import parse_spec
from tests.kinds import text_of


def task_of(kind: str, changes: dict[str, object] | None = None) -> Task:
    spec = parse_spec(text_of(kind, changes), source=kind)
    return Task(nutgen.solve(spec), spec.tools, spec.print, MATERIALS[spec.material], spec.errors, "0A1B2C")


@cache
def made_for(kind: str, name: JigName) -> Made:
    (one,), _ = jigs(task_of(kind), [name])
    return one


@pytest.mark.slow
@pytest.mark.parametrize("kind", kind_names())
@pytest.mark.parametrize("name", ["thickness", "comb"])
def test_every_part_is_one_closed_body_on_the_bed(kind: str, name: JigName) -> None:
    for part in made_for(kind, name).parts:
        assert part.mesh.faults == []
        assert part.mesh.vertices.min(axis=0) == pytest.approx([0.0] * 3, abs=1e-9)
        assert max(part.size[:2]) < 180.0
