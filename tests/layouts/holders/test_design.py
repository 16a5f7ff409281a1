"""Holder tiles in their plans: channels, bars, grooves, tabs, and checks that can fail."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from layouts.cells.arrangement import CellLayout
from layouts.cells.tiles import tile_polygons
from layouts.holders.barriers import (
    barrier_designs,
    barrier_line_mm,
    groove_quads_mm,
)
from layouts.holders.channels import bars_mm, channels_mm, strip_channel_mm
from layouts.holders.design import holder_checks, holder_tiles, number_cells, tile_lead_in_mm
from layouts.holders.fastening import CellBlock, fasten
from layouts.holders.holder import HolderTile
from layouts.holders.keys import HOLD_MM, POCKET_WALL_MM, choose_interlocks
from layouts.holders.outline import outline_points_mm
from layouts.pack import Face, Lattice, Pack
from layouts.parts.tie_screw import lead_in_mm
from layouts.strips.joining import Interconnect
from layouts.strips.laying import join
from tests.layouts.fields import laid
from tests.samples import sample_pack

Solved = tuple[Pack, CellLayout, Interconnect, CellBlock, tuple[HolderTile, ...]]


def solved(pack: Pack, **ways: object) -> Solved:
    """Everything up to the holder tiles."""
    cell_layout = laid(pack, **ways)  # type: ignore[arg-type]
    interconnect = join(pack, cell_layout)
    cell_block = fasten(pack, cell_layout, interconnect)
    tiles = holder_tiles(pack, cell_layout, interconnect, cell_block, tile_polygons(cell_layout))
    return pack, cell_layout, interconnect, cell_block, tiles


@pytest.fixture(scope="module")
def whole() -> Solved:
    """A honeycomb of forty in one piece."""
    return solved(sample_pack(10, 4))


@pytest.fixture(scope="module")
def tiled() -> Solved:
    """A honeycomb in two tiles."""
    return solved(sample_pack(8, 6), row_cut=4, growth_mm=1.3)


@pytest.fixture(scope="module")
def grid_tiled() -> Solved:
    """A grid in four tiles."""
    return solved(sample_pack(8, 6, lattice=Lattice.GRID), row_cut=4, column_cut=3, growth_mm=1.15)


@pytest.fixture(scope="module", params=[Lattice.HONEYCOMB, Lattice.GRID])
def folded(request: pytest.FixtureRequest) -> Solved:
    """A field with a volts seam and its barrier."""
    pack = sample_pack(6, 4, lattice=request.param)
    return solved(pack, fold=3, growth_mm=2.0)


def test_tiles_hold_every_cell_once_a_face(whole: Solved, tiled: Solved) -> None:
    """One tile a face uncut, two when cut; names, faces and cells follow."""
    assert [tile.name for tile in whole[4]] == ["holder-lower", "holder-upper"]
    assert whole[4][0].mask_mm is None
    names = [tile.name for tile in tiled[4]]
    assert names == ["holder-lower-1", "holder-lower-2", "holder-upper-1", "holder-upper-2"]
    for face in Face:
        cells = np.concatenate([tile.cells for tile in tiled[4] if tile.face is face])
        assert sorted(cells) == list(range(48))


def test_upper_plan_is_the_mirror_of_the_pack(whole: Solved) -> None:
    """x is mirrored in cells, posts, channels and outline; every loop stays counter-clockwise."""
    _, cell_layout, _, cell_block, (lower, upper) = whole
    assert lower.xy_mm == pytest.approx(cell_layout.xy_mm)
    assert upper.xy_mm == pytest.approx(cell_layout.xy_mm * [-1, 1])
    assert [(p.x_mm, p.y_mm) for p in upper.posts] == [(-p.x_mm, p.y_mm) for p in cell_block.posts]
    mirror = shapely.Polygon(outline_points_mm(cell_block.outline) * [-1, 1])
    plan = shapely.Polygon(outline_points_mm(upper.outline))
    assert plan.symmetric_difference(mirror).area < 1.0
    for tile in (lower, upper):
        for quads in (tile.channels, tile.bars):
            assert all(shapely.Polygon(quad).exterior.is_ccw for quad in quads)


def test_positive_ends_alternate_by_group_and_face(whole: Solved) -> None:
    """A cell's end is positive on one face only: up for odd groups."""
    _, _, _, _, (lower, upper) = whole
    assert (lower.positive_end ^ upper.positive_end).all()
    assert (upper.positive_end == (upper.group % 2 == 1)).all()


