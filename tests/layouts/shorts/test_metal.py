"""Loose metal of screws that lie on their sides: as high and as wide as they are."""

from __future__ import annotations

import pytest
import shapely

from layouts.parts.fasteners import Into
from layouts.shorts.metal import metal_parts
from tests.layouts.enclosed import enclosed


def test_an_insert_on_its_side_reaches_its_radius_about_its_axis() -> None:
    """Mounting pads' inserts: above and below the axis alike, and across it in the plan."""
    e = enclosed("5S1P")
    lying = [one for one in e.screws if one.into is Into.INSERT and not one.upright]
    metal = metal_parts(e.pack, e.cell_layout, e.cell_block, lying).parts
    assert lying
    for one in lying:
        names = [metal.name(k) for k in range(len(metal.shapes))]
        found = [
            k
            for k, name in enumerate(names)
            if name == f"insert of {one.name}"
            and metal.shapes[k].distance(shapely.Point(one.point(-one.through_mm - 1.0))) < 0.5
        ]
        radius = one.size.insert_hole_diameter_mm / 2
        assert found
        for k in found:
            assert metal.low_mm[k] == pytest.approx(one.at_mm[2] - radius)
            assert metal.high_mm[k] == pytest.approx(one.at_mm[2] + radius)
            x0, y0, x1, y1 = metal.shapes[k].bounds
            along = abs(float(one.out[0])) > 0.5
            assert (y1 - y0 if along else x1 - x0) == pytest.approx(2 * radius)
