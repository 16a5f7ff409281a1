"""Signs and figures: sound outlines, own areas, open counters, legible places."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely

from layouts.holders.polarity_marks import (
    EDGE_MM,
    Text,
    _pens,
    place_signs,
    sign_loops,
    text_area_mm2,
)
from layouts.holders.tile_plan import lip_pieces
from layouts.slabs.digits import (
    FIGURES,
    PENS,
    DigitPen,
    figure_area_mm2,
    figure_loops,
    figure_size_mm,
)
from layouts.slabs.open_digits import open_figure_loops
from layouts.slabs.profile import (
    Arc,
    loop_area_mm2,
    loop_points_mm,
    segment_end,
    segment_start,
)
from tests.holder_samples import S18650, S26650, sample_tile

EVERY = [(ch, pen) for pen in PENS for ch in FIGURES]
NAMES = [f"{ch}-{pen.height_mm:g}" for ch, pen in EVERY]
HOLES = {"0": 1, "6": 1, "8": 2, "9": 1}


def shape(loops, chord_mm: float = 1e-4) -> shapely.Polygon:
    """A figure or part of a text as a fine polygon."""
    return shapely.Polygon(
        loop_points_mm(loops[0], chord_mm), [loop_points_mm(hole, chord_mm) for hole in loops[1:]]
    )


def whole(loops, chord_mm: float = 1e-4) -> shapely.Geometry:
    """A figure of a text, of one outline or two."""
    return shapely.union_all([shape((loop,), chord_mm) for loop in loops])


@pytest.mark.parametrize(("ch", "pen"), EVERY, ids=NAMES)
def test_figure_is_a_sound_outline(ch, pen):
    """Loops close, don't cross themselves, outer counter-clockwise and counters clockwise."""
    loops = figure_loops(ch, pen)
    for loop in loops:
        for a, b in zip(loop, loop[1:] + loop[:1], strict=True):
            assert math.dist(segment_end(a), segment_start(b)) < 1e-12
    assert [loop_area_mm2(loop) > 0 for loop in loops] == [True] + [False] * (len(loops) - 1)
    assert shape(loops).is_valid


@pytest.mark.parametrize(("ch", "pen"), EVERY, ids=NAMES)
def test_figure_area_by_lengths_and_angles(ch, pen):
    """The area formula of strokes and corners is the outline's own area (Green)."""
    drawn = sum(loop_area_mm2(loop) for loop in figure_loops(ch, pen))
    assert figure_area_mm2(ch, pen) == pytest.approx(drawn, rel=1e-13)


@pytest.mark.parametrize(("ch", "pen"), EVERY, ids=NAMES)
def test_figure_fills_its_box_and_its_height(ch, pen):
    """Height 3 to 4 mm, strokes 0.7 to 0.8, nothing outside the box that is kept for it."""
    x0, y0, x1, y1 = shape(figure_loops(ch, pen)).bounds
    w, h = figure_size_mm(ch, pen)
    assert max(-x0, x1) == pytest.approx(w / 2, abs=1e-3)
    assert max(-y0, y1) == pytest.approx(h / 2, abs=1e-3)
    if ch.isdigit():
        assert h == pytest.approx(pen.height_mm)
        assert 3.0 <= h <= 4.0
    assert 0.7 <= pen.stroke_mm <= 0.8


@pytest.mark.parametrize(("ch", "pen"), EVERY, ids=NAMES)
def test_strokes_are_whole_and_counters_open(ch, pen):
    """A pen of the stroke's width draws all of it; no counter or gap is thinner than a line."""
    figure = shape(figure_loops(ch, pen), 1e-3)
    r = pen.stroke_mm / 2
    drawn = figure.buffer(-r * 0.99, 64).buffer(r * 0.99, 64)
    # where two strokes meet in a sharp inner corner nothing is missing; only chords are
    assert figure.difference(drawn.buffer(0.01)).area < 0.02
    assert len(figure.interiors) == HOLES.get(ch, 0)
    for hole in figure.interiors:
        assert not shapely.Polygon(hole).buffer(-0.22).is_empty


@pytest.mark.parametrize("ch", "0235689")
def test_round_figures_have_true_arcs(ch):
    """Curved figures turn by half circles at least, not by corners as segment displays do."""
    swept = sum(
        abs(way.sweep_rad)
        for way in figure_loops(ch, PENS[0])[0]
        if isinstance(way, Arc) and way.radius_mm > PENS[0].half + 1e-9
    )
    assert swept >= math.pi * 0.9


def test_no_two_figures_look_alike():
    """Every two figures differ by a good part of their area."""
    shapes = [shape(figure_loops(ch, PENS[0]), 1e-3) for ch in FIGURES]
    for i, a in enumerate(shapes):
        for b in shapes[:i]:
            assert a.symmetric_difference(b).area > 0.15 * max(a.area, b.area)


TILES = {
    "honeycomb": lambda: sample_tile(5, 4, links=2),
    "18650": lambda: sample_tile(4, 4, links=2, sizes=S18650),
    "grid": lambda: sample_tile(3, 4, honeycomb=False, sizes=S26650),
    "one cell": lambda: sample_tile(1, 1),
}


@pytest.mark.parametrize("name", TILES)
def test_every_pocket_is_told(name):
    """Each pocket has its polarity sign and group number; nothing stands at two pockets."""
    tile = TILES[name]()
    placed = place_signs(tile, lip_pieces(tile))
    assert placed.unmarked == ()
    assert placed.unnumbered == ()
    assert [text.cell for text in placed.texts] == list(range(len(tile.xy_mm)))
    for text in placed.texts:
        sign = "+" if tile.positive_end[text.cell] else "-"
        assert text.says == sign + str(tile.group[text.cell])