def test_channels_are_the_strips_with_play(whole: Solved) -> None:
    """Each channel covers its strip and 0.25 all round; lead exits reach past the outline."""
    pack, _, interconnect, cell_block, (lower, upper) = whole
    for tile, face in ((lower, Face.LOWER), (upper, Face.UPPER)):
        strips = [strip for strip in interconnect.strips if strip.face is face]
        balance_leads = [
            balance_lead
            for balance_lead in interconnect.balance_leads
            if balance_lead.face is face and balance_lead.notch
        ]
        assert balance_leads
        assert len(tile.channels) == len(strips) + len(balance_leads)
        for strip in strips:
            channel = shapely.Polygon(strip_channel_mm(pack, strip, cell_block.outline))
            band = shapely.Polygon(strip.outline_mm).buffer(0.25 - 1e-9, join_style="mitre")
            assert channel.covers(band)
            grown = shapely.Polygon(strip.outline_mm).buffer(0.25 + 1e-9, join_style="mitre")
            assert strip.runs_out or grown.covers(channel)
    out = [s for s in interconnect.strips if s.runs_out]
    cell_block_shape = shapely.Polygon(outline_points_mm(cell_block.outline, 0.01))
    assert out
    for strip in out:
        short = replace(strip, end_mm=(strip.end_mm[0] - 20.0, strip.end_mm[1]))
        end = strip_channel_mm(pack, short, cell_block.outline)[1:3]
        assert not cell_block_shape.intersects(shapely.LineString(end))


def test_bars_lie_in_webs_under_channels(whole: Solved) -> None:
    """Each web that a channel crosses has a bar wider than the channel and 0.05 off pockets."""
    pack, cell_layout, interconnect, cell_block, _ = whole
    for face in Face:
        bars = shapely.polygons(bars_mm(pack, cell_layout, interconnect, face, cell_block.outline))
        pockets = shapely.points(cell_layout.xy_mm)
        assert shapely.distance(bars[:, None], pockets).min() >= pack.pocket_mm / 2 + 0.05 - 1e-9
        strips = [strip for strip in interconnect.strips if strip.face is face]
        pairs = {tuple(sorted(pair)) for strip in strips for pair in strip.links}
        outs = sum(strip.runs_out for strip in strips)
        assert len(bars) == len(pairs) + outs
        for i, j in pairs:
            middle = shapely.Point(cell_layout.xy_mm[[i, j]].mean(axis=0))
            bar = bars[int(np.argmin(shapely.distance(bars, middle)))]
            assert bar.area == pytest.approx((pack.holder.web_mm - 0.1) * _long_side(bar))
            width = max(s.width_mm for s in strips if {i, j} <= set(s.cells))
            assert _long_side(bar) == pytest.approx(width + 0.5 + 1.6)


def _long_side(bar: shapely.Polygon) -> float:
    corners = shapely.get_coordinates(bar)
    return float(np.hypot(*np.diff(corners, axis=0).T).max())


def test_numbers_stand_everywhere_on_small_packs_and_at_row_ends_on_large() -> None:
    """Up to 200 cells every cell is numbered, above only the two ends of each row of a group."""
    small = laid(sample_pack(20, 10))
    assert number_cells(small).all()
    large = laid(sample_pack(21, 10))
    chosen = number_cells(large)
    assert chosen.sum() == 2 * 21
    for row in range(21):
        mine = np.flatnonzero(large.sites[:, 1] == row)
        ends = mine[[np.argmin(large.sites[mine, 0]), np.argmax(large.sites[mine, 0])]]
        assert chosen[ends].all()


