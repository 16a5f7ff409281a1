"""Weld plans, templates and the order of balance leads say what the strips are."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
import shapely

from generators.drawings.cut_templates import piece_sheet, strip_templates
from generators.drawings.linework import (
    PENS,
    Circles,
    Layer,
    Lines,
    LineSheet,
    Words,
    line_sheet,
    sheet_svg,
)
from generators.drawings.tap_ladder import balance_lead_ladder, balance_lead_rows
from generators.drawings.weld_plan import balance_lead_strip, hatch_lines, strip_numbers, weld_plan
from layouts.pack import Face, Lattice
from layouts.placing.values import Effort
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.strips.joining import StripKind
from layouts.strips.sheets import SheetShape, cut_pieces
from layouts.strips.weld_spots import weld_spots
from tests.layouts.placed_packs import placed_pack
from tests.samples import linked_pack

pytestmark = pytest.mark.one_in(3)  # cases that draw a plan each

STRIPS = (Layer.GREY, Layer.WHITE)


@pytest.fixture(scope="module", params=["honeycomb", "grid", "odd"])
def plan(request: pytest.FixtureRequest) -> PackPlan:
    """Packs whose main leads leave one face, and both."""
    if request.param == "odd":
        return plan_pack(linked_pack(3, 5, format="26650"))
    return plan_pack(linked_pack(4, 3, lattice=Lattice(request.param)))


def drawn(plan: PackPlan, face: Face, *, mirrored: bool | None = None) -> LineSheet:
    """The weld plan of one face."""
    return weld_plan(
        plan.pack,
        plan.cell_layout,
        plan.interconnect,
        plan.cell_block.outline,
        face,
        mirrored=mirrored,
    )


def texts(sheet: LineSheet) -> list[str]:
    """All words of a drawing."""
    return [mark.text for mark in sheet.marks if isinstance(mark, Words)]


@pytest.mark.parametrize("face", list(Face))
def test_every_strip_is_drawn_as_laid_and_numbered_once(plan: PackPlan, face: Face) -> None:
    """In the order of welding, in the pack's own x and y, to the last digit."""
    sheet = drawn(plan, face, mirrored=False)
    outlines = [m.lines[0] for m in sheet.marks if isinstance(m, Lines) and m.layer in STRIPS]
    numbers = strip_numbers(plan.interconnect)
    mine = [k for k in numbers if plan.interconnect.strips[k].face is face]
    assert len(outlines) == len(mine)
    for outline, k in zip(outlines, mine, strict=True):
        assert np.array_equal(outline, plan.interconnect.strips[k].outline_mm)
    bold = [m.text for m in sheet.marks if isinstance(m, Words) and m.bold and not m.white]
    counted = [text for text in bold if text.isdigit()]
    assert sorted(map(int, counted)) == sorted(numbers[k] for k in mine)


def test_the_lower_face_is_mirrored_and_says_so(plan: PackPlan) -> None:
    """As seen from below x is turned round; the upper face is as it is."""
    lower = drawn(plan, Face.LOWER)
    through = drawn(plan, Face.LOWER, mirrored=False)
    for a, b in zip(lower.marks, through.marks, strict=False):
        if isinstance(a, Lines) and isinstance(b, Lines) and a.layer in STRIPS:
            assert a.lines[0] == pytest.approx(b.lines[0] * (-1.0, 1.0))
    assert "mirrored: seen from below" in texts(lower)
    assert "seen from above" in texts(drawn(plan, Face.UPPER))
    assert "mirrored: seen from below" not in texts(through)


@pytest.mark.parametrize("face", list(Face))
def test_signs_and_rings_are_those_of_the_cells(plan: PackPlan, face: Face) -> None:
    """Each end has its sign and group; a ring lies on the positive ones alone."""
    sheet = drawn(plan, face)
    up = plan.cell_layout.positive_up
    positive = up if face is Face.UPPER else ~up
    words = texts(sheet)
    for group in range(1, plan.pack.series + 1):
        mine = plan.cell_layout.group == group
        sign = "+" if positive[mine].all() else "\N{MINUS SIGN}"
        assert words.count(f"{sign}{group}") == int(mine.sum())
    rings = [m for m in sheet.marks if isinstance(m, Circles) and m.layer is Layer.RING]
    assert len(rings) == int(positive.sum()) + 1  # and the legend's


