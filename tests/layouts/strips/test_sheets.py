"""Cut pieces: together they are the strips, layer by layer, whatever the shape."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely

from layouts.pack import Face, Lattice
from layouts.strips.joining import StripKind
from layouts.strips.sheets import CutPiece, SheetShape, WeldSlot, cut_pieces, welding_order
from tests.layouts.strips.joinings import joined

PACKS = [(3, 2, 2, Lattice.HONEYCOMB), (4, 3, 2, Lattice.GRID), (5, 4, 1, Lattice.HONEYCOMB)]


@pytest.mark.parametrize(("series", "parallel", "layers", "lattice"), PACKS)
@pytest.mark.parametrize("shape", list(SheetShape))
def test_pieces_cover_what_the_strips_cover(
    series: int, parallel: int, layers: int, lattice: Lattice, shape: SheetShape
) -> None:
    """On each face and in each layer the same metal as the strips: nothing more, nothing less."""
    _, cell_layout, interconnect = joined(series, parallel, layers=layers, lattice=lattice)
    pieces = cut_pieces(cell_layout, interconnect, shape)
    for face in Face:
        for layer in range(1, layers + 1):
            strips = shapely.union_all(
                [
                    shapely.Polygon(strip.outline_mm)
                    for strip in interconnect.strips
                    if strip.face is face and strip.layers >= layer
                ]
            )
            mine = [p.polygon for p in pieces if p.face is face and p.layer == layer]
            assert shapely.union_all(mine).symmetric_difference(strips).area < 1e-6
    assert all(piece.polygon.is_valid for piece in pieces)
    assert len({piece.name for piece in pieces}) == len(pieces)


def test_single_pieces_are_the_strips_to_the_last_digit() -> None:
    """Every layer of a strip is a piece with the strip's own outline."""
    _, cell_layout, interconnect = joined(4, 3, layers=2)
    pieces = cut_pieces(cell_layout, interconnect)
    assert len(pieces) == sum(strip.layers for strip in interconnect.strips)
    for piece in pieces:
        (k,) = piece.strips
        assert np.array_equal(piece.outline_mm, interconnect.strips[k].outline_mm)
        round_it = np.asarray(piece.polygon.minimum_rotated_rectangle.exterior.coords)
        wide, long = sorted(np.hypot(*np.diff(round_it, axis=0)[:2].T).tolist())
        assert wide == pytest.approx(interconnect.strips[k].width_mm)
        assert long == pytest.approx(np.hypot(*np.subtract(*piece.outline_mm[:2])))


def test_a_sheet_holds_one_joint_in_one_piece() -> None:
    """As sheets: the first layer of each net is one piece, with openings between its strips."""
    _, cell_layout, interconnect = joined(5, 4)
    pieces = cut_pieces(cell_layout, interconnect, SheetShape.SHEET)
    assert len(pieces) == 6  # a net between each two groups, and both ends
    assert sorted(k for piece in pieces for k in piece.strips) == list(
        range(len(interconnect.strips))
    )
    assert all(len(piece.groups) <= 2 for piece in pieces)
    assert any(piece.openings_mm for piece in pieces)


def test_a_ladder_leaves_rows_to_a_main_lead_for_themselves() -> None:
    """Copper is soldered onto those: each is a piece of its own."""
    _, cell_layout, interconnect = joined(5, 4)
    pieces = cut_pieces(cell_layout, interconnect, SheetShape.LADDER)
    leads = [k for k, strip in enumerate(interconnect.strips) if strip.kind is StripKind.LEAD]
    alone = [piece.strips[0] for piece in pieces if len(piece.strips) == 1]
    assert set(leads) <= set(alone)
    assert len(pieces) < len(cut_pieces(cell_layout, interconnect))


@pytest.mark.parametrize("shape", list(SheetShape))
def test_slots_take_their_own_area(shape: SheetShape) -> None:
    """One slot over each can end of a first layer, along the first strip there."""
    _, cell_layout, interconnect = joined(3, 2)
    whole = cut_pieces(cell_layout, interconnect, shape)
    slotted = cut_pieces(cell_layout, interconnect, shape, slot=WeldSlot(long_mm=6.0, wide_mm=1.0))

    def area(pieces: tuple[CutPiece, ...]) -> float:
        return sum(piece.polygon.area for piece in pieces)

    cells = 12  # six cells, two ends each
    if shape is SheetShape.SHEET:
        assert area(whole) - area(slotted) == pytest.approx(cells * 6.0)
    else:
        assert area(whole) - area(slotted) >= cells * 6.0 - 1e-6
    assert all(piece.polygon.is_valid for piece in slotted)


def test_rings_run_the_usual_way_round() -> None:
    """Outlines counter-clockwise, openings clockwise."""
    _, cell_layout, interconnect = joined(5, 4)
    pieces = cut_pieces(
        cell_layout, interconnect, SheetShape.SHEET, slot=WeldSlot(long_mm=6.0, wide_mm=1.0)
    )
    for piece in pieces:
        assert shapely.LinearRing(piece.outline_mm).is_ccw
        assert not any(shapely.LinearRing(ring).is_ccw for ring in piece.openings_mm)


@pytest.mark.parametrize(("series", "parallel", "layers", "lattice"), PACKS)
def test_no_strip_goes_under_another(
    series: int, parallel: int, layers: int, lattice: Lattice
) -> None:
    """Each strip has one number; at every can end rows come before links before leads."""
    _, _, interconnect = joined(series, parallel, layers=layers, lattice=lattice)
    order = welding_order(interconnect)
    assert sorted(order) == list(range(len(interconnect.strips)))
    kinds = list(StripKind)
    ends: dict[tuple[Face, int], list[int]] = {}
    for k in order:
        strip = interconnect.strips[k]
        for cell in strip.cells:
            ends.setdefault((strip.face, cell), []).append(kinds.index(strip.kind))
    assert all(a <= b for stack in ends.values() for a, b in pairwise(stack))
    faces = [interconnect.strips[k].face for k in order]
    assert faces == sorted(faces, key=lambda face: face is Face.UPPER)
