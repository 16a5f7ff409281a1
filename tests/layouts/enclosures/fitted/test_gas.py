"""Ways for gas through the fitted enclosure: sections by hand, and what closes them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
import shapely

from layouts.enclosures.fitted.form import FittedEnclosure
from layouts.enclosures.fitted.gas import (
    BESIDE,
    DUCTS,
    REACH_MM,
    RIM,
    SLOTS,
    ducts_of,
    fitted_gas_links,
    free_mm2,
    slot_high_mm,
)
from layouts.enclosures.fitted.rooms import RoomKind
from layouts.enclosures.fitted.shell import SLOT_DEEP_MM
from layouts.enclosures.fitted.sides import OUTWARD
from layouts.enclosures.fitted.sizes import Duct, FittedSizes, GasSlot
from layouts.enclosures.form import OUTSIDE, GasLink, RimEdge, gas_site
from layouts.enclosures.gas_way import SHEET_MM, GasWay, gas_way, gas_way_checks
from layouts.pack import Face, Side
from tests.layouts.enclosures.fitted.planned import planned, sizes_of

NAME = "3S2P"


def edge(
    face: Face, cell: int, way: tuple[float, float], at_mm: tuple[float, float], section_mm2: float
) -> RimEdge:
    """One side of a cell's site at the rim, 20 mm long."""
    return RimEdge(
        face=face, cell=cell, way=np.array(way), middle_mm=np.array(at_mm), long_mm=20.0,
        section_mm2=section_mm2,
    )  # fmt: skip


def links_of(sizes: FittedSizes, rim: Sequence[RimEdge]) -> dict[tuple[str, str], GasLink]:
    """Of a rim, by where they lead from and to."""
    plan = planned(NAME)
    links = fitted_gas_links(sizes, plan.pack, plan.cell_layout, rim)
    return {(link.start, link.end): link for link in links}


def way_of(sizes: FittedSizes) -> GasWay:
    """The vent path with other sizes."""
    plan = planned(NAME)
    assert isinstance(plan.enclosure, FittedEnclosure)
    return gas_way(
        plan.pack, plan.cell_layout, plan.interconnect, replace(plan.enclosure, sizes=sizes)
    )


def bare(sizes: FittedSizes) -> FittedSizes:
    """Without channels at the cells."""
    rooms = tuple(room for room in sizes.shell.rooms if room.kind is not RoomKind.TAILS)
    return replace(sizes, shell=replace(sizes.shell, rooms=rooms))


def slot(wide_mm: float) -> GasSlot:
    """A cut somewhere."""
    return GasSlot(at_mm=(0.0, 0.0), out=(-1.0, 0.0), wide_mm=wide_mm, long_mm=10.0)


def test_sections_by_hand() -> None:
    """Two cells at the rim, gas on -x, two ducts: beside, rim, slots and ducts."""
    ducts = (
        Duct(side=Side.MINUS_X, section_mm2=70.0, slots=(slot(14.0), slot(6.0))),
        Duct(side=Side.MINUS_X, section_mm2=9.0, slots=(slot(5.0),)),
    )
    sizes = replace(bare(sizes_of(NAME)), gas_side=Side.MINUS_X, ducts=ducts)
    rim = [
        edge(Face.LOWER, 0, (-1.0, 0.0), (-10.0, 0.0), 50.0),
        edge(Face.UPPER, 0, (-1.0, 0.0), (-10.0, 0.0), 40.0),
        edge(Face.LOWER, 1, (1.0, 0.0), (30.0, 0.0), 12.0),
        edge(Face.UPPER, 1, (1.0, 0.0), (30.0, 0.0), 60.0),
    ]
    found = links_of(sizes, rim)
    pack = planned(NAME).pack
    high = min(SLOT_DEEP_MM, pack.enclosure.gas_gap_mm - SHEET_MM)
    gap = 20.0 * pack.enclosure.side_gap_mm
    first = gas_site(Face.LOWER, 0), gas_site(Face.UPPER, 0)
    second = gas_site(Face.LOWER, 1), gas_site(Face.UPPER, 1)
    expected = {
        first: (min(gap, 40.0), BESIDE),
        second: (min(gap, 12.0), BESIDE),
        (first[1], "before the slots"): (40.0, RIM),
        ("before the slots", "duct 0"): (20.0 * high, SLOTS),
        ("duct 0", OUTSIDE): (70.0, DUCTS),
        ("before the slots", "duct 1"): (5.0 * high, SLOTS),
        ("duct 1", OUTSIDE): (9.0, DUCTS),
    }
    assert set(found) == set(expected)
    for key, (section, kind) in expected.items():
        assert found[key].kind == kind and found[key].remedy
        assert found[key].section_mm2 == pytest.approx(section), key
    assert free_mm2(ducts, high) == pytest.approx(min(70.0, 20.0 * high) + min(9.0, 5.0 * high))