def test_spots_lie_on_their_strip_and_can_as_many_as_asked(plan: PackPlan) -> None:
    """Within the strip and within the window of the can, four at every crossing, none twice."""
    for strip in plan.interconnect.strips:
        spots = weld_spots(plan.pack, plan.cell_layout, strip)
        assert spots.shape == (len(strip.cells), plan.pack.strip.weld_spots, 2)
        outline = shapely.Polygon(strip.outline_mm)
        assert shapely.covers(outline, shapely.points(spots)).all()
        centres = plan.cell_layout.xy_mm[list(strip.cells)]
        off = np.hypot(*np.moveaxis(spots - centres[:, None], -1, 0))
        assert off.max() <= plan.pack.holder.window_mm / 2
        assert len(np.unique(spots.reshape(-1, 2).round(3), axis=0)) == spots[..., 0].size


@pytest.mark.parametrize("count", [1, 2, 3, 6])
def test_any_number_of_spots_can_be_asked(count: int) -> None:
    """An odd spot stands alone between its pair's places."""
    plan = plan_pack(linked_pack(2, 2))
    pack = replace(plan.pack, strip=replace(plan.pack.strip, weld_spots=count))
    strip = plan.interconnect.strips[0]
    spots = weld_spots(pack, plan.cell_layout, strip)
    assert spots.shape[1] == count
    assert len(np.unique(spots[0].round(6), axis=0)) == count
    assert shapely.covers(shapely.Polygon(strip.outline_mm), shapely.points(spots)).all()


def test_crosses_of_a_drawing_are_the_spots(plan: PackPlan) -> None:
    """Two lines a spot over both faces, and the legend's on each."""
    lines = sum(
        len(mark.lines)
        for face in Face
        for mark in drawn(plan, face).marks
        if isinstance(mark, Lines) and mark.layer is Layer.WELD
    )
    ends = sum(len(strip.cells) for strip in plan.interconnect.strips)
    assert lines == 2 * (ends * plan.pack.strip.weld_spots + 2)


def test_balance_wires_and_main_leads_stand_on_their_face(plan: PackPlan) -> None:
    """B0 to BS, each once over both faces; pack minus and plus where they leave."""
    found = {face: texts(drawn(plan, face)) for face in Face}
    for balance_lead in plan.interconnect.balance_leads:
        other = Face.LOWER if balance_lead.face is Face.UPPER else Face.UPPER
        legend = int(balance_lead.number == 2)
        assert found[balance_lead.face].count(f"B{balance_lead.number}") == 1 + legend
        assert found[other].count(f"B{balance_lead.number}") == legend
    assert "pack minus (\N{MINUS SIGN})" in found[plan.interconnect.minus_face]
    assert "pack plus (+)" in found[plan.interconnect.plus_face]


def test_a_lead_without_a_tail_is_told_where_it_lands() -> None:
    """In an outline without room beside the holder: along a strip of the end group, by number."""
    plan = plan_pack(placed_pack(3, 3, strip=linked_pack().strip), effort=Effort.QUICK)
    interconnect = plan.interconnect
    strips = tuple(replace(strip, runs_out=False) for strip in interconnect.strips)
    bare = replace(interconnect, strips=strips)
    sheet = weld_plan(
        plan.pack, plan.cell_layout, bare, plan.cell_block.outline, interconnect.minus_face
    )
    (told,) = [text for text in texts(sheet) if text.startswith("pack minus")]
    number = int(told.rsplit(" ", 1)[1])
    k = {n: k for k, n in strip_numbers(bare).items()}[number]
    assert strips[k].groups == (1,) and strips[k].face is interconnect.minus_face


def test_rows_are_grey_and_links_hatched(plan: PackPlan) -> None:
    """Hatch lines stay on their strip and cross it from side to side."""
    links = [strip for strip in plan.interconnect.strips if strip.kind is StripKind.LINK]
    assert links
    for strip in links:
        outline = shapely.Polygon(strip.outline_mm).buffer(1e-6)
        lines = shapely.linestrings(np.array(hatch_lines(strip)))
        assert outline.covers(lines).all()
        assert shapely.length(lines).max() == pytest.approx(strip.width_mm * 2**0.5)
    assert PENS[Layer.GREY].fill not in (None, 1.0) and PENS[Layer.WHITE].fill == 1.0


def test_nothing_is_drawn_outside_the_picture(plan: PackPlan) -> None:
    """Words, too, lie within the corners, for the widest letters."""
    for face in Face:
        sheet = drawn(plan, face)
        boxes = np.array([mark.box_mm for mark in sheet.marks])
        assert (boxes[:, :2] >= np.array(sheet.low_mm) - 1e-9).all()
        assert (boxes[:, 2:] <= np.array(sheet.high_mm) + 1e-9).all()


def test_numbers_do_not_cover_each_other(plan: PackPlan) -> None:
    """Every strip's number can be read: no two boxes overlap."""
    for face in Face:
        boxes = [
            shapely.box(*mark.box_mm)
            for mark in drawn(plan, face).marks
            if isinstance(mark, Lines) and mark.layer in (Layer.BOX, Layer.FLAG)
        ]
        tree = shapely.STRtree(boxes)
        a, b = tree.query(boxes, predicate="intersects")
        assert (a == b).all()


