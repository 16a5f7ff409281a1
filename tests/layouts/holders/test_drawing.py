"""Holder tiles: sound solids and meshes, volumes by formula, cans and strips that go in."""

from __future__ import annotations

import math

import manifold3d
import numpy as np
import pytest
import shapely
import trimesh
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer

from generators.kernel.stitch import solid
from generators.meshes.mesh import Mesh, mesh
from layouts.errors import PlanError
from layouts.holders.drawing import holder_drawing, holder_features, holder_part, holder_placement
from layouts.holders.holder import HolderTile, InterlockTab
from layouts.holders.levels import holder_heights
from layouts.holders.polarity_marks import place_signs, sign_loops, text_area_mm2
from layouts.holders.tile_plan import lip_pieces
from layouts.pack import Face
from layouts.slabs.open_digits import open_figure_loops
from layouts.slabs.profile import loop_points_mm
from tests.holder_samples import S18650, S21700, S26650, Sizes, sample_tile
from tests.layouts.parts.sound_parts import assert_every_feature_counts
from tests.oracles.holder_formula import holder_formula_mm3

WIDE = Sizes(21.30, 21.55, 23.0, 16.5, 10.5, 10.5, 70.3)  # strips too wide: islands of 8 mm2
LOOSE = Sizes(21.30, 21.55, 24.4, 16.5, 6.5, 6.5, 70.3)  # pitch widened for a cut between tiles
CUT = np.array([(-200.0, -200.0), (-0.1, -200.0), (-0.1, 200.0), (-200.0, 200.0)])
KNOB = InterlockTab(
    x0_mm=-2.5, y0_mm=0.0, x_mm=1.6, y_mm=0.0, radius_mm=2.2, neck_mm=2.4, is_tab=True
)
SOCKET = InterlockTab(
    x0_mm=-2.5, y0_mm=0.0, x_mm=1.6, y_mm=0.0, radius_mm=2.35, neck_mm=2.7, is_tab=False
)


def cut_tile(left: bool, **changes: object) -> HolderTile:
    """The left or right half of a 4x4 grid, keyed in the four-cell gap at the middle."""
    return sample_tile(
        4,
        4,
        sizes=LOOSE,
        honeycomb=False,
        mask_mm=CUT if left else CUT * (-1, 1),
        tabs=(KNOB if left else SOCKET,),
        keep=(np.arange(16) % 4 < 2) == left,
        posts=False,
        **changes,
    )


def crossed_key() -> HolderTile:
    """A tile whose interlock tab is cut through by a strip's channel."""
    tile = cut_tile(True)
    across = np.array([[(-30.0, -0.7), (30.0, -1.2), (30.0, 1.5), (-30.0, 0.9)]])
    return cut_tile(True, channels=np.vstack([tile.channels, across]))


def grooved() -> HolderTile:
    """A row of cells on each side of a widened seam, with a zigzag groove along it."""
    loose = Sizes(21.30, 21.55, 25.0, 16.5, 6.5, 6.5, 70.3)
    grooves = np.array([
        [(-18.0, -0.55), (0.55, -0.55), (0.55, 0.55), (-18.0, 0.55)],
        [(-0.55, -0.55), (22.0, -0.25), (22.0, 0.85), (-0.55, 0.55)],
    ])  # fmt: skip
    return sample_tile(2, 2, sizes=loose, honeycomb=False, grooves=grooves, posts=True, links=0)


TILES = {
    "honeycomb lower": lambda: sample_tile(3, 4, links=2),
    "honeycomb upper": lambda: sample_tile(3, 4, links=1, face=Face.UPPER),
    "18650": lambda: sample_tile(4, 3, links=2, sizes=S18650),
    "26650 grid upper": lambda: sample_tile(3, 4, honeycomb=False, sizes=S26650, face=Face.UPPER),
    "one cell": lambda: sample_tile(1, 1),
    "single row": lambda: sample_tile(4, 1),
    "no floor, bar, seat or lead-in": lambda: sample_tile(
        3, 2, web_recess_mm=0.0, bar_mm=0.0, seat_mm=0.0, lead_in_mm=0.0
    ),
    "no recess": lambda: sample_tile(2, 2, recess_deep_mm=0.0),
    "recess within the lip": lambda: sample_tile(2, 2, recess_deep_mm=0.9),
    "no channels": lambda: sample_tile(
        2, 2, channels=np.zeros((0, 4, 2)), bars=np.zeros((0, 4, 2))
    ),
    "dropped islands": lambda: sample_tile(4, 4, links=2, sizes=WIDE),
    "tile with interlock tab": lambda: cut_tile(True),
    "tile with socket": lambda: cut_tile(False),
    "channel across an interlock tab": crossed_key,
    "grooved": grooved,
}


