"""Outlines from DXF drawings."""

from __future__ import annotations

import math
from pathlib import Path

import ezdxf
import pytest
import shapely

from generators.spaces.drawing import rings
from generators.spaces.dxf import read_dxf
from generators.spaces.errors import UnreadableError
from generators.spaces.opening import read_drawing


@pytest.fixture
def drawn(tmp_path):
    """Call with a function that draws into a model space: the file."""

    def draw(make, **setup) -> Path:
        document = ezdxf.new("R2010", **{"units": 4, **setup})
        make(document.modelspace())
        document.saveas(tmp_path / "bay.dxf")
        return tmp_path / "bay.dxf"

    return draw


def area(file: Path) -> tuple[float, list[float]]:
    """Areas of the outline and of the holes, mm2."""
    outline, holes, _ = read_drawing(str(file), "bay.dxf", None)
    return shapely.Polygon(outline).area, [shapely.Polygon(hole).area for hole in holes]


def test_a_polyline_with_bulges_has_true_arcs(drawn) -> None:
    """A half circle out (bulge 1) and a quarter circle in: never larger than in truth."""
    quarter = math.tan(math.radians(90) / 4)
    file = drawn(
        lambda space: space.add_lwpolyline(
            [(0, 0, 0), (100, 0, 1), (100, 50, 0), (0, 50, -quarter)], format="xyb", close=True
        )
    )
    radius = 25 * math.sqrt(2)
    notch = math.pi * radius**2 / 4 - radius**2 / 2
    true = 5000 + math.pi * 25**2 / 2 - notch
    found, _ = area(file)
    assert true - 0.02 * 120 < found < true


def test_lines_and_arcs_join_end_to_end(drawn) -> None:
    """A slot of two lines and two arcs, with a round hole."""

    def slot(space) -> None:
        space.add_line((0, 0), (200, 0))
        space.add_arc((200, 40), 40, -90, 90)
        space.add_line((0, 80), (200, 80))
        space.add_arc((0, 40), 40, 90, 270)
        space.add_circle((100, 40), 15)

    found, holes = area(drawn(slot))
    true = 200 * 80 + math.pi * 1600
    assert true - 0.02 * 260 < found < true
    assert math.pi * 225 < holes[0] < math.pi * 225 + 0.02 * 100


def test_ellipses_splines_and_blocks(drawn) -> None:
    """A full ellipse, a closed spline through a circle's points, and a block placed and
    scaled."""
    found, _ = area(drawn(lambda space: space.add_ellipse((50, 20), (60, 0), 0.5)))
    assert found == pytest.approx(math.pi * 60 * 30, rel=1e-3)

    def spline(space) -> None:
        points = [(50 * math.cos(a * math.pi / 8), 50 * math.sin(a * math.pi / 8), 0)
                  for a in range(17)]  # fmt: skip
        space.add_spline(points)

    found, _ = area(drawn(spline))
    assert found == pytest.approx(math.pi * 2500, rel=2e-3)

    def block(space) -> None:
        part = space.doc.blocks.new("BAY")
        part.add_lwpolyline([(0, 0), (10, 0), (10, 5), (0, 5)], close=True)
        space.add_blockref("BAY", (100, 100), {"xscale": 4, "yscale": 6, "rotation": 30})

    found, _ = area(drawn(block))
    assert found == pytest.approx(40 * 30)


def test_the_drawings_own_unit_is_used(drawn) -> None:
    """$INSUNITS 1 is inches; a contradicting unit is refused, the same one is fine."""
    box = [(0, 0), (10, 0), (10, 5), (0, 5)]
    file = drawn(lambda space: space.add_lwpolyline(box, close=True), units=1)
    assert read_dxf(file).unit == ("in", 25.4)
    assert area(file)[0] == pytest.approx(50 * 25.4**2)
    read_drawing(str(file), "bay.dxf", "in")
    with pytest.raises(UnreadableError, match=r"contradicts bay\.dxf, which is in in") as caught:
        read_drawing(str(file), "bay.dxf", "mm")
    assert caught.value.key == ("units",)


