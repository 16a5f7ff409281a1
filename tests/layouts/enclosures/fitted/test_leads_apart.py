"""Main leads at both ends of the pack: groups in columns, tails, and a way along the flank."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from layouts.cells.choice import choose_block, shapes_of
from layouts.cells.fields import ZigzagShape, block_shapes, zigzag_shapes
from layouts.electrical.plate_warmth import tail_rise_k
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.rooms import Room, RoomKind, rooms_at_cells
from layouts.formats import conductors
from layouts.holders.shape import cell_block_shape
from layouts.pack import EnclosureStyle, JointForm, Pack, Side
from layouts.planning.estimate import envelope
from layouts.planning.steps import BlockPlan, interconnected, laid_out
from layouts.plates.ways_out import ways_out
from layouts.strips.checks import leads_out_mm, strip_checks
from tests.layouts.enclosures.fitted.clamped import block_plan, clamped_sizes, pack_with


def with_style(pack: Pack, style: EnclosureStyle) -> Pack:
    """The pack in another enclosure."""
    return replace(pack, enclosure=replace(pack.enclosure, style=style))


def zigzag_of(pack: Pack) -> ZigzagShape:
    """Its columns of single cells."""
    return next(zigzag_shapes(pack.series, pack.parallel, pack.lattice))


def rooms_of(plan: BlockPlan) -> tuple[Room, ...]:
    """Rooms whose place follows the cells."""
    held = cell_block_shape(plan.cell_block.outline)
    return rooms_at_cells(plan.pack, ways_out(plan.pack, plan.interconnect, held), held)


def test_columns_are_offered_where_leads_may_leave_at_both_ends() -> None:
    """Fitted enclosure and plates; nowhere else, and the choice by default stays what it was."""
    pack = pack_with(flank_posts=True)
    rows = list(block_shapes(pack.series, pack.parallel, pack.lattice))
    offered = list(shapes_of(pack))
    assert offered[: len(rows)] == rows
    columns = offered[len(rows) :]
    assert [type(one) for one in columns] == [ZigzagShape] * len(columns) and len(columns) == 2
    assert list(shapes_of(with_style(pack, EnclosureStyle.TUB))) == rows
    links = replace(pack, strip=replace(pack.strip, joints=JointForm.LINKS))
    assert list(shapes_of(links)) == rows
    chosen, _ = choose_block(pack, estimate=envelope)
    assert chosen.shape in rows


def test_leads_leave_at_both_ends_by_one_tail_each() -> None:
    """Pack minus at -x, pack plus at +x, each past the holder; notes tell how groups lie."""
    plan = block_plan(flank_posts=True)
    layout, laid = plan.cell_layout, plan.interconnect
    assert layout.lead_sides == (Side.MINUS_X, Side.PLUS_X) and layout.leads_apart
    assert "side by side in columns across straight rows" in layout.notes[0]
    ends = {plate.is_minus: plate for plate in laid.plates if plate.is_end}
    edge = layout.xy_mm[:, 0].max() + plan.pack.pocket_mm / 2 + plan.pack.holder.wall_mm
    for is_minus, sign in ((True, -1.0), (False, 1.0)):
        tail = ends[is_minus].tail_end_mm
        assert tail is not None and sign * tail[0] > edge + 10.0
    out = leads_out_mm(plan.pack, layout, laid)
    assert all(value >= 10.0 for value in out.values())
    check = {c.id: c for c in strip_checks(plan.pack, layout, laid)}["lead_out_mm"]
    assert check.holds and "both ends" in check.about
    tops = [layout.xy_mm[layout.group == group, 1].max() for group in (1, plan.pack.series)]
    pitch = (
        plan.pack.pitch_mm
    )  # on the row nearest to the flank of the other tails that is outermost
    for is_minus, top in zip((True, False), tops, strict=True):
        tail = ends[is_minus].tail_end_mm
        assert tail is not None and tail[1] > top - 1.5 * pitch


def test_lead_out_fails_where_a_lead_stays_inside() -> None:
    """Without its tail pack minus reaches nothing; in a tub both would have to leave at +x."""
    plan = block_plan(flank_posts=True)
    plates = tuple(
        replace(one, tail=None, folded=None, tail_end_mm=None)
        if one.is_end and one.is_minus
        else one
        for one in plan.interconnect.plates
    )
    cut = replace(plan.interconnect, plates=plates)
    checks = {c.id: c for c in strip_checks(plan.pack, plan.cell_layout, cut)}
    assert not checks["lead_out_mm"].holds and checks["lead_out_mm"].where == "pack minus"
    tub = with_style(plan.pack, EnclosureStyle.TUB)
    laid = laid_out(tub, shape=zigzag_of(tub)).cell_layout
    assert laid.lead_sides == (Side.PLUS_X, Side.PLUS_X) and not laid.leads_apart
    swapped = replace(plan.cell_layout, lead_sides=laid.lead_sides)
    one_side = {c.id: c for c in strip_checks(tub, swapped, plan.interconnect)}["lead_out_mm"]
    assert not one_side.holds and one_side.where == "pack minus"


def test_a_way_joins_both_landings_along_the_flank_of_the_tails() -> None:
    """One piece from landing to landing, off the held cells and their channels, as wide as the
    wire; the other flank stays free."""
    plan = block_plan(flank_posts=True)
    rooms = rooms_of(plan)
    ways = [room.plan for room in rooms if room.kind is RoomKind.WAY]
    landings = [room.plan for room in rooms if room.kind is RoomKind.LANDING]
    assert len(ways) == 3 and len(landings) == 2
    way = shapely.union_all(ways)
    assert isinstance(way, shapely.Polygon)
    assert all(way.intersection(one).area > 20.0 for one in landings)
    held = cell_block_shape(plan.cell_block.outline)
    wet = [room.plan for room in rooms if room.kind in (RoomKind.TAILS, RoomKind.BARS)]
    apart = way.distance(shapely.union_all([held, *wet]))
    assert apart > plan.pack.enclosure.side_gap_mm + 1.0
    deep = plan.pack.leads.outside_mm + 2.0
    assert all(min(x1 - x0, y1 - y0) == pytest.approx(deep) for x0, y0, x1, y1 in map(bounds, ways))
    low, high = held.bounds[1], held.bounds[3]
    assert way.bounds[3] > high and way.bounds[1] > low


def bounds(shape: shapely.Polygon) -> tuple[float, float, float, float]:
    """x0, y0, x1, y1."""
    x0, y0, x1, y1 = shape.bounds
    return x0, y0, x1, y1


@pytest.mark.slow
def test_rooms_stand_on_the_way_and_gas_leaves_on_the_other_flank() -> None:
    """The board at pack minus or the way, all dry rooms and the way one inside; slots at -y."""
    sizes = clamped_sizes()
    dry = [room.plan for room in sizes.shell.rooms if room.is_dry]
    joined = shapely.union_all([plan.buffer(2.0) for plan in dry])
    assert isinstance(joined, shapely.Polygon)
    assert sizes.gas_side is Side.MINUS_Y and sizes.slots
    inside = loop_polygon(sizes.shell.inner.loop).buffer(0.05)
    assert all(inside.contains(plan.buffer(-3.0).buffer(2.9)) for plan in dry)


def test_a_tail_counts_for_the_metal_of_its_plate() -> None:
    """Its end is warmer with the current squared, cooler with more metal, 0 without a tail; as a
    rod whose end holds all heat, q L2 / 2 k A."""
    plan = block_plan(flank_posts=True)
    plate = next(one for one in plan.interconnect.plates if one.is_end)
    rise = tail_rise_k(plate, 10.0)
    assert 0.0 < rise < 10.0
    assert tail_rise_k(plate, 20.0) == pytest.approx(4.0 * rise)
    double = replace(plate, layers=(*plate.layers, *plate.layers))
    assert tail_rise_k(double, 10.0) < 0.5 * rise
    assert tail_rise_k(replace(plate, tail=None, tail_end_mm=None), 10.0) == 0.0
    assert plate.tail_end_mm is not None
    long_m = shapely.distance(plate.body, shapely.Point(plate.tail_end_mm)) / 1e3
    assert plate.tail is not None
    wide_m = (plate.tail.bounds[3] - plate.tail.bounds[1]) / 1e3
    assert wide_m >= 0.008  # wider than one of a balance lead
    thick_m = sum(layer.thickness_mm for layer in plate.layers) / 1e3
    (material,) = {layer.material for layer in plate.layers}
    ohm_m = conductors()[material].ohm_m / (wide_m * thick_m)
    rod = 10.0**2 * ohm_m * long_m**2 / 2.0 / (2.44e-8 * 333.15 / ohm_m)
    assert rise == pytest.approx(rod, rel=0.12)


def test_more_current_takes_more_metal_for_the_tails() -> None:
    """The metal of the end plates is chosen by their tails too."""
    pack = pack_with(flank_posts=True)
    assert pack.load is not None
    cells = laid_out(pack, shape=zigzag_of(pack))
    heavy = replace(pack, load=replace(pack.load, continuous_a=35.0))
    laid = interconnected(replace(cells, pack=heavy)).interconnect
    for plate in laid.plates:
        if plate.is_end:
            assert tail_rise_k(plate, 35.0) <= 10.0
            thin = replace(plate, layers=plate.layers[:1])
            assert tail_rise_k(thin, 35.0) > tail_rise_k(plate, 35.0)
