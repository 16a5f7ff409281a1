"""Strips warmer than the cans they are welded to."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts.currents.strips import strip_network
from layouts.electrical.fin import fin_rise_k
from layouts.electrical.flows import shares
from layouts.electrical.strip_heat import strip_rise
from tests.layouts.electrical.packs import laid


def test_a_fin_without_air_is_a_rod_that_heats_evenly() -> None:
    """q L^2/(8 k A) in the middle (steady conduction, any textbook): 2 W/m over 20 mm."""
    rise = fin_rise_k(w_m=2.0, length_m=0.02, width_m=0.008, heat_w_m_k=2.0e-4, film_w_m2k=1e-6)
    assert rise == pytest.approx(2.0 * 0.02**2 / (8 * 2.0e-4), rel=1e-3)


def test_a_long_fin_gives_all_its_heat_to_the_air() -> None:
    """q/(h w), far from its ends."""
    rise = fin_rise_k(w_m=2.0, length_m=5.0, width_m=0.008, heat_w_m_k=2e-4, film_w_m2k=5.0)
    assert rise == pytest.approx(2.0 / (5.0 * 0.008), rel=1e-6)


def test_a_packs_strips_warm_with_the_square_of_the_load() -> None:
    """Twice the current, four times the rise over the cans; hotter cans, more resistance."""
    one = laid(4, 3)
    of = shares(strip_network(one.pack, one.cell_layout, one.interconnect), one.cell_layout.group)

    def rise(load_a: float, can_c: float) -> float:
        found = strip_rise(
            one.pack, one.cell_layout, one.interconnect, of, load_a=load_a, can_c=can_c
        )
        assert found is not None
        assert found.temperature_c == pytest.approx(can_c + found.rise_k)
        return found.rise_k

    assert rise(20.0, 40.0) == pytest.approx(4 * rise(10.0, 40.0))
    assert rise(10.0, 60.0) > rise(10.0, 40.0)


def test_a_pack_without_strips_has_none() -> None:
    """One cell, nothing laid."""
    one = laid(1, 1)
    bare = replace(one.interconnect, strips=())
    of = shares(strip_network(one.pack, one.cell_layout, bare), one.cell_layout.group)
    assert strip_rise(one.pack, one.cell_layout, bare, of, load_a=5.0, can_c=30.0) is None