def test_a_drawing_without_unit_is_asked_by_its_size(drawn) -> None:
    """10 x 5 of nothing can't be mm; said to be inches, it is taken."""
    box = [(0, 0), (10, 0), (10, 5), (0, 5)]
    file = drawn(lambda space: space.add_lwpolyline(box, close=True), units=0)
    with pytest.raises(UnreadableError, match=r"is 10 x 5 mm if its unit is mm, too small") as told:
        read_drawing(str(file), "bay.dxf", None)
    assert "in (254 x 127 mm)" in told.value.remedy
    outline, _, _ = read_drawing(str(file), "bay.dxf", "in")
    assert shapely.Polygon(outline).bounds == pytest.approx((0, 0, 254, 127))


def test_texts_and_hidden_layers_are_passed_over_and_told(drawn) -> None:
    """Only what shows as a line counts."""

    def draw(space) -> None:
        space.add_lwpolyline([(0, 0), (100, 0), (100, 50), (0, 50)], close=True)
        space.add_text("BAY")
        space.doc.layers.add("help").off()
        space.add_line((0, 0), (100, 50), dxfattribs={"layer": "help"})

    outline, holes, notes = read_drawing(str(drawn(draw)), "bay.dxf", None)
    assert shapely.Polygon(outline).area == 5000 and not holes
    assert notes == ("bay.dxf: ignored 1 TEXT, 1 on hidden layers",)


def test_an_open_outline_is_refused_with_its_ends(drawn) -> None:
    """Three sides of a rectangle."""
    file = drawn(lambda space: space.add_lwpolyline([(0, 0), (100, 0), (100, 50), (0, 50)]))
    with pytest.raises(UnreadableError, match=r"2 loose ends \(at \[0, 0\], \[0, 50\], the near"):
        read_drawing(str(file), "bay.dxf", None)


