"""Regions and stacks whose thickness follows from their drawing by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.printable.measuring import measured_gaps, measured_walls
from layouts.printable.standing import bed_pieces, narrow_side_mm
from layouts.printable.thickness import narrow_strips, rim_thickness
from layouts.printing.sections import LayerStack

ABOUT_MM = 0.05  # chords for arcs, samples of 0.2


def ring(radius_mm: float) -> BaseGeometry:
    """A disc in chords of 1.8 degrees."""
    return shapely.Point(0.0, 0.0).buffer(radius_mm, quad_segs=50)


def honeycomb(web_mm: float) -> tuple[BaseGeometry, BaseGeometry]:
    """A plate with round holes in a honeycomb, and the middle of it, where all webs are."""
    pitch = 21.45 + web_mm
    plate = shapely.box(0.0, 0.0, 3.0 * pitch, 3.0 * pitch)
    holes = [
        shapely.Point(i * pitch + j % 2 * pitch / 2.0, j * pitch * math.sqrt(0.75)).buffer(
            21.45 / 2.0, quad_segs=30
        )
        for i in range(-1, 5)
        for j in range(-1, 5)
    ]
    middle = shapely.box(pitch, pitch, 2.0 * pitch, 2.0 * pitch)
    return plate.difference(shapely.union_all(holes)), middle


def stack(*runs: tuple[BaseGeometry, int]) -> LayerStack:
    """Sections from below, each with its number of layers of 0.2."""
    return LayerStack(
        layer_mm=0.2,
        sections=tuple(section for section, _ in runs),
        of=tuple(k for k, (_, count) in enumerate(runs) for _ in range(count)),
    )


@pytest.mark.parametrize("thick", [0.4, 0.8, 1.45, 2.6])
def test_a_slab_is_as_thick_as_it_is(thick: float) -> None:
    """Everywhere; narrower than 0.8 and a little where it is, and nowhere else."""
    slab = shapely.box(0.0, 0.0, 40.0, thick)
    along = rim_thickness(slab).thickness_mm
    assert along == pytest.approx(np.full(len(along), thick))
    assert len(along) > 300
    assert bool(narrow_strips(slab, thick + 0.02)) and not narrow_strips(slab, thick - 0.02)


@pytest.mark.parametrize("thick", [0.6, 1.2])
def test_a_tube_is_as_thick_as_its_wall(thick: float) -> None:
    """15 mm outside; not the tube's bore, which is no material."""
    along = rim_thickness(ring(15.0).difference(ring(15.0 - thick))).thickness_mm
    assert (along.min(), along.max()) == pytest.approx((thick, thick), abs=ABOUT_MM)


def test_a_wedge_is_as_thick_as_its_inscribed_circles() -> None:
    """4 on 40: a circle that touches the base at x has diameter 2 x tan(a / 2), a = atan 0.1."""
    found = rim_thickness(shapely.Polygon([(0, 0), (40, 0), (40, 4)]))
    x, y = found.points_mm.T
    base = (abs(y) < 1e-9) & (x > 5.0) & (x < 30.0)
    circles = 2.0 * x[base] * math.tan(math.atan(0.1) / 2.0)
    assert base.sum() > 100
    assert found.thickness_mm[base] == pytest.approx(circles, abs=ABOUT_MM)


@pytest.mark.parametrize("web", [0.6, 1.45])
def test_webs_of_a_honeycomb_are_found_at_their_width(web: float) -> None:
    """By the figure, and as strips of a little more than that; of a little less there are none."""
    plate, middle = honeycomb(web)
    assert rim_thickness(plate, near=middle).thickness_mm.min() == pytest.approx(web, abs=ABOUT_MM)
    for width, there in ((web + 0.1, True), (web - 0.05, False)):
        strips = [one for one in narrow_strips(plate, width) if one.region.intersects(middle)]
        assert bool(strips) is there


def test_a_slot_is_a_gap_as_wide_as_it_is() -> None:
    """0.7 x 20 in a plate; its material is thicker than is told."""
    plate = shapely.box(0, 0, 30, 10).difference(shapely.box(5, 4, 25, 4.7))
    gap = rim_thickness(plate, of_air=True, top_mm=1.0).thickness_mm
    assert gap == pytest.approx(np.full(len(gap), 0.7))
    (strip,) = narrow_strips(plate, 0.75, of_air=True)
    assert strip.long_mm == pytest.approx(20.0 - 0.7, abs=0.2)  # no circle reaches its ends
    assert strip.region.area == pytest.approx(14.0, abs=0.1)
    assert narrow_strips(plate, 0.65, of_air=True) == ()


