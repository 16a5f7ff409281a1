"""Estimated outer sizes."""

from dataclasses import replace

import numpy as np
import pytest

from layouts.brackets.angle import design_bracket
from layouts.brackets.angle_strength import STAND_MM
from layouts.cells.envelope import cell_block_mm, overshoot_ratio
from layouts.enclosures.box.design import design_enclosure
from layouts.holders.fastening import fasten
from layouts.pack import Lattice, Pack, Printer, Side
from layouts.parts.bed import pieces, usable_bed_mm
from layouts.planning.estimate import envelope
from layouts.spaces.space import box_space
from layouts.strips.laying import join
from tests.layouts.boxed import arrange
from tests.samples import sample_pack


def bed(x: float, y: float) -> Printer:
    """A printer with this bed."""
    return Printer(bed_mm=(x, y, 250.0), nozzle_mm=0.4, layer_mm=0.2, material="petg")


def test_sizes_add_up() -> None:
    """Invented block of 80 x 180: pockets, walls, gaps, compartment, mounting pads."""
    pack = sample_pack(10, 4)
    sizes = envelope(pack, cell_block_mm(pack, (80.0, 180.0)))
    assert sizes.cell_block_mm == pytest.approx((80 + 21.55 + 4.4, 180 + 21.55 + 4.4))
    box_x = sizes.cell_block_mm[0] + 1.25 + (12 + 3 + 14) + 2 * 2.6
    assert sizes.tub_mm == pytest.approx((box_x + 20, sizes.cell_block_mm[1] + 2.5 + 5.2 + 2.4))
    assert sizes.lid_mm == pytest.approx((box_x + 12.7, sizes.tub_mm[1]))
    assert sizes.outside_mm[0] == pytest.approx(sizes.tub_mm[0] + 2 * 23)
    assert sizes.outside_mm[2] == pytest.approx(70.7 + 0.2 + 3.2 + 7 + 3 + 3 + 3)


def test_a_long_board_makes_the_tub_long() -> None:
    """A board longer than the field decides the tub's length along y."""
    pack = sample_pack(10, 1)
    assert envelope(pack, cell_block_mm(pack, (11.5, 40.0))).tub_mm[1] == pytest.approx(
        110 + 71 + 5.2 + 2.4
    )


@pytest.mark.parametrize(
    "pack",
    [
        sample_pack(10, 4),
        sample_pack(4, 6, format="26650", chemistry="lfp", lattice=Lattice.GRID),
        sample_pack(16, 5),
        sample_pack(7, 3),
    ],
    ids=lambda pack: f"{pack.series}S{pack.parallel}P",
)
def test_the_estimate_is_near_the_enclosure_that_is_designed(pack: Pack) -> None:
    """Cell block, tub, lid and outside within 3 mm of what is drawn for the same field."""
    made = arrange(pack)
    interconnect = join(pack, made)
    cell_block = fasten(pack, made, interconnect)
    design = design_enclosure(pack, made, interconnect, cell_block)
    span = np.ptp(made.xy_mm, axis=0)
    sizes = envelope(pack, cell_block_mm(pack, (float(span[0]), float(span[1]))))
    x0, y0, x1, y1 = cell_block.box_mm
    assert sizes.cell_block_mm == pytest.approx((x1 - x0, y1 - y0), abs=3.0)
    low_y = min(design.outer.y0, *(b.y_mm - b.radius_mm for b in design.bosses))
    high_y = max(design.outer.y1, *(b.y_mm + b.radius_mm for b in design.bosses))
    faces_mm = [
        max(pad.face_mm for pad in design.pads if pad.side is side)
        for side in (Side.MINUS_X, Side.PLUS_X)
    ]
    assert sizes.tub_mm == pytest.approx((sum(faces_mm), high_y - low_y), abs=3.0)
    low_x = min(*(b.x_mm - b.radius_mm for b in design.bosses), *(r.x0 for r in design.shelves))
    high_x = max(*(b.x_mm + b.radius_mm for b in design.bosses), *(r.x1 for r in design.shelves))
    assert sizes.lid_mm == pytest.approx((high_x - low_x, high_y - low_y), abs=3.0)
    foot = design_bracket(pack, design.pads).foot_mm
    high = design.z_lid_mm - design.z_under_mm + STAND_MM
    assert sizes.outside_mm == pytest.approx(
        (sum(faces_mm) + 2 * foot, high_y - low_y, high), abs=3.0
    )


def test_a_bed_may_be_used_turned() -> None:
    """A long part fits a long bed whichever way the bed lies; larger ones are cut."""
    assert usable_bed_mm(bed(220, 320)) == (218, 318)
    assert pieces((300, 200), bed(220, 320)) == 1
    assert pieces((300, 219), bed(220, 320)) == 2
    assert pieces((440, 250), bed(220, 220)) == 6


def test_the_space_is_tried_the_way_the_leads_ask_for_and_turned() -> None:
    """Leads towards +y turn the pack by a quarter; the other turn is distinguished."""
    pack = replace(sample_pack(10, 4), space=box_space((240.0, 400.0, 120.0)))
    sizes = envelope(pack, cell_block_mm(pack, (80.0, 180.0)))
    assert overshoot_ratio(sizes, pack, turned=False) == 0.0
    assert overshoot_ratio(sizes, replace(pack, space=None), turned=True) == 0.0
    low = replace(pack, space=box_space((240.0, 400.0, 60.0)))
    assert overshoot_ratio(sizes, low, turned=False) > 0.4
    narrow = replace(pack, space=box_space((400.0, sizes.outside_mm[0] + 1, 120.0)))
    up = replace(narrow, leads=replace(pack.leads, side=Side.PLUS_Y))
    assert overshoot_ratio(sizes, narrow, turned=False) == overshoot_ratio(sizes, up, turned=True)
    assert overshoot_ratio(sizes, up, turned=False) == overshoot_ratio(sizes, narrow, turned=True)
