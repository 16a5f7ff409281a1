"""Each check of the fitted enclosure fails where what it looks at is wrong, and holds otherwise."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from layouts.enclosures.fitted.checks import fitted_checks
from layouts.enclosures.fitted.lid_screws import PITCH_MM
from layouts.enclosures.fitted.loops import parallel
from layouts.enclosures.fitted.rooms import RoomKind
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.play import FIT_MM, HOLD_MM
from layouts.enclosures.support_pads import SupportPad
from layouts.parts.shell import Rect
from tests.layouts.enclosures.fitted.planned import designed, judged, pack_of, planned, sizes_of

NAME = "3S2P"
FAR_MM = 5.0  # what a play is told as where nothing stops the cells


def rect_of(sizes: FittedSizes, kind: RoomKind) -> Rect:
    """The plan of the only room of a kind."""
    (room,) = (room for room in sizes.shell.rooms if room.kind is kind)
    return room.rect


def without_three_screws(sizes: FittedSizes) -> FittedSizes:
    """The lid's first three screws are missing."""
    return replace(sizes, shell=replace(sizes.shell, screws=sizes.shell.screws[3:]))


def with_two_screws(sizes: FittedSizes) -> FittedSizes:
    """A lid that swings."""
    return replace(sizes, shell=replace(sizes.shell, screws=sizes.shell.screws[:2]))


def with_a_stop_under_the_cells(sizes: FittedSizes) -> FittedSizes:
    """A rib of 3 x 3 mm right under the first cell."""
    x, y = planned(NAME).cell_layout.xy_mm[0].tolist()
    rib = Rect(x0=x - 1.5, x1=x + 1.5, y0=y - 1.5, y1=y + 1.5)
    return replace(sizes, stops=(*sizes.stops, rib))


def with_the_board_at_the_cells(sizes: FittedSizes) -> FittedSizes:
    """The board's plan over a cell."""
    x, y = planned(NAME).cell_layout.xy_mm[0].tolist()
    board = Rect(x0=x, x1=x + 5.0, y0=y, y1=y + 5.0)
    return replace(sizes, board=replace(sizes.board, board=board))


def with_walls_far_off(sizes: FittedSizes) -> FittedSizes:
    """Walls and partition 2.5 mm outwards."""
    shell = sizes.shell
    inner = replace(shell.inner, loop=parallel(shell.inner.loop, 2.5, 0.1))
    far = replace(
        shell, inner=inner, outer=parallel(shell.outer, 2.5, 0.1),
        cells=parallel(shell.cells, 2.5, 0.1), partition=parallel(shell.partition, 2.5, 0.1),
    )  # fmt: skip
    return replace(sizes, shell=far)


def with_pads_on_a_can(sizes: FittedSizes) -> FittedSizes:
    """A pad on the floor lies on a can's edge."""
    x, y = planned(NAME).cell_layout.xy_mm[0].tolist()
    on_can = SupportPad(x_mm=x, y_mm=y, radius_mm=2.0, hole_radius_mm=0.0)
    return replace(sizes, support_pads_floor=(*sizes.support_pads_floor, on_can))


def with_two_pads(sizes: FittedSizes) -> FittedSizes:
    """The lid presses on two places alone."""
    return replace(sizes, support_pads_lid=sizes.support_pads_lid[:2])


def with_a_dry_room_at_the_cells(sizes: FittedSizes) -> FittedSizes:
    """The fuse's room reaches past the partition to the cells' middle."""
    rect = rect_of(sizes, RoomKind.FUSE)
    wide = Rect(
        x0=min(rect.x0, 0.0), y0=min(rect.y0, 0.0), x1=max(rect.x1, 0.0), y1=max(rect.y1, 0.0)
    )
    rooms = tuple(
        replace(room, rect=wide) if room.kind is RoomKind.FUSE else room
        for room in sizes.shell.rooms
    )
    return replace(sizes, shell=replace(sizes.shell, rooms=rooms))


def without_a_partition(sizes: FittedSizes) -> FittedSizes:
    """What fills with gas has no wall of its own."""
    return replace(sizes, shell=replace(sizes.shell, partition=sizes.shell.cells))


def with_a_sharp_lip(sizes: FittedSizes) -> FittedSizes:
    """The lip's outside 4.2 mm out of its inside: hollows of 0.2 mm."""
    return replace(
        sizes, shell=replace(sizes.shell, lip_outer=parallel(sizes.shell.lip_inner, 4.2, 0.1))
    )


def with_gas_at_the_glands(sizes: FittedSizes) -> FittedSizes:
    """Gas is blown on the main leads."""
    return replace(sizes, gas_side=sizes.holes[0].side)


