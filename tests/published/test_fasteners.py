"""The table of screws against the standards' values, line by line.

The rows below are the standards' typed a second time: equality only shows a slip of the pen or a
change. What one standard says of another's row, and what other sources print, is tested beside.
"""

from __future__ import annotations

import math

import pytest

from layouts.formats import low_heads, screws

# ISO 273, clearance holes, medium series (H13), as tabulated by engineeringhardware
ISO_273_MEDIUM = {"M3": 3.4, "M4": 4.5, "M5": 5.5, "M6": 6.6, "M8": 9.0}
# ISO 273, fine (H12) and coarse (H14) series, same table
ISO_273_FINE = {"M3": 3.2, "M4": 4.3, "M5": 5.3, "M6": 6.4, "M8": 8.4}
ISO_273_COARSE = {"M3": 3.6, "M4": 4.8, "M5": 5.8, "M6": 7.0, "M8": 10.0}

# ISO 4762, socket head cap screws: plain head dk max, height k max, key s
# (as tabulated by engineeringhardware)
ISO_4762 = {
    "M3": (5.5, 3.0, 2.5),
    "M4": (7.0, 4.0, 3.0),
    "M5": (8.5, 5.0, 4.0),
    "M6": (10.0, 6.0, 5.0),
    "M8": (13.0, 8.0, 6.0),
}
# ISO 4762, knurled head dk max (as tabulated by geartoolkit)
ISO_4762_KNURLED = {"M3": 5.68, "M4": 7.22, "M5": 8.72, "M6": 10.22, "M8": 13.27}

# BS EN ISO 4032:2001 Table 1, hexagon nuts style 1: s max, m max, e min
# (as reproduced by engineersedge)
ISO_4032 = {
    "M3": (5.5, 2.4, 6.01),
    "M4": (7.0, 3.2, 7.66),
    "M5": (8.0, 4.7, 8.79),
    "M6": (10.0, 5.2, 11.05),
    "M8": (13.0, 6.8, 14.38),
}

# ISO 7089, plain washers: hole d1, outside d2, thickness h (as tabulated by engineeringhardware)
ISO_7089 = {
    "M3": (3.2, 7.0, 0.5),
    "M4": (4.3, 9.0, 0.8),
    "M5": (5.3, 10.0, 1.0),
    "M6": (6.4, 12.0, 1.6),
    "M8": (8.4, 16.0, 1.6),
}

# ISO 286, tolerance grade 13 up to 6, 10 and 18 mm (public tables of tolerances)
ISO_286_IT13 = ((6.0, 0.18), (10.0, 0.22), (18.0, 0.27))

# Pilot holes of heat-set inserts, +0.1/-0 (one maker's chart; typical, families differ)
INSERT_HOLE = {"M3": 4.0, "M4": 5.6, "M5": 6.4, "M6": 8.0}
# Depth of the hole (a chart for another family of inserts): insert length + 0.5
INSERT_DEEP = {"M3": 6.2, "M4": 8.6, "M5": 10.0, "M6": 13.2, "M8": 15.0}
INSERT_LONG = {"M3": 5.7, "M4": 8.1, "M5": 9.5}  # usual lengths by yet another source
# Boss round an insert: 2 x the insert's outside (a design note on heat-set inserts); outsides
# from the first chart
INSERT_OUTSIDE = {"M3": 4.4, "M4": 6.1, "M5": 7.1, "M6": 8.5}

EACH = pytest.mark.parametrize("screw", sorted(screws()))


@EACH
def test_clearance_holes_are_the_medium_series(screw: str) -> None:
    """Exactly ISO 273 medium, and so between fine and coarse."""
    assert screws()[screw].clearance_diameter_mm == ISO_273_MEDIUM[screw]
    assert ISO_273_FINE[screw] < screws()[screw].clearance_diameter_mm < ISO_273_COARSE[screw]


@EACH
def test_heads_and_keys(screw: str) -> None:
    """Head height and key as in ISO 4762; the diameter is the knurled head's, the larger one."""
    plain, high, key = ISO_4762[screw]
    row = screws()[screw]
    assert (row.head_high_mm, row.key_mm) == (high, key)
    assert row.head_diameter_mm == ISO_4762_KNURLED[screw] > plain
    # knurls stand out by the tolerance grade 13 of the head's size; the head is as high as the
    # thread is thick
    grade = next(mm for most, mm in ISO_286_IT13 if plain <= most)
    assert row.head_diameter_mm - plain == pytest.approx(grade, abs=1e-9)
    assert row.head_high_mm == float(screw[1:])


@EACH
def test_low_heads_are_lower_and_broader(screw: str) -> None:
    """Against those of ISO 4762: about half as high, a smaller key, as wide or wider."""
    low, full = low_heads()[screw], screws()[screw]
    assert 0.5 * full.head_high_mm <= low.head_high_mm <= 0.56 * full.head_high_mm
    assert low.key_mm < full.key_mm
    assert low.head_diameter_mm > ISO_4762[screw][0]


@EACH
def test_nuts(screw: str) -> None:
    """Greatest width across flats and height as in ISO 4032."""
    flats, high, across_corners = ISO_4032[screw]
    assert (screws()[screw].nut_flats_mm, screws()[screw].nut_high_mm) == (flats, high)
    # a trap with sharp corners, s / cos 30 degrees, lets the nut's own corners in
    assert flats / math.cos(math.radians(30)) > across_corners


@EACH
def test_washers(screw: str) -> None:
    """Outside and thickness as in ISO 7089; a washer covers the clearance hole well."""
    hole, outside, high = ISO_7089[screw]
    row = screws()[screw]
    assert (row.washer_diameter_mm, row.washer_high_mm) == (outside, high)
    assert hole < row.clearance_diameter_mm < outside
    assert hole == ISO_273_FINE[screw]  # two standards, one series of holes
    assert row.head_diameter_mm <= outside


@pytest.mark.parametrize("screw", sorted(INSERT_HOLE))
def test_insert_holes_and_bosses_are_typical(screw: str) -> None:
    """Hole and depth as in public charts; the boss is about twice the insert's outside."""
    row = screws()[screw]
    assert row.insert_hole_diameter_mm == INSERT_HOLE[screw]
    assert row.insert_deep_mm == INSERT_DEEP[screw]
    # a public table of pull-out strengths names inserts of this length
    if screw in INSERT_LONG:
        assert row.insert_deep_mm - 0.5 == pytest.approx(INSERT_LONG[screw], abs=1e-9)
    # the note rounds to whole diameters, a boss to whole millimetres
    assert row.boss_diameter_mm == pytest.approx(2.0 * INSERT_OUTSIDE[screw], abs=0.5)


def test_threads_are_those_of_the_standards() -> None:
    """No row of the table is left without a published value."""
    assert set(screws()) == set(ISO_273_MEDIUM) == set(ISO_4762) == set(ISO_4032) == set(ISO_7089)
