"""Cells placed in an outline: inside, apart, grouped as wished, in pack coordinates."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from layouts.cells import lattice as lattices
from layouts.cells.placed import deck_mm, decks_in, reach_mm
from layouts.cells.placed_cells import PlacedCells
from layouts.errors import PlanError
from layouts.pack import GroupWishes, Lattice, Leads, Pack, Pin, Side
from tests.layouts.boxed import place_cells
from tests.layouts.placed_packs import ELL, HULL, placed_pack


def in_space(placed: PlacedCells) -> np.ndarray:
    """(N, 2) centres in the space's plan."""
    return placed.xy_mm @ placed.pose[:2, :2].T + placed.pose[:2, 3]


@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize("outline", [ELL, HULL], ids=["ell", "hull"])
def test_every_cell_keeps_its_reach_from_the_walls(
    lattice: Lattice, outline: tuple[tuple[float, float], ...]
) -> None:
    """Centres lie inside, a pocket, a wall and the side gap away from every edge."""
    pack = placed_pack(9, 4, outline, lattice=lattice)
    placed = place_cells(pack)
    shape = shapely.Polygon(outline)
    points = shapely.points(in_space(placed))
    assert shapely.contains(shape, points).all()
    assert shapely.distance(points, shape.boundary).min() >= reach_mm(pack) - 1e-6
    assert len(placed.group) == 36
    assert np.bincount(placed.group).tolist() == [0, *[4] * 9]


@pytest.mark.one_in(4)
@pytest.mark.parametrize("lattice", Lattice)
@pytest.mark.parametrize("side", Side)
def test_pack_coordinates_are_the_lattices_own_and_the_leads_leave_by_their_side(
    lattice: Lattice, side: Side
) -> None:
    """Rows along x, columns as counted everywhere; +x is the lattice's direction nearest."""
    leads = placed_pack(1, 1).leads
    pack = placed_pack(6, 4, lattice=lattice, leads=Leads(**{**_values(leads), "side": side}))
    placed = place_cells(pack)
    assert placed.sites is not None
    pitch = pack.pocket_mm + placed.web_mm
    made = lattices.centres_mm(placed.sites, lattice, pitch_mm=pitch)
    assert np.allclose(made, placed.xy_mm, atol=1e-6)
    if lattice is Lattice.HONEYCOMB:
        assert (placed.sites.sum(axis=1) % 2 == 0).all()
    ahead = placed.pose[:2, 0]
    wanted = {"+x": (1, 0), "-x": (-1, 0), "+y": (0, 1), "-y": (0, -1)}[side.value]
    assert ahead @ np.array(wanted) > np.cos(
        np.radians(31 if pack.lattice is Lattice.HONEYCOMB else 46)
    )
    assert np.linalg.det(placed.pose) == pytest.approx(1.0)


def _values(leads: Leads) -> dict[str, object]:
    return {name: getattr(leads, name) for name in ("side", "wire_mm2", "outside_mm", "length_mm")}


def test_neighbours_are_the_pairs_one_pitch_apart() -> None:
    """Derived again from the centres."""
    pack = placed_pack(7, 5)
    placed = place_cells(pack)
    pitch = pack.pocket_mm + placed.web_mm
    apart = np.hypot(*(placed.xy_mm[:, None] - placed.xy_mm[None]).transpose(2, 0, 1))
    i, j = np.nonzero(np.triu(np.abs(apart - pitch) < 1e-6))
    assert placed.neighbours.tolist() == np.column_stack([i, j]).tolist()
    assert apart[np.triu_indices(len(apart), 1)].min() >= pitch - 1e-6


def test_same_input_same_cells() -> None:
    """Every array to the last bit."""
    one, two = (place_cells(placed_pack(10, 6)) for _ in range(2))
    assert one.xy_mm.tobytes() == two.xy_mm.tobytes()
    assert one.group.tobytes() == two.group.tobytes()
    assert one.pose.tobytes() == two.pose.tobytes()


def pinned(pack: Pack, at: tuple[float, float]) -> tuple[int, float]:
    """Group of the cell nearest to a place in the space, and how far off it stands."""
    placed = place_cells(pack)
    far = np.hypot(*(in_space(placed) - at).T)
    return int(placed.group[far.argmin()]), float(far.min())


def test_a_pinned_cell_belongs_to_its_group_and_a_forbidden_place_stays_empty() -> None:
    """Places in the space's plan, as the user reads them off the picture."""
    at = (60.0, 40.0)
    group, near = pinned(placed_pack(8, 4), at)
    assert near < 12.0
    other = 8 if group != 8 else 1
    pack = placed_pack(8, 4, grouping=GroupWishes(pins=(Pin(at_mm=at, group=other),)))
    assert pinned(pack, at)[0] == other
    empty = placed_pack(8, 4, grouping=GroupWishes(exclude_mm=(at,)))
    placed = place_cells(empty)
    assert np.hypot(*(in_space(placed) - at).T).min() > 12.0


def test_distant_groups_that_touch_get_a_web_for_a_barrier() -> None:
    """More than 15 V between touching cells: 2.3 mm of web, 3 where the whole pack's volts do."""
    pack = placed_pack(10, 6, lattice=Lattice.GRID)
    placed = place_cells(pack)
    step = np.abs(np.diff(placed.group[placed.neighbours], axis=1)).max()
    if step * pack.cell.full_v > 15.0:
        assert placed.web_mm == pytest.approx(3.0 if step == 9 else 2.3)
    tame = place_cells(placed_pack(3, 6))
    assert tame.web_mm == pack.holder.web_mm


@pytest.mark.parametrize(
    ("pack", "told"),
    [
        (placed_pack(20, 8), "space: is too small for the pack in one layer"),
        (placed_pack(4, 2, height_mm=60.0), "space: is lower than one layer of held cells"),
        (
            placed_pack(4, 2, grouping=GroupWishes(pins=(Pin(at_mm=(900.0, 0.0), group=1),))),
            "grouping.pins: has no cell within half a pitch",
        ),
        (
            placed_pack(
                4,
                2,
                grouping=GroupWishes(
                    pins=(Pin(at_mm=(60.0, 40.0), group=1), Pin(at_mm=(60.1, 40.0), group=2))
                ),
            ),
            "grouping.pins: pins a cell to group 2 that is pinned to 1 already",
        ),
    ],
    ids=["too many", "too low", "pin outside", "pinned twice"],
)
def test_what_does_not_go_in_is_refused_with_what_would(pack: Pack, told: str) -> None:
    """The field of the pack file, the figure, and a remedy."""
    with pytest.raises(PlanError) as refusal:
        place_cells(pack)
    assert told in str(refusal.value)
    assert refusal.value.remedy


def test_decks_are_counted_by_height() -> None:
    """Layers of cells, lips and vent space that stack."""
    pack = placed_pack(4, 2, height_mm=250.0)
    assert deck_mm(pack) == pytest.approx(70.7 + 0.2 + 2 * (1.6 + 3.5))
    assert pack.space is not None
    assert decks_in(pack, pack.space) == 3
    assert place_cells(pack).decks == 3