@pytest.fixture(scope="module", params=TILES)
def made(request):
    """A tile and its body."""
    tile = TILES[request.param]()
    return tile, holder_drawing(tile).body


def trimeshed(shape: Mesh) -> trimesh.Trimesh:
    """The mesh for trimesh, nothing merged or repaired."""
    return trimesh.Trimesh(shape.vertices_mm, shape.faces, process=False)


def manifold(shape: Mesh, matrix: np.ndarray | None = None) -> manifold3d.Manifold:
    """The mesh as a manifold in float64, put in place."""
    vertices = shape.vertices_mm
    if matrix is not None:
        vertices = vertices @ matrix[:3, :3].T + matrix[:3, 3]
    found = manifold3d.Manifold(
        manifold3d.Mesh64(np.ascontiguousarray(vertices), shape.faces.astype(np.uint64))
    )
    assert found.status() == manifold3d.Error.NoError
    return found


def test_volume_is_the_formula(made):
    """Body (Green) and sizes alone give the same volume."""
    tile, body = made
    assert body.volume_mm3() == pytest.approx(holder_formula_mm3(tile), rel=1e-12)


@pytest.mark.one_in(4)
def test_solid_is_one_and_valid(made):
    """The kernel finds one valid solid whose volume is the formula's."""
    tile, body = made
    shape = solid(body)
    assert BRepCheck_Analyzer(shape).IsValid()
    solids = TopExp_Explorer(shape, TopAbs_SOLID)
    count = 0
    while solids.More():
        count += 1
        solids.Next()
    assert count == 1
    props = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, props)
    assert props.Mass() == pytest.approx(holder_formula_mm3(tile), rel=1e-9)


def test_mesh_is_one_watertight_body_of_the_same_volume(made):
    """The area-true mesh is a volume, one body, and holds what the formula says."""
    tile, body = made
    found = trimeshed(mesh(body))
    assert found.is_volume
    assert found.body_count == 1
    assert found.volume == pytest.approx(holder_formula_mm3(tile), rel=1e-9)
    assert found.bounds[0][2] == 0.0
    top = tile.lip_mm + tile.depth_mm
    assert found.bounds[1][2] == pytest.approx(tile.post_high_mm if tile.posts else top)


@pytest.mark.parametrize(
    "change",
    [
        {"lip_mm": 1.8}, {"seat_mm": 0.3}, {"window_mm": 16.4}, {"bar_mm": 0.5},
        {"web_recess_mm": 0.5}, {"recess_mm": 5.8}, {"screw_hole_diameter_mm": 3.5},
        {"lead_in_mm": 0.4},
        {"bars": np.zeros((0, 4, 2))}, {"sign_deep_mm": 0.39}, {"post_high_mm": 36.9},
    ],
    ids=lambda change: next(iter(change)),
)  # fmt: skip
def test_formula_sees_every_size(change):
    """A body made with one size changed no longer agrees with the formula of the tile."""
    tile = sample_tile(2, 4)
    other = sample_tile(2, 4, **change)
    volume = holder_drawing(other).body.volume_mm3()
    assert abs(volume / holder_formula_mm3(tile) - 1) > 1e-6
    assert volume == pytest.approx(holder_formula_mm3(other), rel=1e-12)


@pytest.mark.one_in(4)
def test_every_feature_changes_the_volume(made):
    """A feature left out of a holder's list shows in its volume."""
    tile, _ = made
    pieces = lip_pieces(tile)
    assert_every_feature_counts(holder_features(tile, pieces, holder_heights(tile)))


def cylinder(radius: float, z0: float, z1: float, xy: np.ndarray) -> manifold3d.Manifold:
    """An upright cylinder that holds the true one (its flats touch the circle)."""
    count = 180
    return manifold3d.Manifold.cylinder(
        z1 - z0, radius / math.cos(math.pi / count), circular_segments=count
    ).translate((float(xy[0]), float(xy[1]), z0))


