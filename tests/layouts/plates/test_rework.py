"""Spare weld places, lines to cut a plate along, the edge to peel from. Packs invented."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from layouts.plates.labour import plate_labour
from layouts.plates.rework import (
    SPARE_CLEAR_MM,
    SPOT_WIDE_MM,
    peel_edge,
    rework_cuts,
    spare_shots,
)
from layouts.plates.sizes import plate_sizes
from layouts.plates.spots import layer_spots, plate_spots
from layouts.strips.lip import positive_end
from layouts.strips.plate import SheetLayer
from tests.layouts.plates.test_plates import GRID, TEN, planned

PACKS = pytest.mark.parametrize("text", [TEN, GRID], ids=["honeycomb", "grid"])


@PACKS
def test_spare_places_are_clear_of_the_first_spots(text: str) -> None:
    """A millimetre of sheet between any two, within pad, window and sheet; one shot at least on
    every can end, and never more than the first set."""
    plan = planned(text)
    sizes = plate_sizes(plan.pack)
    for plate in plan.interconnect.plates:
        positive = positive_end(plan.cell_layout, plate.face)
        first = plate_spots(plan.cell_layout, plate)
        spare = spare_shots(plan.pack, plan.cell_layout, plate)
        assert len(spare) == len(plate.cells)
        for cell, shots, spots in zip(plate.cells, spare, first, strict=True):
            assert 1 <= len(shots) <= len(spots)
            places = shots.reshape(-1, 2)
            every = np.vstack([places, spots.reshape(-1, 2)])
            for k, place in enumerate(places):
                others = np.delete(every, k, axis=0)
                off = np.hypot(*(others - place).T).min() - SPOT_WIDE_MM
                assert off >= SPARE_CLEAR_MM - 1e-6
            reach = np.hypot(*(places - plan.cell_layout.xy_mm[cell]).T).max()
            pad = sizes.positive_pad_mm if positive[cell] else sizes.pad_mm
            assert reach + SPOT_WIDE_MM / 2 <= min(pad, plan.pack.holder.window_mm / 2)
            assert shapely.covers(plate.body, shapely.points(places)).all()
            if plate.bar is not None:
                off = shapely.distance(plate.bar.shape, shapely.points(places)).min()
                assert off >= SPOT_WIDE_MM / 2


def test_no_spare_place_where_a_pad_is_full() -> None:
    """Four shots leave less than a millimetre between them: none on the small positive pads."""
    plan = planned(TEN)
    plate = replace(plan.interconnect.plates[1], spots=8)
    positive = positive_end(plan.cell_layout, plate.face)
    counts = {
        bool(positive[cell]): len(shots)
        for cell, shots in zip(
            plate.cells, spare_shots(plan.pack, plan.cell_layout, plate), strict=True
        )
    }
    assert counts[True] == 0
    assert counts[False] >= 1


@PACKS
def test_no_cut_crosses_a_rim(text: str) -> None:
    """Every line stays outside of every can's rim, the positive ones' first of all, on its sheet
    and off its bar; all cuts together part the plate into one piece for each cell or fewer."""
    plan = planned(text)
    can = plan.pack.cell.diameter_mm / 2
    for plate, cuts in zip(
        plan.interconnect.plates,
        rework_cuts(plan.cell_layout, plan.interconnect.plates),
        strict=True,
    ):
        if plate.bar is not None and not cuts:
            continue  # nothing but the bar joins its can ends
        lines = shapely.MultiLineString(list(cuts))
        positive = positive_end(plan.cell_layout, plate.face)
        rims = shapely.buffer(shapely.points(plan.cell_layout.xy_mm[positive]), can, quad_segs=32)
        assert shapely.distance(lines, rims).min() > 0.0
        assert shapely.distance(lines, shapely.points(plan.cell_layout.xy_mm)).min() > can
        assert plate.body.buffer(1e-6).covers(lines)
        if plate.bar is not None:
            assert not lines.intersects(plate.bar.shape.buffer(-1e-3))
            continue
        parts = shapely.get_parts(plate.body.difference(lines.buffer(0.01)))
        large = [part for part in parts.tolist() if part.area > 5.0]
        centres = [shapely.Point(at) for at in plan.cell_layout.xy_mm[list(plate.cells)]]
        owned = [sum(part.covers(at) for at in centres) for part in large]
        assert sum(owned) == len(plate.cells)
        assert max(owned) == 1


@PACKS
def test_a_plate_is_peeled_from_its_negative_edge(text: str) -> None:
    """The place lies on the outline, beside a negative end, no positive one nearer."""
    plan = planned(text)
    for plate in plan.interconnect.plates:
        edge = peel_edge(plan.cell_layout, plate)
        at = shapely.Point(edge.at_mm)
        assert plate.body.exterior.distance(at) < 1e-6
        inside = shapely.Point(np.add(edge.at_mm, np.array(edge.inward) * 0.5))
        assert plate.body.covers(inside)
        if plate.is_end:
            assert edge.words == "opposite its bar"
            assert plate.bar is not None and plate.bar.shape.distance(at) > 2.0
            continue
        xy = plan.cell_layout.xy_mm[list(plate.cells)]
        nearest = plate.cells[int(np.argmin(np.hypot(*(xy - edge.at_mm).T)))]
        assert not positive_end(plan.cell_layout, plate.face)[nearest]
        assert edge.words == f"along minus of group {plan.cell_layout.group[nearest]}"


def test_spots_of_all_layers_are_those_of_the_labour() -> None:
    """Three layers: as many spots as counted; each layer's clear of the one beneath."""
    plan = planned(TEN)
    layer = SheetLayer(material="nickel", thickness_mm=0.15)
    plates = [replace(plate, layers=(layer,) * 3) for plate in plan.interconnect.plates]
    found = [layer_spots(plan.cell_layout, plate, k) for plate in plates for k in range(3)]
    assert sum(spots[..., 0].size for spots in found) == plate_labour(plates).spots
    for k in (1, 2):
        mine = layer_spots(plan.cell_layout, plates[1], k)[0].reshape(-1, 2)
        beneath = layer_spots(plan.cell_layout, plates[1], k - 1)[0].reshape(-1, 2)
        off = np.hypot(*np.moveaxis(mine[:, None] - beneath, -1, 0))
        assert off.min() > SPOT_WIDE_MM
