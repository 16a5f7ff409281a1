"""The vent path: exact windows, a flow that finds the narrowest place, and checks that fail."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from generators.packfile.resolve import parse_pack
from layouts.enclosures.box.form import BoxEnclosure
from layouts.enclosures.box.gas import opening
from layouts.enclosures.gas_way import (
    GasWay,
    free_windows_mm2,
    gas_way,
    gas_way_checks,
    vent_area_mm2,
)
from layouts.pack import Face
from layouts.planning.pack_plan import plan_checks, plan_pack
from layouts.strips.joining import Interconnect
from tests.layouts.enclosed import PACKS, enclosed


def failing(way: GasWay) -> dict[str, str]:
    """The remedy of each check of a vent path that does not hold, by its id."""
    return {check.id: check.remedy for check in gas_way_checks(way) if not check.holds}


@pytest.mark.parametrize("name", PACKS)
def test_one_cells_gas_gets_out_of_every_plain_pack(name: str) -> None:
    """Window and way suffice in every invented pack; the window is the least over positive ends."""
    e = enclosed(name)
    way = gas_way(e.pack, e.cell_layout, e.interconnect, e.enclosure)
    assert failing(way) == {}
    assert bool(e.cell_layout.positive_up[way.worst_cell]) == (way.face is Face.UPPER)
    least = min(
        float(free_windows_mm2(e.pack, e.cell_layout, e.interconnect, face)[up].min())
        for face, up in (
            (Face.UPPER, e.cell_layout.positive_up), (Face.LOWER, ~e.cell_layout.positive_up),
        )
        if up.any()
    )  # fmt: skip
    assert way.window_mm2 == least


def test_the_opening_follows_from_gas_time_and_pressure() -> None:
    """4.8 Ah: 4.8 l/s at 100 m/s and 0.6 need 80 mm2; seven times the pressure, 1/sqrt(7) of it."""
    assert vent_area_mm2(4.8, pressure_pa=3_000.0) == pytest.approx(80.0, rel=1e-12)
    assert vent_area_mm2(4.8, pressure_pa=21_000.0) == pytest.approx(80.0 / math.sqrt(7.0))


def test_a_window_under_wide_strips_fails() -> None:
    """From the pack file: strips that cover the window leave less than one cell's gas needs."""
    text = (
        "name: covered\ncell: {format: '21700', capacity_ah: 5}\nseries: 4\nparallel: 3\n"
        "holder: {window_mm: 11}\nstrip: {row_width_mm: 8, link_width_mm: 8}\n"
    )
    plan = plan_pack(parse_pack(text.encode(), "p.yaml").pack)
    checks = {check.id: check for check in plan_checks(plan, mass_kg=1.0)}
    window = checks["gas_window"]
    assert not window.holds and checks["gas_way"].holds
    assert window.value < window.limit == vent_area_mm2(5.0, pressure_pa=21_000.0)
    assert "link_width_mm" in window.remedy


@pytest.mark.parametrize("face", [Face.LOWER, Face.UPPER])
def test_free_windows_match_fine_polygons(face: Face) -> None:
    """Exact areas against polygons of 2,048 corners (their error is below 0.001 mm2 x 10)."""
    e = enclosed("10S4P")
    free = free_windows_mm2(e.pack, e.cell_layout, e.interconnect, face)
    strips = shapely.union_all(
        [shapely.Polygon(s.outline_mm) for s in e.interconnect.strips if s.face is face]
    )
    radius = e.pack.holder.window_mm / 2
    discs = shapely.buffer(shapely.points(e.cell_layout.xy_mm), radius, quad_segs=512)
    assert free == pytest.approx(shapely.area(shapely.difference(discs, strips)), abs=0.01)


def test_bare_windows_are_whole_discs() -> None:
    """Without strips every window is free."""
    e = enclosed("5S1P")
    none = Interconnect(
        strips=(), minus_face=Face.LOWER, plus_face=Face.UPPER, stack_mm=np.zeros((2, 5))
    )
    free = free_windows_mm2(e.pack, e.cell_layout, none, Face.UPPER)
    assert free == pytest.approx(np.full(5, math.pi * e.pack.holder.window_mm**2 / 4))


def test_blocked_slots_fail() -> None:
    """Without slots no gas gets out, and the check says where it is stuck."""
    e = enclosed("10S4P")
    way = gas_way(
        e.pack, e.cell_layout, e.interconnect, BoxEnclosure(sizes=replace(e.design, slots=()))
    )
    assert way.smallest_mm2 == 0.0 and "slots" in way.bottleneck
    assert "longer tub" in failing(way)["gas_way"]


def test_missing_skirt_gap_fails() -> None:
    """Slots behind a drip skirt with no gap lead nowhere."""
    e = enclosed("4S6P")
    way = gas_way(
        e.pack,
        e.cell_layout,
        e.interconnect,
        BoxEnclosure(sizes=replace(e.design, skirt_gap_mm=0.0)),
    )
    assert set(failing(way)) == {"gas_way"}
    assert way.bottleneck == "gap behind the drip skirt"


def test_gap_filled_by_its_sheet_fails() -> None:
    """A gap of 0.5 mm is taken up by the insulating sheet."""
    e = enclosed("10S4P")
    low = replace(e.design, z_floor_mm=-e.pack.holder.lip_mm - 0.5)
    way = gas_way(e.pack, e.cell_layout, e.interconnect, BoxEnclosure(sizes=low))
    assert way.face is Face.LOWER and way.smallest_mm2 == 0.0
    assert "gas_gap_mm" in failing(way)["gas_way"]


def test_narrow_gap_throttles_by_its_cut() -> None:
    """One cell over a gap of 0.1: what its way-out edges times 0.1 let through."""
    e = enclosed("1S1P")
    rim = e.pack.lip_to_lip_mm + e.pack.holder.lip_mm + 0.6
    low = replace(e.design, z_rim_mm=rim, bosses=(), support_pads_lid=())
    way = gas_way(e.pack, e.cell_layout, e.interconnect, BoxEnclosure(sizes=low))
    # three of six edges face the compartment, three to the -x wall's slots
    edge = e.pack.pitch_mm / math.sqrt(3)
    left = min(3 * edge * 0.1, sum(s.y1_mm - s.y0_mm for s in low.slots if s.side < 0) * 0.1)
    assert way.smallest_mm2 == pytest.approx(3 * edge * 0.1 + left, abs=0.05)
    assert set(failing(way)) == {"gas_way"}


def test_slots_and_skirts_as_sums() -> None:
    """Sections of slots and drip skirts are their widths times height and gap."""
    d = enclosed("10S4P").design
    wide = [s.y1_mm - s.y0_mm for s in d.slots if s.side == 1]
    right = opening(d, 1)
    assert right.wide_mm * right.high_mm == pytest.approx(sum(wide) * 8.0)
    assert opening(replace(d, slots=()), 1).wide_mm == 0.0
    assert right.behind_mm2 > sum(wide) * d.skirt_gap_mm