def test_a_wire_is_soldered_to_a_strip_that_ends_there(plan: PackPlan) -> None:
    """On the tap's own face and cell; at the main leads on a row that runs out."""
    for balance_lead in plan.interconnect.balance_leads:
        strip = plan.interconnect.strips[balance_lead_strip(plan.interconnect, balance_lead)]
        assert strip.face is balance_lead.face and balance_lead.cell in (
            strip.cells[0],
            strip.cells[-1],
        )
        if len(balance_lead.groups) == 1:
            assert strip.kind is StripKind.LEAD


def test_volts_of_the_wires_rise_by_one_cell_each(plan: PackPlan) -> None:
    """B0 reads nothing, the last the whole pack; wire k is minus of group k + 1."""
    rows = balance_lead_rows(plan.pack, plan.interconnect)
    cell, series = plan.pack.cell, plan.pack.series
    assert [row.name for row in rows] == [f"B{k}" for k in range(series + 1)]
    for k, row in enumerate(rows):
        assert row.nominal_v == pytest.approx(k * cell.nominal_v)
        assert row.full_v == pytest.approx(k * cell.full_v)
    assert rows[0].net == "pack minus, minus of group 1"
    assert rows[1].net == "plus of group 1, minus of group 2"
    assert rows[-1].net == f"plus of group {series}, pack plus"
    words = texts(balance_lead_ladder(plan.pack, plan.interconnect))
    for row in rows:
        assert {row.name, row.place, f"{row.full_v:.1f} V"} <= set(words)


def test_templates_stand_for_every_piece_once(plan: PackPlan) -> None:
    """Counts and numbers add up; outlines have the strips' own length and width."""
    sheets = strip_templates(plan.pack, plan.cell_layout, plan.interconnect)
    pieces = 0
    for sheet in sheets:
        outline = next(m for m in sheet.marks if isinstance(m, Lines) and m.layer is Layer.CUT)
        long, wide = np.ptp(outline.lines[0], axis=0)
        text = next(text for text in texts(sheet) if "piece" in text)
        pieces += int(text.split(" ")[0])
        assert f"{long:.1f} x {wide:g} x" in " ".join(texts(sheet))
    assert pieces == sum(strip.layers for strip in plan.interconnect.strips)


@pytest.mark.parametrize("shape", list(SheetShape))
def test_pieces_for_a_machine_are_all_there_and_apart(plan: PackPlan, shape: SheetShape) -> None:
    """Every piece, every layer, with its own area, none over another."""
    pieces = cut_pieces(plan.cell_layout, plan.interconnect, shape)
    sheet = piece_sheet(plan.pack, plan.cell_layout, plan.interconnect, pieces)
    flat = [
        shapely.Polygon(mark.lines[0], mark.lines[1:])
        for mark in sheet.marks
        if isinstance(mark, Lines) and mark.layer is Layer.PIECE
    ]
    assert [p.area for p in flat] == pytest.approx([piece.polygon.area for piece in pieces])
    a, b = shapely.STRtree(flat).query(flat, predicate="intersects")
    assert (a == b).all()


def test_a_picture_keeps_within_its_room_and_is_black_and_white(plan: PackPlan) -> None:
    """Scaled down as a whole, never up; no colour but greys."""
    sheet = drawn(plan, Face.UPPER)
    whole, small = sheet_svg(sheet), sheet_svg(sheet, within_mm=(80.0, 60.0))
    wide, high = sheet.size_mm[0] + 6.0, sheet.size_mm[1] + 6.0
    scale = min(80.0 / wide, 60.0 / high)
    for svg, by in ((whole, 1.0), (small, scale)):
        found = re.search(r'width="([\d.]+)mm" height="([\d.]+)mm"', svg)
        assert found is not None
        assert [float(v) for v in found.groups()] == pytest.approx([wide * by, high * by], abs=0.01)
    colours = {part[:6] for part in whole.split("#")[1:]}
    assert all(c[:2] == c[2:4] == c[4:6] or c.startswith(("000", "fff")) for c in colours)


def test_a_drawing_shows_all_of_its_marks() -> None:
    """Corners from lines, circles and words."""
    sheet = line_sheet(
        "s",
        "s",
        [
            Circles(layer=Layer.CELL, at_mm=(0.0, 0.0), radius_mm=2.0),
            Words(at_mm=(10.0, 5.0), text="abc", size_mm=2.0, anchor="end"),
        ],
    )
    assert sheet.low_mm == (-2.0, -2.0)
    assert sheet.high_mm == (10.0, 7.0)