@pytest.mark.parametrize(
    ("sizes", "honeycomb", "links"),
    [(S21700, True, 2), (S18650, True, 2), (S26650, False, 1)],
    ids=["21700", "18650", "26650 grid"],
)
def test_cans_rings_and_strips_go_in(sizes, honeycomb, links):
    """Largest cans, rings in their seats, strips let in from the outer face: nothing overlaps."""
    tile = sample_tile(3, 4, sizes=sizes, honeycomb=honeycomb, links=links)
    held = manifold(mesh(holder_drawing(tile).body))
    lip, seat = tile.lip_mm, tile.lip_mm - tile.seat_mm
    cans = [cylinder(sizes.can / 2, lip + 0.001, 40.0, xy) for xy in tile.xy_mm]
    rings = [
        cylinder(sizes.can / 2, seat + 0.001, lip, xy) - cylinder(4.6, 0.0, 9.0, xy)
        for xy in tile.xy_mm[tile.positive_end]
    ]
    floor = tile.lip_mm + tile.web_recess_mm
    strips = []
    for quad in tile.channels:
        a, b, c, d = quad
        along, across = (b - a) / np.hypot(*(b - a)), (d - a) / np.hypot(*(d - a))
        inset = across * 0.25  # the strip is 0.5 narrower than its channel
        corners = [a + inset, b + inset, c - inset, d - inset]
        assert along @ across == pytest.approx(0.0, abs=1e-12)
        section = manifold3d.CrossSection([[(float(x), float(y)) for x, y in corners]])
        strips.append(
            manifold3d.Manifold.extrude(section, floor - 0.002).translate((0.0, 0.0, 0.001))
        )
    for others in (cans, rings, strips):
        for other in others:
            assert (held ^ other).volume() < 1e-9


def test_a_can_two_clearances_thicker_does_not_go_in():
    """The same trial must fail for a can that is too thick, for one too low and for one aside."""
    tile = sample_tile(2, 2)
    held = manifold(mesh(holder_drawing(tile).body))
    play = tile.pocket_mm - S21700.can
    for radius, low, aside in (
        (S21700.can / 2 + play, 0.001, 0.0),
        (S21700.can / 2, -0.1, 0.0),
        (S21700.can / 2, 0.001, 1.1 * play),
    ):
        xy = tile.xy_mm[0] + (0.0, aside)
        assert (held ^ cylinder(radius, tile.lip_mm + low, 40.0, xy)).volume() > 0.1


def test_a_strip_wider_than_its_channel_does_not_go_in():
    """A strip 2 mm wider than its channel cuts into the lip."""
    tile = sample_tile(2, 2, links=0)
    held = manifold(mesh(holder_drawing(tile).body))
    y = float(tile.channels[0].mean(axis=0)[1])
    half = S21700.row / 2 + 1.0
    corners = [(-20, y - half), (20, y - half), (20, y + half), (-20, y + half)]
    section = manifold3d.CrossSection([corners])
    strip = manifold3d.Manifold.extrude(section, 1.0).translate((0.0, 0.0, 0.2))
    assert (held ^ strip).volume() > 1.0


def test_holders_meet_at_their_posts():
    """Placed, lips are the longest can + 0.2 apart, posts touch and nothing overlaps."""
    lip_to_lip = S21700.length + 0.2
    lower = sample_tile(2, 3, face=Face.LOWER)
    upper = sample_tile(2, 3, face=Face.UPPER, xy_mm=lower.xy_mm * 1.0)
    below, above = (holder_placement(t, lip_to_lip_mm=lip_to_lip) for t in (lower, upper))
    assert (below @ (0, 0, 0, 1))[2] == -1.6
    assert (below @ (0, 0, 1.6, 1))[2] == 0.0
    assert (above @ (0, 0, 1.6, 1))[2] == pytest.approx(lip_to_lip)
    assert np.linalg.det(above[:3, :3]) == pytest.approx(1.0)
    ends = [m @ (0, 0, t.post_high_mm, 1) for m, t in ((below, lower), (above, upper))]
    assert ends[0][2] == pytest.approx(ends[1][2]) == pytest.approx(lip_to_lip / 2)
    assert above @ (3.0, 4.0, 0.0, 1.0) == pytest.approx((-3.0, 4.0, lip_to_lip + 1.6, 1.0))