def test_corners_are_no_walls() -> None:
    """Of 45 degrees and more; a knife's edge of 20 degrees is one."""
    blunt = shapely.Polygon([(0, 0), (20, 0), (20, 20)])
    assert narrow_strips(blunt, 0.8) == ()
    sharp = shapely.Polygon([(0, 0), (40, 0), (40, 40 * math.tan(math.radians(20)))])
    (edge,) = narrow_strips(sharp, 0.8)
    assert edge.region.bounds[2] < 3.0
    nothing = shapely.MultiPolygon()
    assert narrow_strips(nothing, 0.8) == () and len(rim_thickness(nothing).thickness_mm) == 0


def test_a_thin_wall_is_found_however_its_foot_stands() -> None:
    """0.5 on a block, 3 mm high; the same 0.6 mm high is an edge, and no wall."""
    block, wall = shapely.box(0, 0, 30, 10), shapely.box(0, 3, 30, 3.5)
    mapped, (found,) = measured_walls(stack((block, 20), (wall, 15)), 0.8)
    assert found.strip.width_mm == mapped.least_mm == pytest.approx(0.5)
    assert found.strip.long_mm == pytest.approx(30.0 - 0.5, abs=0.4) and found.layer == 27
    for low in (stack((block, 20), (wall, 3)), stack((block, 10), (wall, 3), (block, 10))):
        assert measured_walls(low, 0.8)[1] == ()


def test_beside_a_sunk_figure_the_layers_above_count() -> None:
    """0.5 between a groove and an edge, under two whole layers below a pocket: none of it is a
    wall. Of three layers without the whole ones it is."""
    plate = shapely.box(0, 0, 30, 10)
    sunk = plate.difference(shapely.box(5, 0.5, 25, 2))
    pocket = shapely.box(0, 3, 30, 10)
    assert measured_walls(stack((sunk, 1), (plate, 2), (pocket, 10)), 0.8)[1] == ()
    assert len(measured_walls(stack((sunk, 3), (pocket, 10)), 0.8)[1]) == 1


def test_a_leaning_wall_is_found_where_all_its_layers_differ() -> None:
    """Each layer 0.05 beside the one below: 0.45 thick, one place."""
    aslant = [(shapely.box(0, 3 + 0.05 * k, 30, 3.45 + 0.05 * k), 1) for k in range(40)]
    block = (shapely.box(0, 0, 30, 10), 20)
    _, found = measured_walls(stack(block, *aslant), 0.8)
    # three layers below and above lie 0.15 beside: together 0.75
    assert [one.strip.long_mm for one in found] == pytest.approx([30.0 - 0.75], abs=0.4)


def test_a_gap_of_one_layer_closes() -> None:
    """0.3 wide, two layers high: found; one layer: not."""
    block = shapely.box(0, 0, 30, 10)
    cut = block.difference(shapely.box(5, 4, 25, 4.3))
    mapped, (found,) = measured_gaps(stack((block, 5), (cut, 2), (block, 5)), 0.4)
    assert found.strip.width_mm == mapped.least_mm == pytest.approx(0.3)
    mapped, found_none = measured_gaps(stack((block, 5), (cut, 1), (block, 5)), 0.4)
    assert found_none == () and mapped.least_mm is None


def test_a_piece_on_the_bed_is_free_up_to_where_it_is_joined() -> None:
    """Two posts under a roof at 4 mm; a third that ends at 2 mm by itself."""
    posts = [shapely.box(x, 0, x + 2, 6) for x in (0, 20, 40)]
    all_three, two = shapely.MultiPolygon(posts), shapely.MultiPolygon(posts[:2])
    roof = shapely.box(0, 0, 22, 6)
    pieces = bed_pieces(stack((all_three, 10), (two, 10), (roof, 10)))
    assert [one.free_mm for one in pieces] == pytest.approx([4.0, 4.0, 2.0])
    assert [one.slenderness for one in pieces] == pytest.approx([2.0, 2.0, 1.0])
    (alone,) = bed_pieces(stack((roof, 30)))
    assert alone.free_mm == pytest.approx(6.0)
    assert narrow_side_mm(shapely.affinity.rotate(roof, 30)) == pytest.approx(6.0)
