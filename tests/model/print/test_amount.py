"""Time and filament: a calculation, held against plain solids and sections that trimesh cuts."""

import math

import numpy as np
import pytest
import trimesh

from nutgen.geometry.mesh import Mesh
from nutgen.model.print.amount import Amount, amount_of
from nutgen.spec.forming import Print
from tests.model.print.test_printing import section


def amount(solid: trimesh.Trimesh, table: Print, **filling: float) -> Amount:
    low, high = solid.bounds[:, 2]
    layers = round((high - low) / table.layer_height)
    return amount_of(Mesh(np.array(solid.vertices), np.array(solid.faces)), layers, table, **filling)


def by_sections(solid: trimesh.Trimesh, table: Print) -> float:
    """Minutes, layer by layer: edge and area of each section as trimesh cuts it."""
    low, high = solid.bounds[:, 2]
    seconds = 0.0
    for z in np.arange(low + table.layer_height / 2.0, high, table.layer_height):
        cut = section(solid, z)
        outline = 2.0 * cut.length
        seconds += outline / 25.0 + (cut.area / table.line - outline) / 50.0 + 3.0
    return seconds / 60.0


def test_a_bar_by_hand() -> None:
    """43 x 8 x 3.4: 17 layers, each 2 x 102 of outline and 43 x 8 / 0.4 in all."""
    found = amount(trimesh.creation.box((43.0, 8.0, 3.4)), Print())
    assert found.volume == pytest.approx(1169.6)
    assert found.filament == pytest.approx(1169.6 / (math.pi * 0.875**2))
    assert found.grams == pytest.approx(1.450, abs=0.001)
    assert found.minutes == pytest.approx(17 * (204.0 / 25.0 + (860.0 - 204.0) / 50.0 + 3.0) / 60.0)


@pytest.mark.parametrize("size", [(40.0, 10.0, 6.0), (30.0, 4.0, 9.0), (60.0, 50.0, 3.0)])
def test_a_bar_partly_filled_layer_by_layer(size: tuple[float, float, float]) -> None:
    """Three lines along each edge; within them four layers solid below and above, a quarter between."""
    within = (size[0] - 6 * 0.4) * (size[1] - 6 * 0.4) / 0.4
    edges = sum(2 * (size[0] + size[1] - 4 * (2 * line + 1) * 0.4 / 2) for line in range(3))
    layers = [
        edges + (within if min(k, round(size[2] / 0.2) - 1 - k) < 4 else within / 4)
        for k in range(round(size[2] / 0.2))
    ]
    found = amount(trimesh.creation.box(size), Print(), walls=3.0, filled=0.25)
    assert found.filament == pytest.approx(sum(layers) * 0.08 / (math.pi * 0.875**2), rel=0.05)
    seconds = sum(edges / 25.0 + (one - edges) / 50.0 + 3.0 for one in layers)
    assert found.minutes == pytest.approx(seconds / 60.0, rel=0.05)


@pytest.mark.parametrize("layer", [0.1, 0.2])
def test_a_part_with_a_leaning_side_by_its_sections(layer: float) -> None:
    solid = trimesh.creation.cone(radius=20.0, height=30.0, sections=64).slice_plane((0, 0, 4.0), (0, 0, -1), cap=True)
    table = Print(layer_height=layer)
    assert amount(solid, table).minutes == pytest.approx(by_sections(solid, table), rel=0.03)


def test_resin_has_no_filament_and_takes_its_layers() -> None:
    found = amount(trimesh.creation.box((43.0, 8.0, 3.4)), Print(layer_height=0.05, material="resin"))
    assert found.filament == 0.0
    assert found.minutes == pytest.approx(68 * 10.0 / 60.0)
