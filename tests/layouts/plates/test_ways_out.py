"""Where metal leaves the held cells: every lead once, and what is built round leaves it free."""

from __future__ import annotations

import pytest
import shapely

from layouts.holders.shape import cell_block_shape
from layouts.pack import Face
from layouts.planning.steps import BlockPlan
from layouts.plates.ways_out import WayOut, ways_out
from layouts.strips.leads import PAST_OUTLINE_MM
from tests.layouts.plates.joined import block_of


def leaving(block: BlockPlan) -> tuple[WayOut, ...]:
    """All ways out of a pack."""
    outline = cell_block_shape(block.cell_block.outline)
    return ways_out(block.pack, block.interconnect, outline)


def test_every_lead_leaves_once() -> None:
    """Both main leads and a balance lead for each joint; what of the metal is not inside counts."""
    block = block_of(4, 3, "honeycomb", "21700")
    found = leaving(block)
    assert sorted(way.purpose for way in found) == [
        "balance lead 1", "balance lead 2", "balance lead 3", "pack minus", "pack plus",
    ]  # fmt: skip
    minus, plus = (
        next(way for way in found if way.purpose == name) for name in ("pack minus", "pack plus")
    )
    assert minus.face is plus.face is Face.LOWER  # an even number of groups
    assert (minus.groups, plus.groups) == ((1,), (4,))
    for plate in block.interconnect.plates:
        way = next(one for one in found if one.groups == plate.groups and one.face is plate.face)
        assert way.space.covers(plate.shape)


def test_a_tail_reaches_past_the_wall_and_down_a_lug_to_both_sides() -> None:
    """4 mm of folded tail with its wire; a bar's end with the lug's screw."""
    for way in leaving(block_of(4, 3, "grid", "21700")):
        if way.purpose.startswith("balance"):
            assert way.reach_mm == pytest.approx(4.0, abs=0.7)  # at the tail's corners
            assert (way.outward_mm, way.inward_mm) == (0.0, 12.0)
        else:
            assert 13.0 <= way.reach_mm < 17.0  # its corner stands beside a rounded one
            assert way.outward_mm > 2.0 and way.inward_mm > 8.0


def test_strips_leave_with_their_lead_on_them() -> None:
    """A string of single cells: two strips, as far as they stand out."""
    found = leaving(block_of(3, 1, "grid", "21700"))
    assert {way.purpose for way in found} == {"pack minus", "pack plus"}
    for way in found:
        assert way.reach_mm == pytest.approx(PAST_OUTLINE_MM, abs=0.5)
        assert way.outward_mm > 1.0


def test_nothing_leaves_unseen() -> None:
    """All metal outside the outline lies in one of the spaces."""
    block = block_of(7, 4, "grid", "18650")
    outline = cell_block_shape(block.cell_block.outline)
    spaces = shapely.union_all([way.space for way in leaving(block)])
    for face in Face:
        for laid in block.interconnect.laid(face):
            assert laid.shape.difference(outline).difference(spaces).area < 1e-6
