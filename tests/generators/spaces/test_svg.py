"""Outlines from SVG drawings."""

from __future__ import annotations

import math

import pytest
import shapely

from generators.spaces.errors import UnreadableError
from generators.spaces.opening import read_drawing

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" '
MM = HEAD + 'width="300mm" height="200mm" viewBox="0 0 300 200">'


@pytest.fixture
def drawn(tmp_path):
    """Call with an SVG text: outline and holes as polygons, and the notes."""

    def read(text: str, units: str | None = None):
        file = tmp_path / "bay.svg"
        file.write_text(text, encoding="utf-8")
        outline, holes, notes = read_drawing(str(file), "bay.svg", units)
        return shapely.Polygon(outline), [shapely.Polygon(hole) for hole in holes], notes

    return read


def test_a_rect_stands_upright_in_mm(drawn) -> None:
    """SVG's y runs down; the page's lower left becomes the origin."""
    outline, holes, notes = drawn(MM + '<rect x="10" y="20" width="200" height="100"/></svg>')
    assert outline.equals(shapely.box(10, 80, 210, 180))
    assert not holes and not notes


def test_shapes_transforms_and_rounded_corners(drawn) -> None:
    """A group moved, corners rounded, a circle squeezed to an ellipse: on the free side."""
    outline, holes, _ = drawn(
        MM + '<g transform="translate(10,10)"><rect width="200" height="100" rx="10"/>'
        '<circle cx="50" cy="40" r="20" transform="scale(1 .5)"/></g></svg>'
    )
    true = 20000 - 100 * (4 - math.pi)
    assert true - 0.02 * 70 < outline.area < true
    assert math.pi * 200 < holes[0].area < math.pi * 200 + 0.02 * 110


@pytest.mark.parametrize(
    ("page", "factor"),
    [
        ('width="20cm" height="10cm" viewBox="0 0 200 100"', 1.0),
        ('width="8in" height="4in" viewBox="0 0 8 4"', 25.4),
        ('width="2000px" height="1000px"', 25.4 / 96),
        ('width="300mm" height="100mm" viewBox="0 0 150 50"', 2.0),
    ],
)
def test_the_page_says_the_unit(drawn, page, factor) -> None:
    """Length of a user unit = page over view; a CSS pixel is 1/96 inch."""
    outline, _, _ = drawn(HEAD + page + '><polygon points="0,0 100,0 100,80 0,80"/></svg>', None)
    assert outline.area == pytest.approx(8000 * factor**2)


def test_a_page_without_length_is_asked(drawn) -> None:
    """The sizes that each unit would give stand in the message; units answers it."""
    text = HEAD + 'viewBox="0 0 30 20"><rect width="12" height="8"/></svg>'
    with pytest.raises(UnreadableError, match="does not give its units") as caught:
        drawn(text)
    assert "cm (120 x 80 mm)" in caught.value.remedy and "in (305 x 203 mm)" in caught.value.remedy
    outline, _, _ = drawn(text, "cm")
    assert outline.bounds == pytest.approx((0, 120, 120, 200))


def test_a_unit_that_contradicts_the_page_is_refused(drawn) -> None:
    """The page is in mm and says so."""
    text = MM + '<rect width="100" height="100"/></svg>'
    with pytest.raises(UnreadableError, match=r"contradicts bay\.svg, which is in mm"):
        drawn(text, "in")
    assert drawn(text, "mm")[0].area == 10000


def test_paths_with_arcs_and_curves(drawn) -> None:
    """An arc, a cubic and a quadratic, closed; relative and absolute."""
    outline, _, _ = drawn(MM + '<path d="M10 10 h100 v50 a30 30 0 0 1 -30 30 h-70 z"/></svg>')
    true = 100 * 80 - 900 * (1 - math.pi / 4)
    assert true - 0.02 * 50 < outline.area < true
    # area under a parabola's segment: 2/3 of chord times height (Archimedes)
    outline, _, _ = drawn(MM + '<path d="M0 100 L 120 100 Q 60 -20 0 100"/></svg>')
    assert outline.area == pytest.approx(120 * 60 * 2 / 3, rel=1e-3)
    assert outline.area < 120 * 60 * 2 / 3


def test_hidden_shapes_and_texts_are_passed_over(drawn) -> None:
    """Only what shows counts, and what does not is reported."""
    outline, holes, notes = drawn(
        MM + '<rect width="100" height="100"/><text x="5" y="5">bay</text>'
        '<rect style="display: none" width="50" height="50"/>'
        '<g visibility="hidden"><rect width="50" height="50"/></g></svg>'
    )
    assert outline.area == 10000 and not holes
    assert notes == ("bay.svg: ignored 1 hidden, 1 text",)


@pytest.mark.filterwarnings("ignore:invalid value")  # of sums with infinite numbers
@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("junk", "is not readable as SVG"),
        (MM + "<rect", "is not readable as SVG"),
        ("<page><rect width='90' height='90'/></page>", "is not readable as SVG"),
        (MM + '<path d="M0 0 H1e999 V50 Z"/></svg>', r"is not readable|not finite"),
        (MM + "<g>" * 20_000 + "</g>" * 20_000 + "</svg>", "is not readable as SVG"),
        (HEAD + 'width="0mm" height="5mm" viewBox="0 0 1 1"/>', "is not readable as SVG"),
        (MM + "<text>bay</text></svg>", "contains no visible path"),
        (MM + '<path d="M0 0 H100 V50 H0"/></svg>', "does not close: 2 loose ends"),
    ],
)
def test_drawings_that_cannot_be_used(drawn, text, why) -> None:
    """Damaged, empty, open."""
    with pytest.raises(UnreadableError, match=why):
        drawn(text)
