"""The first steps of gas on its way out: what a site's edges leave open, and where to."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
import shapely

from layouts.enclosures import gas_way
from layouts.enclosures.box.gas import WAY_OUT
from layouts.enclosures.form import gas_site
from layouts.pack import Face, Lattice
from tests.layouts.enclosed import Enclosed, enclosed, enclosed_pack
from tests.samples import sample_pack

LEFT = "before the -x slots"


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
    out = Counter(end for _, end in _ways_out(e, face))
    room, left = {Face.LOWER: "beside the board", Face.UPPER: "above the board"}[face], LEFT
    faces_right = 3 if lattice is Lattice.HONEYCOMB else 1
    beside = 0 if lattice is Lattice.HONEYCOMB else 2
    assert faces_right <= out[room] <= faces_right + beside
    assert out[left] == (faces_right if face is Face.UPPER else 0)
    assert set(out) <= {room, left}


@pytest.mark.parametrize("name", ["5S1P", "10S4P"])
def test_a_row_s_gas_leaves_at_its_end_only(name: str) -> None:
    """Cells with others to their right are no way to the compartment, nor those to their left."""
    e = enclosed(name)
    pitch = e.pack.pitch_mm
    ways = _ways_out(e, Face.UPPER)
    assert {end for _, end in ways} == {"above the board", LEFT}
    for cell, end in ways:
        off = e.cell_layout.xy_mm - e.cell_layout.xy_mm[cell]
        level = np.abs(off[:, 1]) < 0.1 * pitch
        sign = -1.0 if end == LEFT else 1.0
        assert not (level & (sign * off[:, 0] > 0.5 * pitch)).any()


def _ways_out(e: Enclosed, face: Face) -> list[tuple[int, str]]:
    """Cell and place of each way from the rim of the cell block on a face."""
    network = gas_way._network(e.pack, e.cell_layout, e.enclosure)
    names = list(network.places)
    cells = {gas_site(face, cell): cell for cell in range(len(e.cell_layout.xy_mm))}
    return [
        (cells[names[start]], names[end])
        for start, end, kind in zip(network.start, network.end, network.kind, strict=True)
        if kind == WAY_OUT and names[start] in cells
    ]
