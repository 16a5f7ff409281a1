"""Fusible necks: the only way from a positive end's pad to its plate, in every drawing of it."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
import shapely

from generators.drawings.plate_pieces import plate_piece_sheet, plate_templates
from generators.packfile.resolve import parse_pack
from layouts.electrical.plate_choice import CANDIDATES
from layouts.errors import PlanError
from layouts.pack import Face
from layouts.planning.steps import BlockPlan, fastened, interconnected, laid_out
from layouts.plates.sizes import FUSE_PAD_MM
from layouts.plates.spots import plate_spots
from layouts.plates.whole import is_open
from layouts.strips.lip import positive_end
from layouts.strips.plate import BusPlate, CellFuse
from tests.layouts.plates.joined import failing
from tests.layouts.plates.test_field_by_elements import by_elements, fields, loss_w
from tests.sampled import sampled

from layouts.currents.plates import CONTACT_MM, FINE_STEP_MM  # isort: skip

PACKS = [
    (3, 3, "honeycomb", "21700", "[1, 4]"),
    (4, 6, "honeycomb", "21700", "[1, 4]"),
    (4, 6, "grid", "21700", "[1, 4]"),
    (5, 7, "honeycomb", "18650", "[1, 3]"),
    (4, 6, "grid", "18650", "[1, 2.5]"),
    (4, 8, "honeycomb", "26650", "[1.5, 5]"),
]


@cache
def block(
    series: int, parallel: int, lattice: str, cell_format: str, fuse: str, more: str = ""
) -> BlockPlan:
    """A pack with necks, all else by default."""
    text = (
        f'name: seed-drill\ncell: {{format: "{cell_format}"}}\nseries: {series}\n'
        f"parallel: {parallel}\nlattice: {lattice}\n"
        f"strip: {{cell_fuse_mm: {fuse}{more}}}\nprinter: {{bed_mm: [400, 400, 300]}}\n"
    )
    return fastened(interconnected(laid_out(parse_pack(text.encode(), "x.yaml").pack)))


def across(fuse: CellFuse, wide_mm: float) -> shapely.LineString:
    """A line across the middle of a neck."""
    ends = np.array([fuse.pad_mm, fuse.rest_mm])
    way = np.diff(ends, axis=0)[0] / math.dist(*ends)
    side = np.array([-way[1], way[0]]) * wide_mm / 2.0
    return shapely.LineString([ends.mean(axis=0) - side, ends.mean(axis=0) + side])


def parted(plate: BusPlate, fuse: CellFuse) -> tuple[shapely.Polygon, ...]:
    """What a cut across one neck leaves of the sheet as it is cut."""
    saw = across(fuse, 3.0 * fuse.width_mm).buffer(0.01, cap_style="flat")
    return tuple(shapely.get_parts(plate.sheet.difference(saw)).tolist())


@pytest.mark.parametrize("number", sampled(range(len(PACKS)), lambda number: number == 0))
def test_a_neck_is_the_only_way_to_its_pad(number: int) -> None:
    """On every positive end of both faces, with its width and length, none on negative ends; spots
    on the pad, gas past it, and all checks of joints, lip and posts hold."""
    made = block(*PACKS[number])
    layout, plates = made.cell_layout, made.interconnect.plates
    seen: list[tuple[Face, int]] = []
    for plate in plates:
        positive = positive_end(layout, plate.face)
        assert {fuse.cell for fuse in plate.cell_fuses} == {
            cell for cell in plate.cells if positive[cell]
        }
        spots = plate_spots(layout, plate)
        for fuse in plate.cell_fuses:
            seen.append((plate.face, fuse.cell))
            centre = shapely.Point(layout.xy_mm[fuse.cell])
            wide = shapely.intersection(across(fuse, 3.0 * fuse.width_mm), plate.sheet).length
            assert wide == pytest.approx(fuse.width_mm, abs=0.01)
            assert math.dist(fuse.pad_mm, fuse.rest_mm) == pytest.approx(fuse.length_mm)
            pads = [part for part in parted(plate, fuse) if part.covers(centre)]
            assert len(parted(plate, fuse)) == 2 and len(pads) == 1
            pad = pads[0]
            round_mm2 = math.pi * FUSE_PAD_MM**2
            assert pad.area == pytest.approx(
                round_mm2 + fuse.width_mm * fuse.length_mm / 2.0, rel=0.06
            )
            mine = spots[plate.cells.index(fuse.cell)].reshape(-1, 2)
            assert shapely.contains_xy(pad, mine[:, 0], mine[:, 1]).all()
            assert is_open(made.pack, layout.xy_mm[fuse.cell], plate.sheet)
            if plate.bar is not None:  # copper keeps off the ring round the pad
                assert plate.bar.shape.distance(centre) > FUSE_PAD_MM + fuse.length_mm - 0.1
    assert len(seen) == len(set(seen)) == made.pack.series * made.pack.parallel
    assert failing(made) == []


def test_no_hole_is_told_where_a_ring_is_cut() -> None:
    """Rings round the pads are no holes for lip; templates and pieces have the outline as it is."""
    made = block(*PACKS[0])
    plates = made.interconnect.plates
    for plate in plates:
        for x, y, _ in plate.holes:
            assert all(math.dist((x, y), fuse.pad_mm) > 4.0 for fuse in plate.cell_fuses)
    words = [str(one) for one in plate_templates(made.pack, made.cell_layout, made.interconnect)]
    assert sum("3 x fusible neck 1 x 4 mm" in one for one in words) >= 2
    pieces = plate_piece_sheet(made.pack, made.cell_layout, made.interconnect)
    corners = sum(
        len(line)
        for mark in pieces.marks
        if hasattr(mark, "lines") and getattr(mark, "closed", False)
        for line in mark.lines
    )
    assert corners >= sum(len(plate.sheet.exterior.coords) - 1 for plate in plates)


def test_the_raster_of_a_plate_with_necks_is_within_one_percent_of_elements() -> None:
    """All cells of a group at once, and one cell alone, as when it is shorted."""
    made = block(*PACKS[0])
    plate = next(one for one in made.interconnect.plates if not one.is_end)
    xy = made.cell_layout.xy_mm[list(plate.cells)]
    contacts = list(shapely.buffer(shapely.points(xy), CONTACT_MM))
    elements = by_elements(plate.body, contacts)
    raster = fields(plate.body, xy, FINE_STEP_MM).conductance
    necked = np.isin(plate.cells, [fuse.cell for fuse in plate.cell_fuses])
    evenly = np.where(necked, 1.0, -1.0)
    single = np.where(necked, 0.0, -1.0 / int((~necked).sum()))
    single[int(np.flatnonzero(necked)[0])] = 1.0
    for amps in (evenly, single):
        exact = loss_w(elements, amps)
        assert loss_w(raster, amps) == pytest.approx(exact, rel=0.01)
    # necks carry most of it: each ohm as a straight one, and some of the sheet at its ends
    straight = 4.0 * 9.6e-8 / (1.0 * 0.15e-3)  # nickel's resistivity, a neck of 1 x 4 mm
    assert 3.0 * straight < loss_w(elements, evenly) < 5.0 * straight
    assert plate.conducts.field.conductance == pytest.approx(
        raster * plate.thickness_mm / 0.15, rel=1e-4, abs=0.01
    )


def test_two_layers_are_cut_alike() -> None:
    """Given layers keep their necks."""
    two = block(3, 3, "honeycomb", "21700", "[1, 4]", ", layers: 2")
    assert all(len(plate.layers) == 2 for plate in two.interconnect.plates)
    one = block(*PACKS[0])
    for a, b in zip(one.interconnect.plates, two.interconnect.plates, strict=True):
        assert a.sheet.equals(b.sheet)


@pytest.mark.slow
def test_copper_never_lies_under_a_neck() -> None:
    """Of the metals to choose from none is of two where necks are asked for."""
    assert any(len({layer.material for layer in layers}) > 1 for layers in CANDIDATES)
    heavy = block(3, 6, "honeycomb", "21700", "[1, 4]", "}\nload: {continuous_a: 190")
    for plate in heavy.interconnect.plates:
        assert {layer.material for layer in plate.layers} == {"nickel"}


@pytest.mark.parametrize(
    ("parallel", "strip", "why"),
    [
        (6, "[1, 12]", "leaves|cuts plate"),
        (6, "[3, 4]", "is less than 1.5 times as long as wide .3 x 4 mm., write a length of 4.5"),
        (1, "[1, 4]", "straight strips .1 x 4 mm., leave the key out: a cell alone"),
        (6, "[1, 4], joints: links", "straight strips .*strip.joints: plates"),
    ],
)
def test_necks_that_have_no_place_are_refused(parallel: int, strip: str, why: str) -> None:
    """With the key, its value and what would do."""
    with pytest.raises(PlanError, match=f"strip.cell_fuse_mm: .*{why}"):
        block(4, parallel, "honeycomb", "21700", strip)