def without_a_gas_side(sizes: FittedSizes) -> FittedSizes:
    """No side is told where gas leaves."""
    return replace(sizes, gas_side=None)


def with_a_thin_floor_and_lid(sizes: FittedSizes) -> FittedSizes:
    """Three layers of 0.2."""
    levels = sizes.shell.levels
    thin = replace(levels, under_mm=levels.floor_mm - 0.6, lid_mm=levels.rim_mm + 0.6)
    return replace(sizes, shell=replace(sizes.shell, levels=thin))


BENDING = ("floor_bending", "floor_sag", "lid_bending", "lid_sag")
# change -> the check that fails then
WRONG: list[tuple[Callable[[FittedSizes], FittedSizes], str]] = [
    (without_three_screws, "lid_screw_spacing"),
    (with_two_screws, "lid_screw_spacing"),
    (with_a_stop_under_the_cells, "enclosure_room"),
    (with_the_board_at_the_cells, "enclosure_room"),
    (with_walls_far_off, "core_held"),
    (with_pads_on_a_can, "pads_clear"),
    (with_two_pads, "pads_clear"),
    (with_a_dry_room_at_the_cells, "partition_closed"),
    (without_a_partition, "partition_closed"),
    (with_a_sharp_lip, "enclosure_radius"),
    (with_gas_at_the_glands, "gas_away"),
    (without_a_gas_side, "gas_away"),
    *((with_a_thin_floor_and_lid, fails) for fails in BENDING),
]


def test_all_hold_as_designed() -> None:
    """Eleven, and each of them can fail below."""
    checks = judged(NAME, sizes_of(NAME))
    assert [check.id for check in checks.values() if not check.holds] == []
    assert set(checks) == {fails for _, fails in WRONG}


@pytest.mark.parametrize(
    ("change", "fails"), WRONG, ids=[f"{one.__name__} {fails}" for one, fails in WRONG]
)
def test_a_check_fails_where_it_must(
    change: Callable[[FittedSizes], FittedSizes], fails: str
) -> None:
    """It does, its value is on the wrong side of its limit or it tells the place."""
    check = judged(NAME, change(sizes_of(NAME)))[fails]
    assert not check.holds
    assert check.value is not None and check.limit is not None
    beyond = check.value < check.limit if check.at_least else check.value > check.limit
    assert beyond or check.where == "no side for gas"


def test_values_by_hand() -> None:
    """The pitch round the gap that missing screws leave, a rib's overlap, the play of cells that
    nothing holds, the lip's hollow, the names of outlets and rooms."""
    sizes = sizes_of(NAME)
    (ax, ay), (bx, by) = sizes.shell.screws[-1].at_mm, sizes.shell.screws[3].at_mm
    spacing = judged(NAME, without_three_screws(sizes))["lid_screw_spacing"]
    gap = ((ax - bx) ** 2 + (ay - by) ** 2) ** 0.5
    assert gap > PITCH_MM
    assert spacing.value == pytest.approx(gap) and spacing.limit == PITCH_MM
    room = judged(NAME, with_a_stop_under_the_cells(sizes))["enclosure_room"]
    assert room.value == pytest.approx(-3.0)
    assert room.limit == pytest.approx(FIT_MM, abs=0.05)
    held = judged(NAME, with_walls_far_off(sizes))["core_held"]
    assert HOLD_MM < held.value <= FAR_MM
    radius = judged(NAME, with_a_sharp_lip(sizes))["enclosure_radius"]
    assert radius.value == pytest.approx(0.2)
    assert radius.limit == planned(NAME).pack.printer.nozzle_mm
    outlets = judged(NAME, with_gas_at_the_glands(sizes))["gas_away"]
    assert outlets.value >= 2.0
    assert {"pack plus", "pack minus"} <= set(outlets.where.split(", "))
    leaking = judged(NAME, with_a_dry_room_at_the_cells(sizes))["partition_closed"]
    assert leaking.value == 1.0 and leaking.where == "main fuse and cable glands"


@pytest.mark.slow
def test_a_wide_nozzle_fails_from_the_pack_file() -> None:
    """A nozzle of 1.2 draws no corner of 1.0, which the fuse's room has; any set of rooms shows
    it."""
    pack = pack_of(
        NAME,
        "printer: {nozzle_mm: 1.2, layer_mm: 0.4}\nholder: {wall_mm: 2.4, web_mm: 2.4}\n",
        enclosure="wall_mm: 3.3",
    )
    plan, sizes = planned(NAME), designed(NAME, pack)
    checks = fitted_checks(pack, plan.cell_layout, plan.interconnect, plan.cell_block, sizes)
    radius = next(check for check in checks if check.id == "enclosure_radius")
    assert not radius.holds
    assert radius.value == pytest.approx(1.0) and radius.limit == 1.2
