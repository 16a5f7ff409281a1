"""Cuts with labels: outlines of solids in a plane, material at a point, labels that keep apart."""

from __future__ import annotations

import itertools
import re

import numpy as np
import pytest

from generators.drawings.section import (
    Panel,
    SectionBlock,
    SectionLabel,
    cut_rings,
    is_cut,
    label_heights,
    section_drawing,
)
from generators.proofs.solids import mesh_solid
from tests.generators.drawings.shapes import box, drilled_plate


def test_labels_stay_where_there_is_room() -> None:
    """Far enough apart already, nothing moves."""
    assert label_heights([1.0, 5.0, 3.0], between=1.0, low=0.0, high=8.0) == [1.0, 5.0, 3.0]


@pytest.mark.parametrize("wanted", [[2.0, 2.0, 2.0, 2.1], [0.0, 0.1, 9.9, 10.0], [10.0] * 5])
def test_labels_keep_apart_in_their_order_and_within(wanted: list[float]) -> None:
    """Crowded ones move: at least one line apart, order kept, all within the panel."""
    heights = label_heights(wanted, between=1.5, low=0.0, high=10.0)
    order = np.argsort(wanted, kind="stable")
    placed = np.array(heights)[order]
    assert (np.diff(placed) >= 1.5 - 1e-9).all()
    assert placed[0] >= 0.75 - 1e-9 and placed[-1] <= 10.0 - 0.75 + 1e-9


def test_more_labels_than_room_are_stacked_from_below() -> None:
    """Without space for all they still keep apart."""
    heights = label_heights([1.0] * 5, between=1.0, low=0.0, high=2.0)
    assert sorted(heights) == pytest.approx([0.5, 1.5, 2.5, 3.5, 4.5])


def test_a_cut_along_x_and_one_along_y_show_different_sides() -> None:
    """A box 4 by 6 by 2 is 4 wide along x, 6 wide along y, at the right height."""
    solid = mesh_solid(*box((1, 2, 3), (5, 8, 5)))
    (along,) = cut_rings(solid, (3.0, 4.0), across=False)
    (across,) = cut_rings(solid, (3.0, 4.0), across=True)
    for ring, low, high in ((along, (1, 3), (5, 5)), (across, (2, 3), (8, 5))):
        assert ring.min(axis=0) == pytest.approx(low, abs=1e-5)
        assert ring.max(axis=0) == pytest.approx(high, abs=1e-5)
    assert cut_rings(solid, (9.0, 9.0), across=True) == ()


def test_material_is_told_from_a_hole() -> None:
    """Through a plate with a hole: material on both sides of it, none within or beyond."""
    rings = cut_rings(mesh_solid(*drilled_plate(10, 4, 3)), (0.0, 0.0), across=False)
    asked = {
        (-7.0, 1.5): True,
        (7.0, 1.5): True,
        (0.0, 1.5): False,
        (12.0, 1.5): False,
        (7.0, 3.5): False,
    }
    assert {point: is_cut(rings, point) for point in asked} == asked


def test_a_panel_shows_its_words_apart_and_within_the_picture() -> None:
    """Every label is written once, at lines of its own, right of the cut, inside the view box."""
    solid = mesh_solid(*box((0, -5, 0), (20, 5, 4)))
    texts = ("upper & more", "middle", "lower")
    svg = section_drawing(
        [
            Panel(
                title="a cut",
                cuts=(cut_rings(solid, (0.0, 0.0), across=False),),
                low_mm=(0.0, -2.0),
                high_mm=(20.0, 8.0),
                blocks=(SectionBlock(kind="strip", u0_mm=2, u1_mm=9, z0_mm=-1, z1_mm=-0.7),),
                labels=tuple(SectionLabel(text=text, to_mm=(10.0, 2.0)) for text in texts),
            )
        ],
        title="cuts",
    )
    assert "upper &amp; more" in svg and svg.count("url(#ha)") == 1
    words = re.findall(r'<text x="([\d.]+)" y="(-?[\d.]+)" font-size="([\d.]+)"[^>]*>([^<]+)', svg)
    labels = [(float(x), float(y), float(size)) for x, y, size, text in words if text != "a cut"]
    assert len(labels) == 3 and all(x > 20.0 for x, _, _ in labels)
    for (_, y0, size), (_, y1, _) in itertools.combinations(labels, 2):
        assert abs(y0 - y1) > 1.2 * size
    box_ = re.search(r'viewBox="([-\d. ]+)"', svg)
    assert box_ is not None
    x0, _, wide, _ = map(float, box_.group(1).split())
    # letters are at most about 0.6 of their size wide
    longest = max(labels)[0] + 0.6 * labels[0][2] * max(map(len, texts))
    assert longest <= x0 + wide