def test_recesses_and_posts_take_the_tie_screw(whole: Solved) -> None:
    """Upper: round for the head; lower: flats for the nut; half posts meet at lip to lip."""
    pack, _, _, _, (lower, upper) = whole
    assert (upper.recess_mm, lower.recess_mm) == (6.0, 5.7)
    assert lower.post_high_mm + upper.post_high_mm == pytest.approx(
        pack.lip_to_lip_mm + 2 * pack.holder.lip_mm
    )
    assert lower.recess_deep_mm >= 2.4
    assert upper.recess_deep_mm >= 3.2 - 1e-9


def test_polygons_must_match_the_tiles(whole: Solved) -> None:
    """A polygon too many is refused."""
    pack, cell_layout, interconnect, cell_block, _ = whole
    with pytest.raises(ValueError, match="2 given for 1 tiles"):
        holder_tiles(pack, cell_layout, interconnect, cell_block, [None, None])


@pytest.mark.parametrize("which", ["tiled", "grid_tiled"])
def test_keys_lock_neighbours_and_leave_walls(which: str, request: pytest.FixtureRequest) -> None:
    """Every interlock tab has one socket 0.1 larger; both leave 0.8 to pockets, 0.6 to channels;
    tiles
    of a seam both carry interlock tabs."""
    pack, cell_layout, _, _, tiles = request.getfixturevalue(which)
    for face in Face:
        mine = [tile for tile in tiles if tile.face is face]
        knobs = [(tile, key) for tile in mine for key in tile.tabs if key.is_tab]
        sockets = [(tile, key) for tile in mine for key in tile.tabs if not key.is_tab]
        assert len(knobs) == len(sockets) >= 2 * (len(mine) > 1)
        way = -1 if face is Face.UPPER else 1
        for tile, key in sockets:
            partner = [k for _, k in knobs if (k.x_mm, k.y_mm) == (key.x_mm, key.y_mm)]
            assert len(partner) == 1
            assert key.radius_mm == pytest.approx(partner[0].radius_mm + 0.1)
            assert key.neck_mm == pytest.approx(partner[0].neck_mm + 0.2)
            away = np.hypot(*(cell_layout.xy_mm * [way, 1] - (key.x_mm, key.y_mm)).T).min()
            assert away - pack.pocket_mm / 2 - key.radius_mm >= POCKET_WALL_MM - 1e-9
            bulb = shapely.Point(key.x_mm, key.y_mm)
            channels = shapely.polygons(tile.channels)
            assert shapely.distance(bulb, channels).min() >= key.radius_mm + 0.6 - 1e-9
        carriers = {tile.index for tile, _ in knobs}
        assert carriers == {tile.index for tile in mine}


@pytest.mark.parametrize("which", ["tiled", "grid_tiled"])
def test_a_knob_cannot_be_pulled_out(which: str, request: pytest.FixtureRequest) -> None:
    """Moved back out of its socket by half a bulb, the interlock tab cuts into the other tile."""
    _, _, _, _, tiles = request.getfixturevalue(which)
    lower = {tile.index: tile for tile in tiles if tile.face is Face.LOWER}
    tried = 0
    for tile in lower.values():
        for key in tile.tabs:
            if not key.is_tab:
                continue
            other = next(
                t
                for t in lower.values()
                if any((k.x_mm, k.y_mm) == (key.x_mm, key.y_mm) and not k.is_tab for k in t.tabs)
            )
            socket = next(k for k in other.tabs if (k.x_mm, k.y_mm) == (key.x_mm, key.y_mm))
            assert other.mask_mm is not None
            rest = shapely.Polygon(other.mask_mm).difference(_key_shape(socket))
            bulb = shapely.Point(key.x_mm, key.y_mm).buffer(key.radius_mm, quad_segs=64)
            assert bulb.intersection(rest).area < 1e-6
            out = np.array([key.x0_mm - key.x_mm, key.y0_mm - key.y_mm])
            out = out / np.hypot(*out) * key.radius_mm / 2
            pulled = shapely.affinity.translate(bulb, *out)
            assert pulled.intersection(rest).area > HOLD_MM**2 / 2
            tried += 1
    assert tried >= 2