def test_damaged_and_empty_drawings_are_refused(drawn, tmp_path) -> None:
    """No lines; not a DXF file at all; cut off in the middle; a unit nobody builds in."""
    with pytest.raises(UnreadableError, match="contains no line"):
        read_dxf(drawn(lambda space: space.add_text("nothing")))
    whole = drawn(lambda space: space.add_circle((0, 0), 50)).read_bytes()
    for data in (b"", b"junk", whole[: len(whole) // 2]):
        file = tmp_path / "broken.dxf"
        file.write_bytes(data)
        with pytest.raises(UnreadableError):
            read_dxf(file)
    with pytest.raises(UnreadableError, match="unsuitable unit"):
        read_dxf(drawn(lambda space: space.add_circle((0, 0), 50), units=20))


def test_the_largest_loop_is_the_outline(drawn) -> None:
    """Holes may be drawn first."""

    def draw(space) -> None:
        space.add_circle((50, 25), 10)
        space.add_lwpolyline([(0, 0), (100, 0), (100, 50), (0, 50)], close=True)

    outline, holes = rings(read_dxf(drawn(draw)).strokes, 1.0)
    assert shapely.Polygon(outline).area == 5000 and len(holes) == 1


SQUARE = [(0, 0), (100, 0), (100, 100), (0, 100)]


def spline(space, points, *, degree=3, knots=None, weights=None, closed=True) -> None:
    """A B-spline by its control points, evenly spaced knots unless given."""
    one = space.add_spline()
    one.control_points = points
    one.knots = range(len(points) + degree + 1) if knots is None else knots
    one.weights = weights or []
    one.dxf.degree, one.closed = degree, closed


# Area inside the uniform cubic B-spline round a square of side a: 61/90 a2 (integral of x dy over
# its four equal pieces, worked out by hand); of second degree 5/6 a2.
@pytest.mark.parametrize(
    ("points", "degree", "true"),
    [
        (SQUARE + SQUARE[:3], 3, 61 / 90),
        (SQUARE, 3, 61 / 90),  # the file leaves the repeated points out
        (SQUARE + SQUARE[:2], 2, 5 / 6),
    ],
)
def test_closed_periodic_splines_are_read(drawn, points, degree, true) -> None:
    """The curve over its own range of knots, which closes; never larger than in truth."""
    found, _ = area(drawn(lambda space: spline(space, points, degree=degree)))
    assert true * 1e4 - 0.02 * 400 < found < true * 1e4


def test_a_circle_as_a_closed_rational_spline_is_one(drawn) -> None:
    """Nine points, weights 1 and sqrt(1/2), knots clamped: an exact circle (a textbook's)."""
    ring = [(50, 0), (50, 50), (0, 50), (-50, 50), (-50, 0), (-50, -50), (0, -50), (50, -50)]
    weights = [1, math.sqrt(0.5)] * 4 + [1]
    knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]
    file = drawn(
        lambda space: spline(space, [*ring, ring[0]], degree=2, knots=knots, weights=weights)
    )
    found, _ = area(file)
    assert math.pi * 2500 - 0.02 * 320 < found < math.pi * 2500


def test_a_closed_spline_through_points_is_smooth_and_closed(drawn) -> None:
    """Sixteen points of a circle, no control points: within 1e-4 of its area."""

    def through(space) -> None:
        points = [(50 * math.cos(a * math.pi / 8), 50 * math.sin(a * math.pi / 8))
                  for a in range(16)]  # fmt: skip
        space.add_spline(points).closed = True

    found, _ = area(drawn(through))
    assert found == pytest.approx(math.pi * 2500, rel=2e-3)


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ({"knots": [0, 1, 2]}, "3 knots, 8 are needed"),
        ({"knots": [7, 6, 5, 4, 3, 2, 1, 0]}, "knots that do not rise"),
        ({"knots": [0] * 8}, "knots that do not rise"),
        ({"degree": 5}, "4 control points for degree 5"),
        ({"degree": 30}, "degree 30"),
        ({"weights": [1, 0, 1, 1]}, "a weight not above 0"),
        ({"weights": [1, 1]}, "2 weights for 4 control points"),
        ({"degree": 1, "knots": [0, 0, 1, 1, 2, 2]}, "a knot that cuts the curve in two"),
    ],
)
def test_damaged_splines_are_refused(drawn, options, told) -> None:
    """With what is wrong with them."""
    with pytest.raises(UnreadableError, match="contains a damaged SPLINE") as caught:
        read_dxf(drawn(lambda space: spline(space, SQUARE, **options)))
    assert told in (caught.value.value or "")


def test_a_block_that_is_not_there_is_told(drawn) -> None:
    """By its name, also where another block refers to it."""

    def draw(space) -> None:
        space.add_circle((0, 0), 50)
        space.doc.blocks.new("A").add_blockref("GONE", (0, 0))
        space.add_blockref("A", (0, 0))

    with pytest.raises(UnreadableError, match="a block that the file does not have") as caught:
        read_dxf(drawn(draw))
    assert caught.value.value == "block 'GONE'"


def test_a_tree_of_blocks_is_not_followed_without_end(drawn, monkeypatch) -> None:
    """Ten blocks in each of ten others, five times over, and nothing in them but texts."""
    monkeypatch.setattr("generators.spaces.dxf.MOST_ENTITIES", 200)

    def draw(space) -> None:
        space.add_circle((0, 0), 50)
        space.doc.blocks.new("B0").add_text("x")
        for level in range(1, 6):
            block = space.doc.blocks.new(f"B{level}")
            for place in range(10):
                block.add_blockref(f"B{level - 1}", (place, 0))
        space.add_blockref("B5", (0, 0))

    with pytest.raises(UnreadableError, match="contains more than 200 entities"):
        read_dxf(drawn(draw))