@pytest.mark.parametrize("name", TILES)
def test_texts_lie_on_the_lip_clear_of_edges_and_of_each_other(name):
    """Every text is on one piece of lip, 0.5 from its edge and from recesses; none overlap."""
    tile = TILES[name]()
    pieces = lip_pieces(tile)
    texts = [
        shapely.union_all([whole(loops, 1e-2) for loops in sign_loops(text)])
        for text in place_signs(tile, pieces).texts
    ]
    edges = [piece.shape.buffer(-0.05) for piece in pieces]
    recesses = [shapely.Point(post.x_mm, post.y_mm).buffer(3.0) for post in tile.posts]
    for k, text in enumerate(texts):
        homes = [edge for edge in edges if edge.contains(text)]
        assert len(homes) == 1
        assert homes[0].exterior.distance(text) >= EDGE_MM - 0.02
        assert all(recess.distance(text) >= EDGE_MM - 0.02 for recess in recesses)
        assert all(text.distance(other) >= 0.5 for other in texts[:k])


@pytest.mark.parametrize("name", TILES)
def test_a_text_is_nearest_to_its_own_cell(name):
    """Nobody can read a sign for the pocket beside it."""
    tile = TILES[name]()
    for text in place_signs(tile, lip_pieces(tile)).texts:
        away = np.hypot(*(tile.xy_mm - (text.x_mm, text.y_mm)).T)
        own = away[text.cell]
        away[text.cell] = math.inf
        assert own + 1.9 <= away.min()


def test_number_only_where_asked():
    """Cells outside ``number_cells`` carry their sign alone."""
    tile = sample_tile(4, 3, number_all=False)
    said = {text.says for text in place_signs(tile, lip_pieces(tile)).texts}
    assert said == {"+", "-"}


def test_a_holder_without_room_says_so():
    """Lip too narrow for any text: cells are reported, nothing is squeezed in."""
    tile = sample_tile(3, 1, window_mm=21.0, posts=False)
    placed = place_signs(tile, lip_pieces(tile))
    assert placed.unmarked == (0, 1, 2)
    assert placed.texts == ()


def test_no_signs_asked_none_made():
    """Depth 0 switches signs off."""
    tile = sample_tile(2, 2, sign_deep_mm=0.0)
    assert place_signs(tile, lip_pieces(tile)).texts == ()


def test_text_is_mirrored_in_the_plan():
    """In the plan (seen from inside) the sign stands right of the number: from outside, left."""
    tile = sample_tile(3, 2)
    for text in place_signs(tile, lip_pieces(tile)).texts:
        sign, number = (whole(loops).centroid.x for loops in sign_loops(text))
        assert sign > number
        # seen from outside x turns round: the figure itself must then be the drawn one
        seen = shapely.transform(whole(sign_loops(text)[1]), lambda v: v * (-1, 1))
        drawn = whole(open_figure_loops(text.says[1], text.pen))
        moved = shapely.transform(
            seen, lambda v, s=seen, d=drawn: v - np.subtract(s.centroid.coords, d.centroid.coords)
        )
        assert moved.symmetric_difference(drawn).area < 1e-2 * drawn.area


@pytest.mark.parametrize("pen", PENS, ids=lambda pen: f"{pen.height_mm:g}")
def test_figures_of_a_text_stand_side_by_side_about_its_middle(pen: DigitPen) -> None:
    """0.6 mm from one to the next, of figures that fill their boxes; as far out left as right."""
    text = Text(0, "+80-", 7.0, -3.0, pen)
    spans = [whole(loops).bounds[::2] for loops in sign_loops(text)][::-1]  # mirrored in the plan
    for (_, end), (start, _) in itertools.pairwise(spans):
        assert start - end == pytest.approx(0.6, abs=2e-3)
    assert spans[0][0] + spans[-1][1] == pytest.approx(2 * 7.0, abs=2e-3)


def test_text_area_is_the_sum_of_its_figures():
    """Area of a text in place is that of its figures."""
    tile = sample_tile(2, 2)
    for text in place_signs(tile, lip_pieces(tile)).texts:
        drawn = sum(loop_area_mm2(loop) for loops in sign_loops(text) for loop in loops)
        assert text_area_mm2(text.says, text.pen) == pytest.approx(drawn, rel=1e-12)


@pytest.mark.parametrize(("line_mm", "stroke_mm"), [(0.45, 0.7), (0.54, 0.9), (0.9, 1.4)])
def test_strokes_are_one_line_and_a_half_wide(line_mm: float, stroke_mm: float) -> None:
    """Whatever the printer's line: 1.5 of them, in steps of 0.1; narrower strokes close up."""
    tile = sample_tile(2, 2, line_mm=line_mm)
    texts = place_signs(tile, lip_pieces(tile)).texts
    assert min(text.pen.stroke_mm for text in texts) >= 1.5 * line_mm - 1e-9
    assert min(pen.stroke_mm for pen in _pens(line_mm)) == pytest.approx(stroke_mm)


@pytest.mark.parametrize("name", TILES)
def test_figures_leave_the_first_layer_whole(name: str) -> None:
    """Signs and numbers part nothing from the lip: a loose piece of a few tenths of a square
    millimetre would be torn off the bed."""
    tile = TILES[name]()
    pieces = lip_pieces(tile)
    stays = [piece.shape.buffer(-0.05) for piece in pieces if not piece.dropped]
    texts = shapely.union_all(
        [
            shapely.Polygon(loop_points_mm(loop, 1e-2))
            for text in place_signs(tile, pieces).texts
            for loops in sign_loops(text)
            for loop in loops
        ]
    )
    face = shapely.get_parts(shapely.union_all(stays).difference(texts))
    assert len(face) == len(shapely.get_parts(shapely.union_all(stays)))
    assert min(part.area for part in face) > 5.0
