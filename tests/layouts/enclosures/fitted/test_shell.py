"""Walls and lip round cells and rooms in their places."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from layouts.enclosures.fitted.errors import OutlineError
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.rooms import PARTITION_MM, Room, RoomKind
from layouts.enclosures.fitted.shell import (
    GAS_OFF_MM,
    HOOD_MM,
    LEAST_RADIUS_MM,
    LID_LIP_MM,
    LIP_DEEP_MM,
    LIP_PLAY_MM,
    ShellPlan,
    levels_of,
    shell_round,
)
from layouts.enclosures.fitted.sides import OUTWARD, axis_along, edge_mm, rect_at
from layouts.holders.fastening import CellBlock
from layouts.holders.outline import rolling_outline
from layouts.pack import Pack, Side
from layouts.parts.shell import Rect, box
from layouts.slabs.profile import Arc, Loop
from tests.layouts.enclosures.fitted.contents import honeycomb, samples
from tests.layouts.enclosures.fitted.plain_shells import LEVELS, plain_shell
from tests.samples import sample_pack

WALL_MM, GAP_MM, DISC_MM = 1.67, 0.8, 11.6
DISCS = honeycomb(4, 5, DISC_MM)
CHARGE = Room(kind=RoomKind.CHARGE, name="charge", rect=Rect(x0=121.0, x1=147.0, y0=5.0, y1=35.0))
TAILS = Room(kind=RoomKind.TAILS, name="tails", rect=Rect(x0=10.0, x1=70.0, y0=66.0, y1=76.0))
WIDE = shapely.box(-100.0, -100.0, 300.0, 200.0)


def pack_of() -> Pack:
    """An invented pack with these walls."""
    pack = sample_pack(5, 4)
    case = replace(pack.enclosure, wall_mm=WALL_MM, lid_mm=2.0, side_gap_mm=GAP_MM)
    return replace(pack, enclosure=case)


def held_cells() -> CellBlock:
    """A honeycomb of four rows of five, without posts."""
    none = np.empty((0, 2))
    outline = rolling_outline([(x, y, r) for x, y, r in DISCS.tolist()])
    return CellBlock(
        outline=outline, posts=(), boss_seats=(), saddles=none, saddles_lower=none,
        saddles_upper=none, box_mm=(0.0, 0.0, 0.0, 0.0),
    )  # fmt: skip


HELD = shapely.union_all([shapely.Point(x, y).buffer(r) for x, y, r in DISCS])


@cache
def walled(gas_side: Side | None = None) -> ShellPlan:
    """Walls round all cells and both rooms, with room for all."""
    return shell_round(
        pack_of(), held_cells(), (TAILS, CHARGE), WIDE, lanes=[], held=HELD, gas_side=gas_side
    )


def in_free(free: shapely.Polygon) -> ShellPlan:
    """The same in another free area."""
    return shell_round(pack_of(), held_cells(), (TAILS, CHARGE), free, lanes=[], held=HELD)


def crest(side: Side) -> float:
    """How far the cells reach towards a side, with the gap round them."""
    out = DISCS[:, :2] @ np.array(OUTWARD[side]) + DISC_MM + GAP_MM
    return float(out.max())


def lip_edge(shell: ShellPlan, side: Side, low: float, high: float) -> float:
    """How far the lip's inner face reaches towards a side between two places along it."""
    strip = box(rect_at(side, -500.0, 500.0, low, high))
    return edge_mm(loop_polygon(shell.lip_inner, 1e-4).intersection(strip).bounds, side)


def loops_of(shell: ShellPlan) -> dict[str, Loop]:
    """All its outlines."""
    return {
        "inner": shell.inner.loop, "outer": shell.outer, "cells": shell.cells,
        "partition": shell.partition, "lip inner": shell.lip_inner, "lip outer": shell.lip_outer,
    }  # fmt: skip


SIDES = (None, Side.MINUS_X)


@pytest.mark.parametrize("gas_side", SIDES)
def test_walls_and_lip_are_nowhere_thinner_than_asked(gas_side: Side | None) -> None:
    """Sampled along both faces of wall, partition and lip."""
    loops = loops_of(walled(gas_side))
    for one, other, thick in (
        ("inner", "outer", WALL_MM), ("cells", "partition", PARTITION_MM),
        ("lip inner", "lip outer", LID_LIP_MM),
    ):  # fmt: skip
        for here, there in ((one, other), (other, one)):
            points = shapely.points(samples(loops[here], 5))
            ring = loop_polygon(loops[there], 1e-4).exterior
            gaps = shapely.distance(points, ring)
            assert gaps.min() > thick - 1e-3 and gaps.max() < thick + 1e-3