def _key_shape(key: object) -> shapely.Polygon:
    neck = shapely.LineString([(key.x0_mm, key.y0_mm), (key.x_mm, key.y_mm)])  # type: ignore[attr-defined]
    return neck.buffer(key.neck_mm / 2, cap_style="flat").union(  # type: ignore[attr-defined]
        shapely.Point(key.x_mm, key.y_mm).buffer(key.radius_mm, quad_segs=64)  # type: ignore[attr-defined]
    )


def test_no_key_where_channels_leave_no_room(tiled: Solved) -> None:
    """With the whole seam under a channel no tab is made, and the check fails and says so."""
    pack, cell_layout, _, cell_block, tiles = tiled
    flood = np.array([shapely.box(-200.0, -40.0, 200.0, 40.0)], dtype=np.object_)
    none = np.zeros((0, 4, 2))
    assert (
        choose_interlocks(pack, cell_layout, channels=flood, grooves=none, posts=cell_block.posts)
        == ()
    )
    bare = tuple(replace(tile, tabs=()) for tile in tiles)
    checks = {check.id: check for check in holder_checks(pack, cell_layout, bare)}
    assert not checks["tile_keys"].holds
    assert checks["tile_keys"].value == 0.0
    assert checks["tile_keys"].remedy


def test_barrier_line_is_half_way_between_both_sides(folded: Solved) -> None:
    """Along the line the nearest cells of both sides are equally far, and none is too near."""
    pack, cell_layout, _, cell_block, _ = folded
    seam = cell_layout.seams[0]
    line = barrier_line_mm(pack, cell_layout, seam, cell_block.outline)
    inner = shapely.LineString(line[1:-1]) if len(line) > 3 else shapely.LineString(line)
    points = shapely.get_coordinates(shapely.segmentize(inner, 0.5))
    below = cell_layout.sites[:, 1] < 3
    away = np.hypot(*(points[:, None] - cell_layout.xy_mm[None]).transpose(2, 0, 1))
    assert away[:, below].min(axis=1) == pytest.approx(away[:, ~below].min(axis=1), abs=1e-9)
    assert away.min() > pack.pocket_mm / 2 + 0.55 + 0.4
    cell_block_shape = shapely.Polygon(outline_points_mm(cell_block.outline, 0.005))
    assert cell_block_shape.contains(shapely.LineString(line).buffer(0.55, cap_style="flat"))


def test_barrier_runs_out_to_the_edge(folded: Solved) -> None:
    """Both ends as far out as leaves 1.2 mm of wall, or as a pocket on the way leaves."""
    pack, cell_layout, _, cell_block, _ = folded
    line = barrier_line_mm(pack, cell_layout, cell_layout.seams[0], cell_block.outline)
    edge = shapely.Polygon(outline_points_mm(cell_block.outline, 0.005)).exterior
    for end in (line[0], line[-1]):
        from_pocket = np.hypot(*(cell_layout.xy_mm - end).T).min() - pack.pocket_mm / 2
        from_edge = edge.distance(shapely.Point(end))
        assert from_edge <= 1.21 or from_pocket <= lead_in_mm(pack) + 0.45 + 0.55 + 0.15


def test_barrier_stands_in_both_grooves(folded: Solved) -> None:
    """The wall lies in the grooves with 0.1 of play, and 0.2 off both floors."""
    pack, cell_layout, _, cell_block, (lower, upper) = folded
    (barrier,) = barrier_designs(pack, cell_layout, cell_block.outline)
    wall = shapely.Polygon(barrier.points_mm)
    assert wall.is_valid
    assert wall.exterior.is_ccw
    for tile, way in ((lower, 1), (upper, -1)):
        groove = shapely.union_all(shapely.polygons(tile.grooves * [way, 1]))
        assert groove.covers(wall.buffer(0.1 - 1e-6, join_style="mitre"))
    floor = pack.holder.depth_mm - 1.0
    assert barrier.z_mm == pytest.approx(floor + 0.2)
    assert barrier.z_mm + barrier.height_mm == pytest.approx(pack.lip_to_lip_mm - floor - 0.2)


