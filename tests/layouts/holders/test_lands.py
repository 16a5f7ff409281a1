"""Land that stays at a pocket's edge: beside a groove, and of the lip over a can's edge."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts.cells.tiles import tile_polygons
from layouts.holders.design import holder_checks, holder_tiles, tile_lead_in_mm
from layouts.holders.fastening import fasten
from layouts.parts.tie_screw import lead_in_mm
from layouts.strips.laying import join
from tests.layouts.fields import laid
from tests.samples import sample_pack


@pytest.mark.parametrize("growth_mm", [0.5, 0.9, 1.2, 3.0])
def test_a_lead_in_leaves_one_line_beside_a_groove_and_no_more(growth_mm: float) -> None:
    """0.45 mm of web between a groove of 1.1 mm and the pocket's mouth; else its own width."""
    pack = sample_pack(6, 4)
    field = laid(pack, fold=3, growth_mm=growth_mm)
    a, b = field.seams[0].pairs[0]
    apart = float(((field.xy_mm[a] - field.xy_mm[b]) ** 2).sum() ** 0.5)
    left = (apart - pack.pocket_mm - 1.1) / 2
    found = tile_lead_in_mm(pack, field)
    usual = lead_in_mm(pack)
    assert found == pytest.approx(max(0.0, min(usual, left - 0.45)), abs=1e-6)
    assert (found < usual) is (growth_mm < 2.0)


def test_the_lip_covers_a_can_s_edge_by_whole_lines() -> None:
    """A can of 21.3 in a pocket of 0.3 play, shifted to one side: 1.2 mm stay at 18.6 at most."""
    pack = sample_pack(2, 1)
    pack = replace(pack, holder=replace(pack.holder, clearance_mm=0.3))
    field = laid(pack)
    strips = join(pack, field)
    block = fasten(pack, field, strips)
    tiles = holder_tiles(pack, field, strips, block, tile_polygons(field))
    for window, land, holds in ((18.5, 1.25, True), (18.7, 1.15, False), (16.0, 2.5, True)):
        wide = replace(pack, holder=replace(pack.holder, window_mm=window))
        found = {check.id: check for check in holder_checks(wide, field, tiles)}["lip_land_mm"]
        assert found.value == pytest.approx(land) and found.holds is holds