@pytest.mark.parametrize("gas_side", SIDES)
def test_no_arc_is_smaller_than_the_least_radius(gas_side: Side | None) -> None:
    """In any outline, corners and hollows."""
    for name, loop in loops_of(walled(gas_side)).items():
        radii = [segment.radius_mm for segment in loop if isinstance(segment, Arc)]
        assert radii and min(radii) >= LEAST_RADIUS_MM, name


def test_inside_holds_cells_with_their_gap_and_rooms() -> None:
    """The cells' own space too, without the dry room; that lies outside the partition."""
    shell = walled()
    inner, cells = loop_polygon(shell.inner.loop), loop_polygon(shell.cells)
    grown = HELD.buffer(GAP_MM - 0.02)
    corners = shapely.union_all([CHARGE.plan.buffer(-3).buffer(2.98), TAILS.plan.buffer(-3)])
    assert inner.contains(grown) and inner.contains(corners)
    assert cells.contains(grown) and inner.buffer(0.02).contains(cells)
    assert not loop_polygon(shell.partition).intersects(CHARGE.plan)


def test_a_landing_lies_inside_but_not_in_the_cells_own_space() -> None:
    """The partition passes it: there it is left out. A channel is part of that space."""
    landing = Room(
        kind=RoomKind.LANDING, name="pack plus", rect=Rect(x0=-32.0, x1=0.0, y0=12.0, y1=24.0)
    )
    shell = shell_round(
        pack_of(), held_cells(), (TAILS, CHARGE, landing), WIDE, lanes=[], held=HELD
    )
    end = shapely.Point(-28.0, 18.0)
    assert loop_polygon(shell.inner.loop).contains(end)
    assert not loop_polygon(shell.partition).contains(end)
    assert loop_polygon(shell.cells).contains(shapely.Point(40.0, 75.0))


@pytest.mark.parametrize("gas_side", SIDES)
def test_lip_covers_the_wall_everywhere(gas_side: Side | None) -> None:
    """Its inner face stands off the wall by its play or more."""
    shell = walled(gas_side)
    tub = loop_polygon(shell.outer).buffer(LIP_PLAY_MM - 0.02)
    assert loop_polygon(shell.lip_inner).contains(tub)
    assert shell.stands_off is gas_side
    assert shell.lid_plan.contains(loop_polygon(shell.lip_outer))


def test_lip_runs_straight_past_hollows() -> None:
    """On -y, whose crests all stand in line, the lip stays off them by the same all along."""
    shell = walled()
    line = crest(Side.MINUS_Y) + WALL_MM + LIP_PLAY_MM + HOOD_MM
    for low in np.arange(5.0, 85.0, 6.0).tolist():
        assert lip_edge(shell, Side.MINUS_Y, low, low + 1.0) == pytest.approx(line, abs=1e-3)
    strip = shapely.box(3.0, -line, 89.0, 0.0)  # between the corners of its ends
    assert loop_polygon(shell.outer).buffer(LIP_PLAY_MM).intersection(strip).area < strip.area - 50
    assert loop_polygon(shell.lip_inner).buffer(1e-3).contains(strip)


@pytest.mark.parametrize("side", [Side.MINUS_Y, Side.MINUS_X])
def test_lip_stands_off_where_gas_leaves(side: Side) -> None:
    """By as much all along the side, as by its play and no more on the others."""
    line = crest(side) + WALL_MM + LIP_PLAY_MM
    low, high = (5.0, 85.0) if axis_along(side) == 0 else (5.0, 55.0)
    for at in np.arange(low, high, 10.0).tolist():
        off = lip_edge(walled(side), side, at, at + 1.0) - line
        assert off == pytest.approx(GAS_OFF_MM, abs=1e-3)
        assert lip_edge(walled(), side, at, at + 1.0) - line <= HOOD_MM + 1e-3


