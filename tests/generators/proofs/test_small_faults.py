"""Small faults, each just beyond what a proof allows, and what is just within it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import manifold3d
import numpy as np
import pytest
import shapely

from generators.proofs.fittings import board_proofs
from generators.proofs.laid_strips import strip_proofs
from generators.proofs.lip_pieces import _plate_opening, lip_proof
from generators.proofs.mesh_facts import mesh_facts
from generators.proofs.together import PlacedMesh
from layouts.checks import Check
from layouts.holders.shape import cell_block_shape
from layouts.pack import Face
from layouts.strips.lip import seat_checks
from layouts.strips.plate import BusPlate
from tests.generators.proofs.made_pack import altered, planned, sound_parts, tube
from tests.generators.proofs.test_meshes import box

UP = (0.0, 0.0, 1.0)


def strips(parts: tuple[PlacedMesh, ...]) -> dict[str, Check]:
    """The proofs of the strips, by their ids."""
    plan = planned()
    block = cell_block_shape(plan.cell_block.outline)
    found = strip_proofs(parts, plan.pack, plan.cell_layout, plan.interconnect, block)
    return {check.id: check for check in found}


def lip(parts: Iterable[PlacedMesh]) -> Check:
    """The proof of the lip."""
    plan = planned()
    return lip_proof(tuple(parts), plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block)


@pytest.mark.parametrize("towards", ["-x", "+x", "-y", "+y", "down"])
def test_a_board_is_held_towards_each_side(towards: str) -> None:
    """All that is printed beyond one side of the board taken away: it is free to that side."""
    plan = planned()
    board = plan.enclosure.board
    assert board is not None
    long, high, thick = plan.pack.bms.board_mm
    half = np.array([thick, long, high]) / 2
    axis = {"x": 0, "y": 1}.get(towards[-1], 2)
    sign = 1.0 if towards[0] == "+" else -1.0
    size, middle = 2 * half + 12.0, np.array(board.centre_mm)
    size[axis] = 6.0
    middle[axis] += sign * (half[axis] + 3.0 - 0.1)
    gap = manifold3d.Manifold.cube(size.tolist(), True).translate(middle.tolist())
    found = board_proofs(
        altered("tub", less=gap), plan.pack, plan.cell_layout, plan.interconnect, board
    )
    held = next(one for one in found if one.id == "board_held")
    assert not held.holds and held.where == f"free towards {towards}"


@pytest.mark.parametrize(("from_side_mm", "holds"), [(0.05, False), (-0.02, True)])
def test_a_strip_needs_all_of_its_play(from_side_mm: float, holds: bool) -> None:
    """A bump in a channel's side is met by a strip moved over to it; one in the wall is not."""
    plan = planned()
    strip = next(s for s in plan.interconnect.strips if s.face is Face.LOWER and s.links)
    start, end = np.array(strip.start_mm), np.array(strip.end_mm)
    along = (end - start) / np.hypot(*(end - start))
    across = np.array([-along[1], along[0]])
    side = strip.width_mm / 2 + plan.pack.holder.channel_play_mm / 2
    x, y = plan.cell_layout.xy_mm[list(strip.links[0])].mean(axis=0)
    at = np.array([x, y]) + (side - from_side_mm + 2.0) * across
    bump = tube((*at.tolist(), -plan.pack.holder.lip_mm), UP, 0, 2.0, 1.0)
    check = strips(altered("holder_lower", more=bump))["strips_in_channels"]
    assert check.holds is holds


def test_webs_lie_as_deep_as_the_plan_says() -> None:
    """Measured depths of the webs' floors and those that the plan's own checks tell agree."""
    plan = planned()
    told = {
        check.id: check for check in seat_checks(plan.pack, plan.cell_layout, plan.interconnect)
    }
    found = strips(sound_parts())
    hollow, proud = found["strips_not_hollow"], found["strips_on_cans"]
    assert told["strip_seat_mm"].value is not None and hollow.value is not None
    recess = plan.pack.holder.web_recess_mm
    sunk = plan.pack.holder.seat_mm - plan.pack.holder.ring_mm
    assert sunk > 0.05
    assert hollow.value == pytest.approx(recess + sunk, abs=1e-3)
    assert proud.value is not None and proud.limit is not None
    assert told["strip_proud_mm"].value == pytest.approx(proud.value - proud.limit, abs=1e-3)


def test_a_window_half_a_millimetre_wide_is_no_lip_as_planned() -> None:
    """One window in one holder, 0.5 mm wider all round; 0.02 mm all round is a chord's error."""
    plan = planned()
    x, y = plan.cell_layout.xy_mm[0].tolist()
    radius = plan.pack.holder.window_mm / 2
    for wider, holds in ((0.02, True), (0.5, False)):
        hole = tube((x, y, -plan.pack.holder.lip_mm - 1.0), UP, 0, radius + wider, 4.0)
        assert lip(altered("holder_lower", less=hole)).holds is holds


def test_a_notch_without_a_lead_is_no_lip_as_planned() -> None:
    """A lead's notch is wanted in its own face only, whatever leaves through the other one."""
    plan = planned()
    lower = next(
        one for one in plan.interconnect.balance_leads if one.notch and one.face is Face.LOWER
    )
    others = tuple(one for one in plan.interconnect.balance_leads if one is not lower)
    assert any(one.notch and one.cell == lower.cell for one in others)
    without = replace(plan.interconnect, balance_leads=others)
    assert lip(sound_parts()).holds
    check = lip_proof(sound_parts(), plan.pack, plan.cell_layout, without, plan.cell_block)
    assert not check.holds and check.where.startswith("lower face")


def test_lip_stands_in_a_plates_holes_whatever_their_shape() -> None:
    """What is open: the sheet grown by the play, a hole of any shape less the play inside it."""
    sheet = shapely.box(0.0, 0.0, 40.0, 30.0)
    ell = shapely.union(shapely.box(5.0, 5.0, 15.0, 25.0), shapely.box(5.0, 5.0, 25.0, 12.0))
    plate = BusPlate(
        name="lower-1", face=Face.LOWER, groups=(1,), cells=(0,), body=sheet.difference(ell),
        tail=None, folded=None, tail_end_mm=None, holes=(), slots=0,
    )  # fmt: skip
    for play in (0.0, 0.5):
        peg = ell.buffer(-play, join_style="mitre")
        assert _plate_opening(plate, play).area() == pytest.approx(
            (40.0 + 2.0 * play) * (30.0 + 2.0 * play) - peg.area, abs=1e-6
        )


def test_the_box_of_a_mesh_is_the_box() -> None:
    """Each side in its own place."""
    vertices, faces = box(30.0, 20.0, 10.0)
    (low, high) = mesh_facts("part", vertices + (100.0, 0.0, 0.5), faces).box_mm
    assert low == pytest.approx((85.0, -10.0, 0.5)) and high == pytest.approx((115.0, 10.0, 10.5))
