"""Cavities for the placing tests, all invented: triangles, L, T, U, rounded boxes, frames."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import strategies as st
from scipy.spatial.distance import pdist
from shapely import Point, Polygon, box

from layouts.placing.values import PlacedCentres

PITCH_MM = 19.5
REACH_MM = 10.75


def ell(long: float, high: float, arm: float) -> Polygon:
    """An L with both arms equally wide."""
    return Polygon([(0, 0), (long, 0), (long, arm), (arm, arm), (arm, high), (0, high)])


def tee(long: float, high: float, bar: float, stem: float) -> Polygon:
    """A T: a bar on a stem."""
    return box(0, high - bar, long, high).union(box((long - stem) / 2, 0, (long + stem) / 2, high))


def you(long: float, high: float, arm: float, base: float) -> Polygon:
    """A U: two arms on a base."""
    return box(0, 0, long, high).difference(box(arm, base, long - arm, high + 1))


def rounded(long: float, high: float, radius: float) -> Polygon:
    """A box with rounded corners."""
    return box(radius, radius, long - radius, high - radius).buffer(radius, quad_segs=12)


def frame(long: float, high: float, hole: tuple[float, float, float, float]) -> Polygon:
    """A box with a box-shaped hole."""
    return box(0, 0, long, high).difference(box(*hole))


TRIANGLE = Polygon([(0, 0), (420, 0), (150, 300)])
OBSTACLES = TRIANGLE.difference(
    Point(170, 110).buffer(18 / np.cos(np.pi / 96), quad_segs=24)
).difference(box(280, -1, 310, 30))

SET: dict[str, Polygon] = {
    **{
        f"triangle {k}": Polygon([(0, 0), (base, 0), (tip, high)])
        for k, (base, tip, high) in enumerate(
            [(200, 60, 170), (150, 75, 130), (260, 0, 120), (180, 220, 150), (120, 10, 210),
             (140, 70, 121.2436)]
        )
    },
    **{
        f"L {k}": ell(*sizes)
        for k, sizes in enumerate(
            [(180, 150, 70), (140, 200, 55), (160, 160, 90), (210, 120, 45), (130, 130, 50)]
        )
    },
    **{
        f"T {k}": tee(*sizes)
        for k, sizes in enumerate(
            [(190, 150, 60, 70), (160, 180, 50, 50), (220, 120, 70, 90), (150, 150, 80, 45)]
        )
    },
    **{
        f"U {k}": you(*sizes)
        for k, sizes in enumerate(
            [(190, 140, 60, 50), (160, 170, 45, 60), (220, 110, 70, 45), (150, 150, 50, 90)]
        )
    },
    **{
        f"rounded {k}": rounded(*sizes)
        for k, sizes in enumerate(
            [(170, 120, 30), (140, 140, 60), (200, 80, 35), (120, 180, 20), (150, 150, 75)]
        )
    },
    **{
        f"frame {k}": frame(long, high, hole)
        for k, (long, high, hole) in enumerate(
            [(200, 150, (80, 60, 120, 100)), (170, 170, (60, 60, 110, 110)),
             (220, 120, (60, 40, 80, 70)), (150, 190, (40, 90, 110, 105)),
             (180, 140, (100, 20, 130, 120))]
        )
    },
    "turned box": Polygon([(0, 40), (160, 0), (190, 110), (30, 150)]),
    "arrow": Polygon([(0, 60), (110, 60), (110, 0), (220, 100), (110, 200), (110, 140), (0, 140)]),
}  # fmt: skip


def assert_sound(
    placed_centres: PlacedCentres, cavity: object, *, pitch_mm: float, reach_mm: float
) -> None:
    """Every cell inside with its reach, no two closer than the pitch, bound not beaten."""
    xy = placed_centres.xy_mm
    assert placed_centres.count <= placed_centres.bound
    if not len(xy):
        return
    assert shapely.contains_xy(cavity, xy[:, 0], xy[:, 1]).all()
    away = shapely.distance(shapely.points(xy), shapely.boundary(cavity))
    assert away.min() >= reach_mm - 1e-9
    if len(xy) > 1:
        assert pdist(xy).min() >= pitch_mm * (1 - 1e-9)


@st.composite
def stars(draw: st.DrawFn) -> Polygon:
    """Star-shaped polygons of 3 to 9 corners, 20 to 110 mm from their middle."""
    count = draw(st.integers(3, 9))
    turns = draw(st.lists(st.integers(2, 10), min_size=count, max_size=count))
    radii = draw(st.lists(st.integers(20, 110), min_size=count, max_size=count))
    angles = 2 * np.pi * np.cumsum(turns) / np.sum(turns)
    points = np.array(radii)[:, None] * np.column_stack([np.cos(angles), np.sin(angles)])
    made = shapely.make_valid(Polygon(points))
    return max(getattr(made, "geoms", [made]), key=lambda one: one.area)


@st.composite
def stepped(draw: st.DrawFn) -> Polygon:
    """L, T, U and the like: a box joined with boxes at its sides, sometimes with a hole."""
    size = st.integers(24, 90)
    made = box(0, 0, draw(size), draw(size))
    for _ in range(draw(st.integers(0, 2))):
        x, y = draw(st.integers(-20, 60)), draw(st.integers(-20, 60))
        made = made.union(box(x, y, x + draw(size), y + draw(size)))
    if draw(st.booleans()):
        x, y = made.representative_point().coords[0]
        made = made.difference(box(x - 3, y - 3, x + draw(st.integers(1, 20)), y + 3))
    return max(getattr(made, "geoms", [made]), key=lambda one: one.area)


CAVITIES = st.one_of(stars(), stepped())