@pytest.mark.parametrize("face", list(Face))
def test_text_reads_right_from_outside(face):
    """In the assembly, seen from outside with y up, every figure is the drawn one, sign first."""
    tile = sample_tile(3, 2, face=face)
    matrix = holder_placement(tile, lip_to_lip_mm=70.5)
    for text in place_signs(tile, lip_pieces(tile)).texts:
        middles = []
        for ch, loops in zip(text.says, sign_loops(text), strict=True):
            points = np.array(loop_points_mm(loops[0]))
            placed = (np.c_[points, np.zeros(len(points)), np.ones(len(points))] @ matrix.T)[:, :2]
            # from above one sees x, y as they are; from below, turned over about y, x runs back
            seen = shapely.Polygon(placed * ((1, 1) if face is Face.UPPER else (-1, 1)))
            drawn = shapely.Polygon(loop_points_mm(open_figure_loops(ch, text.pen)[0]))
            shift = np.subtract(drawn.centroid.coords, seen.centroid.coords)
            moved = shapely.transform(seen, lambda v, s=shift: v + s)
            assert moved.symmetric_difference(drawn).area < 0.01 * drawn.area
            middles.append(seen.centroid.x)
        assert middles == sorted(middles)


def test_signs_are_sunk_into_the_outer_face():
    """The mesh has, at the signs' depth, floors of exactly the texts' area looking down."""
    tile = sample_tile(2, 2)
    found = trimeshed(mesh(holder_drawing(tile).body))
    level = np.isclose(found.triangles[:, :, 2], tile.sign_deep_mm).all(axis=1)
    texts = place_signs(tile, lip_pieces(tile)).texts
    area = sum(text_area_mm2(text.says, text.pen) for text in texts)
    assert len(texts) == 4
    assert found.area_faces[level].sum() == pytest.approx(area, rel=1e-9)
    assert (found.face_normals[level][:, 2] < 0).all()


def test_loose_islands_are_dropped():
    """Too wide strips leave islands of some 8 mm2: they go, and the rest is large enough."""
    tile = sample_tile(4, 4, links=2, sizes=WIDE)
    pieces = lip_pieces(tile)
    assert any(piece.dropped for piece in pieces)
    assert all(piece.area_mm2 < 15.0 for piece in pieces if piece.dropped)
    assert min(piece.area_mm2 for piece in pieces if not piece.dropped) >= 15.0
    found = trimeshed(mesh(holder_drawing(tile).body))
    first = found.triangles_center[np.isclose(found.triangles[:, :, 2], 0.0).all(axis=1)][:, :2]
    for piece in pieces:
        on_bed = shapely.contains_xy(piece.shape, first).any()
        assert on_bed == (not piece.dropped)


def test_groove_into_a_lead_in_is_refused():
    """A groove that would cut a pocket's mouth is no holder."""
    groove = np.array([[(-20.0, -0.55), (20.0, -0.55), (20.0, 0.55), (-20.0, 0.55)]])
    with pytest.raises(PlanError, match=r"holder: .*nothing may cut the circle"):
        holder_drawing(sample_tile(2, 2, honeycomb=False, grooves=groove + np.array([0.0, 3.0])))


def test_tiles_go_together_and_lock():
    """Tab in socket: no overlap in place; pulled apart by 1 mm they catch."""
    left = manifold(mesh(holder_drawing(cut_tile(True)).body))
    right = manifold(mesh(holder_drawing(cut_tile(False)).body))
    assert (left ^ right).volume() < 1e-9
    assert (left ^ right.translate((1.0, 0.0, 0.0))).volume() > 1.0
    assert (left ^ right.translate((0.0, 0.5, 0.0))).volume() > 1.0


def test_part_carries_everything():
    """Part record: name, role, volume, one place, a note on print settings."""
    tile = sample_tile(2, 2, face=Face.UPPER)
    part = holder_part(tile, lip_to_lip_mm=70.5)
    assert (part.name, part.role, len(part.placed)) == ("holder_upper", "holder_upper", 1)
    assert part.drawing.volume_mm3() == pytest.approx(holder_formula_mm3(tile), rel=1e-12)
    assert "outer face down" in part.print_note
    assert "no support" in part.print_note
    poor = holder_part(sample_tile(3, 1, window_mm=21.0, posts=False), lip_to_lip_mm=70.5)
    assert "no space for a polarity mark at 3 of 3 pockets" in poor.print_note
