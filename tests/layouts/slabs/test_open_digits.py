"""Figures without closed counters: sound outlines, areas, joins, and still told apart."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from layouts.slabs.digits import FIGURES, PENS, DigitPen, figure_loops, figure_size_mm
from layouts.slabs.open_digits import join_mm, open_figure_area_mm2, open_figure_loops
from layouts.slabs.profile import loop_area_mm2, loop_points_mm, segment_end, segment_start

WIDE = DigitPen(6.0, 1.2)  # of a nozzle of 0.8
EVERY = [(ch, pen) for pen in (*PENS, WIDE) for ch in FIGURES]
NAMES = [f"{ch}-{pen.height_mm:g}" for ch, pen in EVERY]
CHORD_MM = 1e-4
FAR_MM = 12.0


def shape(ch: str, pen: DigitPen) -> shapely.Geometry:
    """The figure as fine polygons."""
    loops = open_figure_loops(ch, pen)
    return shapely.union_all([shapely.Polygon(loop_points_mm(loop, CHORD_MM)) for loop in loops])


@pytest.mark.parametrize(("ch", "pen"), EVERY, ids=NAMES)
def test_outlines_are_sound_and_areas_agree(ch: str, pen: DigitPen) -> None:
    """Loops close, run counter-clockwise and hold nothing; closed formula and Green agree."""
    loops = open_figure_loops(ch, pen)
    for loop in loops:
        for a, b in zip(loop, loop[1:] + loop[:1], strict=True):
            assert math.dist(segment_end(a), segment_start(b)) < 1e-12
        assert shapely.Polygon(loop_points_mm(loop, CHORD_MM)).is_valid
        assert loop_area_mm2(loop) > 0
    drawn = sum(loop_area_mm2(loop) for loop in loops)
    assert open_figure_area_mm2(ch, pen) == pytest.approx(drawn, rel=1e-12)
    x0, y0, x1, y1 = shape(ch, pen).bounds
    assert max(-x0, x1) <= figure_size_mm(ch, pen)[0] / 2 + 1e-3
    if ch not in "08":  # their crowns are cut through
        assert y1 - y0 == pytest.approx(figure_size_mm(ch, pen)[1], abs=1e-3)


@pytest.mark.parametrize(("ch", "pen"), EVERY, ids=NAMES)
def test_no_piece_of_the_face_is_left_alone(ch: str, pen: DigitPen) -> None:
    """What lies round a figure is one piece, and no part of it hangs on a neck narrower than a
    join: with all that is narrower than any width up to it taken away, it still is one piece, but
    for crumbs of 0.05 mm2 where curves end."""
    face = shapely.box(-FAR_MM, -FAR_MM, FAR_MM, FAR_MM).difference(shape(ch, pen))
    assert face.geom_type == "Polygon"
    for width in np.arange(0.1, join_mm(pen), 0.05):
        cores = shapely.get_parts(face.buffer(-width / 2, 32))
        assert sorted(core.area for core in cores)[:-1] == pytest.approx(
            [0.0] * (len(cores) - 1), abs=0.05
        )


@pytest.mark.parametrize("pen", PENS, ids=lambda pen: f"{pen.height_mm:g}")
def test_every_two_figures_differ(pen: DigitPen) -> None:
    """By a good part of their area, and each keeps most of its closed form."""
    shapes = {ch: shape(ch, pen) for ch in FIGURES}
    for i, a in enumerate(FIGURES):
        for b in FIGURES[:i]:
            off = shapes[a].symmetric_difference(shapes[b]).area
            assert off > 0.15 * max(shapes[a].area, shapes[b].area), (a, b)
    for ch in "046889":
        closed = shapely.Polygon()
        for loop in figure_loops(ch, pen):
            closed = closed.symmetric_difference(shapely.Polygon(loop_points_mm(loop, 1e-3)))
        assert shapes[ch].intersection(closed).area > 0.65 * closed.area
