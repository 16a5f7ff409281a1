"""Sheet metal against handbook figures and sums by hand."""

from __future__ import annotations

import math

import pytest

from layouts.formats import sheet_metals
from layouts.parts.metal_piece import Bend, flat_length_mm

# K-factor table of a public site on sheet metal that names Machinery's Handbook, 26th edition;
# inside radii 0.76 to 4.8 mm: least and greatest of each metal
HANDBOOK_K = {"aluminium": (0.380, 0.407), "steel": (0.420, 0.467), "stainless": (0.438, 0.483)}


def test_a_channel_has_the_length_of_its_neutral_line() -> None:
    """60 + 120 + 60 outside, 3 thick, radius 3, K 0.40: legs between the bends and two arcs."""
    straight = (60.0 - 6.0) + (120.0 - 12.0) + (60.0 - 6.0)  # each bend takes 3 + 3 of a leg
    arcs = 2.0 * math.pi / 2.0 * (3.0 + 0.40 * 3.0)
    assert arcs / 2.0 == pytest.approx(6.597, abs=0.0005)
    assert straight + arcs == pytest.approx(229.195, abs=0.0005)
    found = flat_length_mm(
        (60.0, 120.0, 60.0), thickness_mm=3.0, inside_radius_mm=3.0, k_factor=0.40
    )
    assert found == pytest.approx(straight + arcs, abs=1e-9)
    bend = Bend(
        start=(0, 0), end=(0, 40), angle_deg=90.0, inside_radius_mm=3.0, k_factor=0.40
    )  # fmt: skip
    assert bend.allowance_mm(3.0) == pytest.approx(arcs / 2.0, abs=1e-12)


@pytest.mark.parametrize("angle_deg", [30.0, 60.0, 120.0])
def test_other_angles_are_the_neutral_line_too(angle_deg: float) -> None:
    """Legs counted to the outside corner, where both outside faces would meet."""
    t, r, k, a = 2.0, 4.0, 0.45, math.radians(angle_deg)
    straight = 50.0 + 30.0 - 2.0 * (r + t) * math.tan(a / 2.0)
    found = flat_length_mm(
        (50.0, 30.0), thickness_mm=t, inside_radius_mm=r, k_factor=k, angle_deg=angle_deg
    )
    assert found == pytest.approx(straight + a * (r + k * t), abs=1e-9)


def test_default_k_factors_are_within_the_handbook_s() -> None:
    """Of every metal of the table, by its kind."""
    for metal in sheet_metals().values():
        least, most = HANDBOOK_K[metal.kind]
        assert least <= metal.k_factor <= most, metal.metal


def test_metals_have_their_kind_s_density_and_modulus() -> None:
    """Handbook ranges, from memory: aluminium, steel, stainless."""
    ranges = {
        "aluminium": ((2.64, 2.82), (69e3, 73e3)),
        "steel": ((7.80, 7.90), (200e3, 215e3)),
        "stainless": ((7.85, 8.05), (190e3, 205e3)),
    }
    for metal in sheet_metals().values():
        (low, high), (soft, stiff) = ranges[metal.kind]
        assert low <= metal.density_g_cm3 <= high
        assert soft <= metal.modulus_mpa <= stiff
        assert 50 < metal.yield_mpa < 500
        assert list(metal.stock_mm) == sorted(set(metal.stock_mm))