def test_a_channel_takes_gas_up() -> None:
    """A rim edge of the lower face leads into it, one of the upper face out of it; one farther off
    than its reach does not."""
    sizes = sizes_of(NAME)
    (tails,) = (room for room in sizes.shell.rooms if room.kind is RoomKind.TAILS)
    x, y = tails.rect.centre_mm
    far = tails.rect.x1 + REACH_MM + 1.0, y
    rim = [
        edge(Face.LOWER, 0, (1.0, 0.0), (x, y), 50.0),
        edge(Face.UPPER, 0, (1.0, 0.0), (x, y), 40.0),
        edge(Face.LOWER, 1, (1.0, 0.0), far, 30.0),
        edge(Face.UPPER, 1, (1.0, 0.0), far, 30.0),
    ]
    found = links_of(sizes, rim)
    assert found[gas_site(Face.LOWER, 0), tails.name].section_mm2 == 50.0
    assert found[tails.name, gas_site(Face.UPPER, 0)].section_mm2 == 40.0
    assert not [key for key in found if tails.name in key and gas_site(Face.LOWER, 1) in key]
    assert not [key for key in found if tails.name in key and gas_site(Face.UPPER, 1) in key]


def test_nothing_gets_out_without_slots() -> None:
    """Ducts that no cut opens into, and no ducts at all: closed, at the slots."""
    sizes = sizes_of(NAME)
    uncut = tuple(replace(duct, slots=()) for duct in sizes.ducts)
    for ducts in (uncut, ()):
        way = way_of(replace(sizes, ducts=ducts))
        assert (way.smallest_mm2, way.bottleneck) == (0.0, SLOTS)
        assert way.remedy == "a longer side without rooms"
        assert not next(c for c in gas_way_checks(way) if c.id == "gas_way").holds


def test_few_slots_are_the_narrowest_place() -> None:
    """One cut of 2 mm: its section is what gets out."""
    plan, sizes = planned(NAME), sizes_of(NAME)
    duct = sizes.ducts[0]
    one = replace(duct, slots=(replace(duct.slots[0], wide_mm=2.0),))
    way = way_of(replace(sizes, ducts=(one,)))
    assert way.bottleneck == SLOTS
    assert way.smallest_mm2 == pytest.approx(2.0 * slot_high_mm(plan.pack, sizes.shell), abs=0.01)


def test_gas_of_the_lower_face_gets_up_beside_the_cells() -> None:
    """By the gap and the channels; without both nothing of it gets out."""
    plan, sizes = planned(NAME), sizes_of(NAME)
    assert way_of(sizes).smallest_mm2 == plan.gas.smallest_mm2 > 0.0
    tight = replace(plan.pack, enclosure=replace(plan.pack.enclosure, side_gap_mm=0.0))
    assert isinstance(plan.enclosure, FittedEnclosure)
    shut = replace(plan.enclosure, sizes=bare(sizes))
    way = gas_way(tight, plan.cell_layout, plan.interconnect, shut)
    assert way.smallest_mm2 == 0.0 and way.face is Face.LOWER
    through = gas_way(tight, plan.cell_layout, plan.interconnect, plan.enclosure)
    beside = gas_way(plan.pack, plan.cell_layout, plan.interconnect, shut)
    assert through.smallest_mm2 > 0.0 and beside.smallest_mm2 > 0.0


def test_a_lip_that_stands_off_gives_more_section() -> None:
    """Behind it the whole side is a duct, else its hollows alone are."""
    sizes = sizes_of(NAME)
    discs = np.array(planned(NAME).cell_block.outline.discs)
    shell = sizes.shell
    assert shell.stands_off is sizes.gas_side is not None
    high = slot_high_mm(planned(NAME).pack, shell)
    mine = [duct for duct in ducts_of(shell, discs) if duct.side is sizes.gas_side]
    hollows = [
        duct
        for duct in ducts_of(replace(shell, stands_off=None), discs)
        if duct.side is sizes.gas_side
    ]
    assert free_mm2(mine, high) > free_mm2(hollows, high)
    assert sum(duct.section_mm2 for duct in mine) > 0.0


@pytest.mark.parametrize("name", ["3S2P", "4S3P"])
def test_slots_go_through_the_wall_off_every_boss(name: str) -> None:
    """Each crosses the wall it is cut into, outwards on the side where gas leaves."""
    sizes = sizes_of(name)
    assert sizes.gas_side is not None and sizes.slots
    bosses = shapely.union_all(
        [shapely.Point(s.at_mm).buffer(s.radius_mm) for s in sizes.shell.screws]
    )
    for one in sizes.slots:
        plan = shapely.Polygon(one.corners_mm)
        assert plan.area == pytest.approx(one.wide_mm * one.long_mm)
        assert plan.disjoint(bosses)
        assert math.isclose(math.hypot(*one.out), 1.0)
        ux, uy = OUTWARD[sizes.gas_side]
        assert one.out[0] * ux + one.out[1] * uy > math.sqrt(0.5) - 1e-9
