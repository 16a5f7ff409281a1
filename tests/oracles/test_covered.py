"""Exact covered areas against plain geometry."""

from __future__ import annotations

import math

import pytest
import shapely

from layouts.slabs.areas import segment_area_mm2
from tests.oracles.covered import covered_area_mm2, rounded_parts


def test_rounded_rectangle() -> None:
    """Octagon and discs make up sides' product less the corners' (4 - pi) r2."""
    octagon, discs = rounded_parts(1.0, 2.0, 31.0, 22.0, 5.0)
    assert covered_area_mm2([octagon], discs) == pytest.approx(
        600.0 - (4 - math.pi) * 25.0, rel=1e-13
    )


def test_disc_half_over_an_edge() -> None:
    """A disc that stands out of a rectangle adds its segment."""
    square = shapely.box(0, 0, 20, 20)
    assert covered_area_mm2([square], [(21.0, 10.0, 4.0)]) == pytest.approx(
        400.0 + math.pi * 16.0 - segment_area_mm2(4.0, 1.0), rel=1e-13
    )


def test_lens_of_two_discs_counts_once() -> None:
    """Two equal discs r apart share a lens of (2 pi / 3 - sqrt(3) / 2) r2."""
    lens = (2 * math.pi / 3 - math.sqrt(3) / 2) * 9.0
    assert covered_area_mm2([], [(0, 0, 3.0), (3.0, 0, 3.0)]) == pytest.approx(
        18 * math.pi - lens, rel=1e-13
    )


def test_doubled_and_swallowed_discs_count_once() -> None:
    """A disc given twice, or within another, adds nothing."""
    discs = [(0.0, 0.0, 3.0), (0.0, 0.0, 3.0), (1.0, 0.0, 1.0)]
    assert covered_area_mm2([], discs) == pytest.approx(9 * math.pi, rel=1e-13)


def test_nothing_covers_nothing() -> None:
    """No shapes, no area."""
    assert covered_area_mm2([], []) == 0.0
