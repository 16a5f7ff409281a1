"""Estimated outer sizes."""

from dataclasses import replace

import pytest

from layouts.envelope import envelope, overshoot_ratio, pieces, usable_bed_mm
from layouts.pack import Printer, Side, Space
from tests.samples import sample_pack


def bed(x: float, y: float) -> Printer:
    return Printer(bed_mm=(x, y, 250.0), nozzle_mm=0.4, layer_mm=0.2, material="petg")


def test_sizes_add_up() -> None:
    """Invented field of 80 x 180: pockets, walls, gaps, board room, lugs one by one."""
    pack = sample_pack(10, 4)
    sizes = envelope(pack, centres_mm=(80.0, 180.0))
    assert sizes.core_mm == pytest.approx((80 + 21.55 + 4.4, 180 + 21.55 + 4.4 + 3))
    box_x = sizes.core_mm[0] + 2 * 1.25 + (12 + 3 + 10) + 2 * 2.6
    assert sizes.tub_mm == pytest.approx((box_x + 20, sizes.core_mm[1] + 2.5 + 5.2 + 4))
    assert sizes.lid_mm == pytest.approx((box_x + 10, sizes.tub_mm[1]))
    assert sizes.outside_mm[2] == pytest.approx(70.3 + 0.2 + 3.2 + 7 + 3 + 3)


def test_a_long_board_makes_the_tub_long() -> None:
    """A board longer than the field decides the tub's length along y."""
    pack = sample_pack(10, 1)
    assert envelope(pack, centres_mm=(11.5, 40.0)).tub_mm[1] == pytest.approx(110 + 3 + 5.2 + 4)


def test_a_bed_may_be_used_turned() -> None:
    """A long part fits a long bed whichever way the bed lies; larger ones are cut."""
    assert usable_bed_mm(bed(220, 320)) == (212, 312)
    assert pieces((300, 200), bed(220, 320)) == 1
    assert pieces((300, 213), bed(220, 320)) == 2
    assert pieces((430, 250), bed(220, 220)) == 6


def test_the_space_is_tried_the_way_the_leads_ask_for_and_turned() -> None:
    """Leads towards +y turn the pack by a quarter; the other turn is told apart."""
    pack = replace(sample_pack(10, 4), space=Space(box_mm=(240.0, 400.0, 120.0)))
    sizes = envelope(pack, centres_mm=(80.0, 180.0))
    assert overshoot_ratio(sizes, pack, turned=False) == 0.0
    assert overshoot_ratio(sizes, replace(pack, space=None), turned=True) == 0.0
    low = replace(pack, space=Space(box_mm=(240.0, 400.0, 60.0)))
    assert overshoot_ratio(sizes, low, turned=False) > 0.4
    narrow = replace(pack, space=Space(box_mm=(400.0, sizes.outside_mm[0] + 1, 120.0)))
    up = replace(narrow, leads=replace(pack.leads, side=Side.PLUS_Y))
    assert overshoot_ratio(sizes, narrow, turned=False) == overshoot_ratio(sizes, up, turned=True)
    assert overshoot_ratio(sizes, up, turned=False) == overshoot_ratio(sizes, narrow, turned=True)
