"""Free area of a weld window against shapely's own."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from layouts.strips.free_window import free_window_mm2


@pytest.mark.parametrize(
    ("angles", "half"),
    [((0.0, 180.0), 3.0), ((0.0, 180.0, 60.0), 3.0), ((0.0, 60.0, 120.0), 4.0), ((), 1.0)],
)
def test_rays_agree_with_polygons(angles: tuple[float, ...], half: float) -> None:
    """Strips as rectangles cut from a fine disc leave the same area."""
    window, past = 16.5, 5.0
    disc = shapely.Point(0, 0).buffer(window / 2, quad_segs=256)
    for angle in angles:
        strip = shapely.box(-past, -half, 40.0, half)
        disc = disc.difference(shapely.affinity.rotate(strip, angle, origin=(0, 0)))
    free = free_window_mm2(
        np.array([[*angles, 0.0]]),
        np.array([[*[half] * len(angles), 0.0]]),
        window_mm=window,
        past_mm=past,
    )
    assert free[0] == pytest.approx(disc.area, abs=1.0)


def test_a_strip_as_wide_as_the_window_leaves_nothing() -> None:
    """Nothing is left and nothing below nothing."""
    free = free_window_mm2(
        np.array([[0.0, 180.0]]), np.array([[9.0, 9.0]]), window_mm=16.5, past_mm=5.0
    )
    assert free[0] == pytest.approx(0.0, abs=1e-9)