def test_groove_overlaps_at_its_corners_and_is_one_piece_when_straight() -> None:
    """A straight line gives one rectangle; a bend's outer corner is filled."""
    straight = groove_quads_mm(np.array([[0.0, 0.0], [10.0, 0.0], [25.0, 0.0]]))
    assert len(straight) == 1
    assert shapely.Polygon(straight[0]).area == pytest.approx(25 * 1.1)
    bend = groove_quads_mm(np.array([[0.0, 0.0], [10.0, 0.0], [15.0, 5 * math.sqrt(3)]]))
    whole = shapely.union_all(shapely.polygons(bend))
    mitre = shapely.LineString([(0, 0), (10, 0), (15, 5 * math.sqrt(3))]).buffer(
        0.55, cap_style="flat", join_style="mitre"
    )
    assert whole.buffer(1e-9).covers(mitre)


def test_long_barriers_are_cut_for_the_bed(folded: Solved) -> None:
    """On a bed of 60 mm the wall comes in pieces that fit, together as long as before."""
    pack, cell_layout, _, cell_block, _ = folded
    small = replace(pack, printer=replace(pack.printer, bed_mm=(60.0, 60.0, 100.0)))
    pieces = barrier_designs(small, cell_layout, cell_block.outline)
    assert len(pieces) >= 2
    assert all((np.ptp(piece.points_mm, axis=0) <= 60.0 - 2.0 + 1e-9).all() for piece in pieces)
    (one,) = barrier_designs(pack, cell_layout, cell_block.outline)
    together = sum(shapely.Polygon(piece.points_mm).area for piece in pieces)
    missing = 0.9 * 2 * 0.2 * (len(pieces) - 1)
    # cut square across straight stretches: no piece reaches into the next
    assert together == pytest.approx(shapely.Polygon(one.points_mm).area - missing, abs=1e-6)


def test_lead_in_gives_way_to_a_groove(folded: Solved) -> None:
    """Where the seam is narrow the lead-in shrinks: a line of web stays beside the groove."""
    pack, cell_layout, _, _, tiles = folded
    checks = {check.id: check for check in holder_checks(pack, cell_layout, tiles)}
    assert checks["groove_land_mm"].holds
    tight = laid(pack, fold=3, growth_mm=0.9)
    assert tile_lead_in_mm(pack, tight) < tile_lead_in_mm(pack, laid(pack))


def test_groove_in_a_narrow_seam_fails(folded: Solved) -> None:
    """A seam as narrow as any web leaves no land beside the groove."""
    pack, cell_layout, _, _, tiles = folded
    seam = cell_layout.seams[0]
    narrow = replace(laid(pack), seams=(seam,))
    checks = {check.id: check for check in holder_checks(pack, narrow, tiles)}
    assert not checks["groove_land_mm"].holds


@pytest.mark.parametrize(
    ("field", "value", "fails"),
    [("web_mm", 1.1, "web_mm"), ("window_mm", 19.5, "lip_land_mm")],
)
def test_thin_walls_fail(field: str, value: float, fails: str, whole: Solved) -> None:
    """A web below three lines and a window nearly as wide as the can fail their checks."""
    pack = whole[0]
    good = {check.id for check in holder_checks(pack, whole[1], whole[4]) if not check.holds}
    assert good == set()
    thin = replace(pack, holder=replace(pack.holder, **{field: value}))
    checks = holder_checks(thin, laid(thin), whole[4])
    bad = {check.id: check for check in checks if not check.holds}
    assert fails in bad
    assert bad[fails].remedy


def test_wide_lead_ins_fail(whole: Solved) -> None:
    """A lead-in half as wide as the web leaves no land between two pockets."""
    pack, cell_layout, _, _, tiles = whole
    wide = tuple(replace(tile, lead_in_mm=pack.holder.web_mm / 2) for tile in tiles)
    bad = [check.id for check in holder_checks(pack, cell_layout, wide) if not check.holds]
    assert bad == ["lead_in_land_mm"]


def test_channels_of_nothing_are_empty(whole: Solved) -> None:
    """No strips: arrays of the right shape."""
    pack, cell_layout, interconnect, cell_block, _ = whole
    bare = replace(interconnect, strips=())
    assert channels_mm(pack, ()).shape == (0, 4, 2)
    assert bars_mm(pack, cell_layout, bare, Face.LOWER, cell_block.outline).shape == (0, 4, 2)
