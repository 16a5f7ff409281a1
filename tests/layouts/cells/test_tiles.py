"""Plans of holder tiles."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from layouts.cells.tiles import tile_polygons
from layouts.pack import Lattice, Pack, Printer
from tests.layouts.boxed import arrange
from tests.samples import sample_pack


def assert_tiles_part_the_pockets(pack: Pack) -> int:
    """Polygons are simple, apart by the gap, and keep 1.2 mm round each pocket of their own."""
    made = arrange(pack)
    polygons = [shapely.Polygon(corners) for corners in tile_polygons(made)]
    assert len(polygons) == int(made.tile.max()) + 1
    for number, polygon in enumerate(polygons):
        assert polygon.is_valid and polygon.exterior.is_ccw
        own = shapely.points(made.xy_mm[made.tile == number])
        assert shapely.contains(polygon, own).all()
        wall = shapely.distance(polygon.exterior, own) - pack.pocket_mm / 2
        assert wall.min() >= 1.2 - 1e-5
        other = made.xy_mm[made.tile != number]
        assert not shapely.contains(polygon, shapely.points(other)).any()
    tree = shapely.STRtree(polygons)
    for i, j in tree.query(polygons, predicate="dwithin", distance=1.0).T:
        if i < j:
            # side by side 0.2; corner to corner up to its diagonal
            assert 0.2 - 1e-5 <= polygons[i].distance(polygons[j]) <= 0.2 * 2**0.5 + 1e-5
    return len(polygons)


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize(
    ("series", "parallel", "bed"), [(16, 5, 220.0), (20, 10, 220.0), (3, 11, 100.0), (24, 2, 120.0)]
)
def test_tiles_part_the_pockets(series: int, parallel: int, bed: float, lattice: Lattice) -> None:
    """Cuts along rows, along columns, both, and beside widened lane seams."""
    printer = Printer(bed_mm=(bed, bed, 250.0), nozzle_mm=0.4, layer_mm=0.2, material="petg")
    pack = sample_pack(series, parallel, lattice=lattice, printer=printer)
    assert assert_tiles_part_the_pockets(pack) > 1


@pytest.mark.parametrize(
    ("series", "parallel", "format"), [(14, 12, "18650"), (16, 4, "26650"), (18, 4, "26650")]
)
def test_tiles_whose_cells_meet_in_one_corner_of_the_grid(
    series: int, parallel: int, format: str
) -> None:
    """Rounded corners of a grid's cells fall together, which a general repair refuses."""
    pack = sample_pack(series, parallel, lattice=Lattice.GRID, format=format)
    assert assert_tiles_part_the_pockets(pack) > 1


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    series=st.integers(1, 25),
    parallel=st.integers(1, 25),
    lattice=st.sampled_from(Lattice),
    format=st.sampled_from(["18650", "26650"]),
    bed=st.sampled_from([(110.0, 110.0), (100.0, 180.0), (200.0, 200.0)]),
)
def test_tiles_of_any_pack_part_the_pockets(
    series: int, parallel: int, lattice: Lattice, format: str, bed: tuple[float, float]
) -> None:
    """Every pack that needs tiles gets sound ones; one that needs none gets no polygon."""
    parallel = max(1, min(parallel, 150 // series))
    printer = Printer(bed_mm=(*bed, 250.0), nozzle_mm=0.4, layer_mm=0.2, material="petg")
    pack = sample_pack(series, parallel, lattice=lattice, format=format, printer=printer)
    if int(arrange(pack).tile.max()) == 0:
        assert tile_polygons(arrange(pack)) == [None]
    else:
        assert assert_tiles_part_the_pockets(pack) > 1


def test_outer_tiles_reach_past_the_outline() -> None:
    """Together the tiles cover the holder's outline, gaps aside."""
    pack = sample_pack(16, 5)
    made = arrange(pack)
    whole = shapely.union_all([shapely.Polygon(corners) for corners in tile_polygons(made)])
    x, y = made.xy_mm.max(axis=0) + 50
    assert whole.buffer(0.11).buffer(-0.11).contains(shapely.box(-x, -y, x, y))


def test_a_tile_in_two_pieces_is_refused() -> None:
    """Cells of one tile that do not hang together cannot be one part."""
    made = arrange(sample_pack(3, 1, lattice=Lattice.GRID))
    with pytest.raises(ValueError, match="tile 0 are not connected"):
        tile_polygons(replace(made, tile=np.array([0, 1, 0])))


def test_corners_are_few() -> None:
    """A straight cut through a grid is a straight line: four corners a tile, no more."""
    pack = sample_pack(16, 5, lattice=Lattice.GRID)
    assert [len(corners) for corners in tile_polygons(arrange(pack))] == [4, 4]


@pytest.mark.parametrize("series", [12, 14])
def test_a_grid_whose_corners_fall_together_is_parted(series: int) -> None:
    """Two columns of many rows once came out as tiles that did not hang together."""
    pack = sample_pack(series, 2, format="18650", lattice=Lattice.GRID)
    cell_layout = arrange(pack)
    shapes = [shapely.Polygon(points) for points in tile_polygons(cell_layout)]
    assert len(shapes) == 2
    for number, shape in enumerate(shapes):
        inside = shapely.contains_xy(shape, *cell_layout.xy_mm.T)
        assert (inside == (cell_layout.tile == number)).all()
