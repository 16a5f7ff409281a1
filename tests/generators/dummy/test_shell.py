"""Thin shells: wall, floor and roof as thick as required, ledges held, covers closed."""

from __future__ import annotations

import pytest
import shapely

from generators.dummy.sections import PlanLayer, plan_at, prism, united
from generators.dummy.shell import PrintLines, base_shell, bracket_shell, cap_shell

LINES = PrintLines(wall_mm=0.4, layer_mm=0.3)
BOX = shapely.box(0, 0, 60, 40)


def test_a_plain_tray_has_its_walls_and_floor_and_nothing_else() -> None:
    """The volume of an open tray is the closed formula's."""
    slabs = [PlanLayer(z0_mm=0.0, z1_mm=20.0, plan=BOX)]
    tray = prism(BOX, 0.0, 20.0) - base_shell(slabs, LINES)
    expected = 60 * 40 * 20 - (60 - 0.8) * (40 - 0.8) * (20 - 0.3)
    # parts of a hollow reach 0.001 mm into what lies beside them
    assert tray.volume() == pytest.approx(expected, abs=1.1e-3 * 60 * 40)
    assert plan_at(tray, 20.0 - 1e-6).area == pytest.approx(60 * 40 - 59.2 * 39.2, rel=1e-6)


def test_a_deep_ledge_gets_a_wall_under_its_inner_edge() -> None:
    """Where 10 mm of roof stand out below, the wall above goes on down to the floor."""
    wide = shapely.union_all([BOX, shapely.box(60, 5, 70, 35)])
    slabs = [
        PlanLayer(z0_mm=0.0, z1_mm=10.0, plan=wide),
        PlanLayer(z0_mm=10.0, z1_mm=20.0, plan=BOX),
    ]
    whole = united([prism(wide, 0.0, 10.0), prism(BOX, 10.0, 20.0)])
    shell = whole - base_shell(slabs, LINES)
    below = plan_at(shell, 5.0)
    assert below.contains(shapely.box(59.65, 6, 59.95, 34))  # the wall that goes on
    assert plan_at(shell, 9.7).contains(shapely.box(60, 5.1, 69.9, 34.9))  # the ledge itself
    assert not below.intersects(shapely.box(61, 10, 69, 30))  # hollow under it


def test_a_shallow_ledge_grows_out_of_the_wall_by_45_degrees() -> None:
    """Under a notch 3 mm deep each layer stands out no farther than it is high."""
    notched = BOX.difference(shapely.box(57, 10, 61, 22))
    slabs = [
        PlanLayer(z0_mm=0.0, z1_mm=15.0, plan=BOX),
        PlanLayer(z0_mm=15.0, z1_mm=20.0, plan=notched),
    ]
    whole = united([prism(BOX, 0.0, 15.0), prism(notched, 15.0, 20.0)])
    shell = whole - base_shell(slabs, LINES)
    heights = [15.0 - 0.6 - 0.3 - 0.6 * k for k in range(8)]
    plans = [plan_at(shell, z) for z in heights]
    for upper, lower in zip(plans, plans[1:], strict=False):
        assert upper.difference(lower.buffer(0.61, join_style="mitre")).area < 1e-3
    assert plans[-1].area == pytest.approx(plan_at(shell, 2.0).area)
    assert plans[0].area > plans[-1].area + 10


def test_the_cap_is_closed_wherever_the_base_does_not_lie_under_it() -> None:
    """The underside of an overhang and of a notch has a roof that lies on the base's wall."""
    plate = shapely.box(-5, 0, 60, 40)
    rim = BOX.difference(shapely.box(57, 10, 61, 22))
    slab = PlanLayer(z0_mm=20.0, z1_mm=23.0, plan=plate)
    cap = cap_shell(prism(plate, 20.0, 23.0), [slab], rim, 20.0, LINES)
    under = plan_at(cap, 20.1)
    assert under.contains(plate.difference(rim).buffer(0.3).intersection(plate.buffer(-0.01)))
    assert plan_at(cap, 22.9).area == pytest.approx(plate.area)
    assert not under.intersects(shapely.box(10, 10, 40, 30))
    wall = rim.difference(rim.buffer(-0.4, join_style="mitre"))
    assert not plan_at(cap, 18.0).intersects(wall)  # the collar hangs free inside the base
    assert plan_at(cap, 18.0).within(rim)


def test_material_stays_round_a_brackets_holes() -> None:
    """A hole through a hollow plate has a wall of its own."""
    plate = prism(BOX, 0.0, 6.0)
    hole = prism(shapely.Point(30, 20).buffer(2.5), -1.0, 7.0)
    around = prism(shapely.Point(30, 20).buffer(2.9), -1.0, 7.0)
    shell = bracket_shell(plate - hole, [PlanLayer(z0_mm=0.0, z1_mm=6.0, plan=BOX)], around, LINES)
    ring = plan_at(shell, 3.0).intersection(shapely.Point(30, 20).buffer(4.0))
    assert ring.area == pytest.approx(3.1416 * (2.9**2 - 2.5**2), rel=0.02)
    assert shell.volume() < 0.35 * plate.volume()
