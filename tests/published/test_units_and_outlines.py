"""Units and outlines against the formats' own definitions."""

from __future__ import annotations

import math

import ezdxf
import pytest
import shapely
from ezdxf.units import InsertUnits

from generators.spaces.dxf import INSUNITS
from generators.spaces.opening import read_drawing
from generators.spaces.svg import UNITS_MM
from generators.spaces.units import MM, unit_named

# International yard and pound agreement, 1959: one inch is 25.4 mm exactly (from memory)
INCH_MM = 25.4


def test_units_are_those_of_the_definitions() -> None:
    """Inch and foot, and CSS's: 1in = 2.54cm = 96px = 72pt = 6pc (W3C, CSS Values and Units
    Module Level 3, 5.2 Absolute lengths; from memory)."""
    assert MM["in"] == INCH_MM
    assert unit_named("foot") == ("foot", pytest.approx(12 * INCH_MM))
    for word, in_an_inch in (("cm", 2.54), ("px", 96), ("pt", 72), ("pc", 6)):
        assert UNITS_MM[word] * in_an_inch == pytest.approx(INCH_MM, abs=1e-12)


def test_dxf_codes_are_those_of_an_independent_table() -> None:
    """$INSUNITS against the enumeration that ezdxf 1.4 gives (ezdxf.units.InsertUnits)."""
    names = {"in": "Inches", "foot": "Feet", "mm": "Millimeters", "cm": "Centimeters",
             "m": "Meters", "micron": "Microns"}  # fmt: skip
    assert {code: names[word] for code, word in INSUNITS.items()} == {
        code: InsertUnits(code).name for code in INSUNITS
    }


@pytest.mark.parametrize("angle_deg", [10, 90, 180, 270, 330])
def test_a_bulge_is_the_tangent_of_a_quarter_of_its_angle(tmp_path, angle_deg) -> None:
    """DXF reference, LWPOLYLINE group 42 (from memory): positive runs counter-clockwise. Area of
    the segment over a chord c: r^2 (a - sin a) / 2 with r = c / (2 sin(a / 2)) (plane geometry).
    """
    angle = math.radians(angle_deg)
    drawing = ezdxf.new("R2010", units=4)
    drawing.modelspace().add_lwpolyline(
        [(0, 0, math.tan(angle / 4)), (60, 0, 0), (60, 100, 0), (0, 100, 0)],
        format="xyb", close=True,
    )  # fmt: skip
    drawing.saveas(tmp_path / "bay.dxf")
    outline, _, _ = read_drawing(str(tmp_path / "bay.dxf"), "bay.dxf", None)
    radius = 60 / (2 * math.sin(angle / 2))
    segment = radius**2 * (angle - math.sin(angle)) / 2
    flat = 0.02 * radius * angle  # what 0.02 mm all along the arc makes
    assert 6000 + segment - flat <= shapely.Polygon(outline).area <= 6000 + segment + 1e-6