def test_lip_follows_hollows_where_a_straight_one_finds_no_room() -> None:
    """In a space that ends where the lip round the crests does, it goes back into the hollows."""
    line = crest(Side.MINUS_Y) + WALL_MM + LIP_PLAY_MM
    bottom = -(line + LID_LIP_MM + 0.05)
    free = shapely.box(-100.0, bottom, 300.0, 200.0)
    shell = in_free(free)
    assert lip_edge(shell, Side.MINUS_Y, -1.0, 93.0) == pytest.approx(line, abs=1e-3)
    between = (DISCS[0, 0] + DISCS[1, 0]) / 2
    assert lip_edge(shell, Side.MINUS_Y, between - 0.5, between + 0.5) < line - 1.0
    assert free.contains(loop_polygon(shell.lip_outer))


def test_walls_that_leave_the_space_are_refused() -> None:
    """A little less room than the lid needs; or none outside it for any screw."""
    line = crest(Side.MINUS_Y) + WALL_MM + LIP_PLAY_MM
    with pytest.raises(OutlineError, match="leaves the space"):
        in_free(shapely.box(-100.0, -(line + LID_LIP_MM - 0.05), 300.0, 200.0))
    with pytest.raises(OutlineError, match="leaves the space"):  # gas needs its gap
        shell_round(
            pack_of(), held_cells(), (TAILS, CHARGE), lanes=[], held=HELD, gas_side=Side.MINUS_Y,
            free=shapely.box(-100.0, -(line + LID_LIP_MM + HOOD_MM + 0.1), 300.0, 200.0),
        )  # fmt: skip
    tight = loop_polygon(walled().lip_outer).buffer(0.05)
    keep = shapely.box(-60.0, -60.0, 200.0, 120.0)
    with pytest.raises(OutlineError, match="screws find no places"):
        shell_round(
            pack_of(), held_cells(), (TAILS, CHARGE), tight, lanes=[keep], held=HELD,
        )  # fmt: skip


def test_levels_by_hand() -> None:
    """Gas gap and lip at both ends of the cells, then floor and lid."""
    pack = pack_of()
    levels, case = levels_of(pack), pack.enclosure
    gap = pack.holder.lip_mm + case.gas_gap_mm
    assert levels.floor_mm == pytest.approx(-gap)
    assert levels.under_mm == pytest.approx(-gap - case.floor_mm)
    assert levels.rim_mm == pytest.approx(pack.lip_to_lip_mm + gap)
    assert levels.lid_mm - levels.rim_mm == pytest.approx(case.lid_mm)
    assert levels.inside_mm == pytest.approx(pack.lip_to_lip_mm + 2 * gap)


def test_plastic_of_a_plain_shell_by_hand() -> None:
    """An inside of 100 x 50: walls of 2, lip of 1.5 at 0.5 off them, floor of 3, lid of 2.5."""
    shell = plain_shell(shapely.box(0.0, 0.0, 100.0, 50.0))
    assert (LEVELS.inside_mm, LIP_DEEP_MM) == (75.0, 9.0)
    floor, lid = 104 * 54 * 3.0, 108 * 58 * 2.5
    walls, lip = (104 * 54 - 100 * 50) * 75.0, (108 * 58 - 105 * 55) * 9.0
    assert shell.plastic_mm3 == pytest.approx(floor + lid + walls + lip)


def test_plastic_of_a_real_shell_by_its_chords() -> None:
    """The same sums over polygons."""
    shell = walled()
    area = {name: loop_polygon(loop, 1e-4).area for name, loop in loops_of(shell).items()}
    levels = shell.levels
    expected = (
        area["outer"] * (levels.floor_mm - levels.under_mm)
        + area["lip outer"] * (levels.lid_mm - levels.rim_mm)
        + (area["outer"] - area["inner"]) * levels.inside_mm
        + (area["lip outer"] - area["lip inner"]) * LIP_DEEP_MM
    )
    assert shell.plastic_mm3 == pytest.approx(expected, rel=1e-4)


def test_screws_stand_off_cells_lanes_and_channels() -> None:
    """In the shell too: a lane that covers a screw moves it."""
    shell = walled()
    keep = shapely.union_all([HELD, TAILS.plan])
    for screw in shell.screws:
        assert keep.distance(shapely.Point(screw.at_mm)) >= screw.radius_mm - 0.06
    lane = shapely.Point(shell.screws[0].at_mm).buffer(1.0)
    moved = shell_round(pack_of(), held_cells(), (TAILS, CHARGE), WIDE, lanes=[lane], held=HELD)
    assert shell.screws[0].at_mm not in [screw.at_mm for screw in moved.screws]
    for screw in moved.screws:
        assert lane.distance(shapely.Point(screw.at_mm)) >= screw.radius_mm - 0.06
