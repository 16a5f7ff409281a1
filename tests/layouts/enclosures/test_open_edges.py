"""The first steps of gas on its way out: what a site's edges leave open, and where to."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
import shapely

from layouts.enclosures import gas_way
from layouts.pack import Face, Lattice
from tests.layouts.enclosed import enclosed, enclosed_pack
from tests.samples import sample_pack


@pytest.mark.parametrize("seed", range(8))
def test_an_edge_is_open_where_no_disc_lies_on_it(seed: int) -> None:
    """Against the edge as a line cut by discs of many corners, discs one over another."""
    rng = np.random.default_rng(seed)
    discs = np.column_stack([rng.uniform(-12, 12, (5, 2)), rng.uniform(1, 5, 5)])
    middle, angle = rng.uniform(-3, 3, 2), rng.uniform(0, np.pi)
    way = np.array([np.cos(angle), np.sin(angle)])
    along = np.array([-way[1], way[0]])
    line = shapely.LineString([middle - 7 * along, middle + 7 * along])
    taken = shapely.union_all(
        shapely.buffer(shapely.points(discs[:, :2]), discs[:, 2], quad_segs=256)
    )
    found = gas_way._open_mm(middle, way, 14.0, discs)
    assert found == pytest.approx(line.difference(taken).length, abs=0.01)


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize("face", Face)
def test_gas_of_a_lone_cell_leaves_to_its_right_and_above_to_its_left(
    lattice: Lattice, face: Face
) -> None:
    """A site's edges that face the board open into its compartment; over the lid's side those that
    face away open to the other wall's slots. None opens both ways."""
    e = enclosed_pack(sample_pack(1, 1, lattice=lattice))
    network = gas_way._network(e.pack, e.cell_layout, e.enclosure, face)
    room, left = 2, 5  # of the places: the cell, the outside, the compartment, ..., the other slots
    out = Counter(
        end
        for start, end, kind in zip(network.start, network.end, network.kind, strict=True)
        if start == 0 and kind == gas_way.WAY_OUT
    )
    faces_right = 3 if lattice is Lattice.HONEYCOMB else 1
    beside = 0 if lattice is Lattice.HONEYCOMB else 2
    assert faces_right <= out[room] <= faces_right + beside
    assert out[left] == (faces_right if face is Face.UPPER else 0)
    assert set(out) <= {room, left}


@pytest.mark.parametrize("name", ["5S1P", "10S4P"])
def test_a_row_s_gas_leaves_at_its_end_only(name: str) -> None:
    """Cells with others to their right are no way to the compartment, nor those to their left."""
    e = enclosed(name)
    network = gas_way._network(e.pack, e.cell_layout, e.enclosure, Face.UPPER)
    n = len(e.cell_layout.xy_mm)
    pitch = e.pack.pitch_mm
    for start, end, kind in zip(network.start, network.end, network.kind, strict=True):
        if kind != gas_way.WAY_OUT:
            continue
        off = e.cell_layout.xy_mm - e.cell_layout.xy_mm[start]
        level = np.abs(off[:, 1]) < 0.1 * pitch
        sign = 1.0 if end == n + 1 else -1.0
        assert not (level & (sign * off[:, 0] > 0.5 * pitch)).any()
