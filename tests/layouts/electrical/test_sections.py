"""Sections of strips, and the current rating of their metals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layouts.currents.strips import strip_network
from layouts.electrical.flows import shares
from layouts.electrical.sections import (
    density_limits,
    link_sections,
    section_of,
    strip_limit,
)
from layouts.formats import conductors
from layouts.strips.joining import BUS_SLOT_MM
from tests.layouts.electrical.packs import laid


def test_every_strip_material_has_a_limit() -> None:
    """Both tables have the same rows."""
    assert set(density_limits()) == set(conductors())


def test_a_nickel_strip_bears_its_section_times_the_limit() -> None:
    """8 x 0.2 mm, two layers: 3.2 mm2 at 7 A/mm2 are 22.4 A, by hand."""
    one = laid(2, 2)
    strip = replace(one.interconnect.strips[0], width_mm=8.0, thickness_mm=0.2, layers=2)
    section = section_of(one.pack, strip)
    assert section.own_mm2 == pytest.approx(3.2)
    assert section.continuous_rating_a == pytest.approx(22.4)
    assert section.ohm_mm == pytest.approx(9.60e-8 * 1e3 / 3.2)


def test_a_limit_of_the_users_wins() -> None:
    """Half the density, half the current."""
    one = laid(2, 2)
    careful = replace(one.pack, strip=replace(one.pack.strip, current_density_a_mm2=3.5))
    strip = one.interconnect.strips[0]
    assert section_of(careful, strip).continuous_rating_a == pytest.approx(
        section_of(one.pack, strip).continuous_rating_a / 2
    )


def test_copper_on_a_row_takes_its_part_by_conductance() -> None:
    """Nickel 10 x 0.2 under copper 6 (less the slot) x 0.5: by hand, copper is at its limit first.

    Conductances 2/9.60e-8 and 3/1.7241e-8 give copper 0.893 of the current; 3 mm2 at 15 A/mm2.
    """
    one = laid(2, 2)
    strip = replace(
        one.interconnect.strips[0], width_mm=10.0, thickness_mm=0.2, layers=1, bus_mm=0.5
    )
    section = section_of(one.pack, strip)
    assert section.bus_mm2 == pytest.approx((10.0 - BUS_SLOT_MM) * 0.5)
    part = (3 / 1.7241e-8) / (3 / 1.7241e-8 + 2 / 9.60e-8)
    assert part == pytest.approx(0.893, abs=5e-4)
    assert section.continuous_rating_a == pytest.approx(min(3 * 15 / part, 2 * 7 / (1 - part)))


@pytest.mark.parametrize("material", sorted(conductors()))
def test_every_material_makes_a_strip(material: str) -> None:
    """Its own resistivity and its own limit."""
    one = laid(2, 2)
    pack = replace(one.pack, strip=replace(one.pack.strip, material=material))
    strip = one.interconnect.strips[0]
    section = section_of(pack, strip)
    area = strip.width_mm * strip.thickness_mm * strip.layers
    assert section.continuous_rating_a == pytest.approx(density_limits()[material] * area)
    assert section.ohm_mm == pytest.approx(conductors()[material].ohm_m * 1e3 / area)


def test_links_are_told_in_the_networks_order() -> None:
    """Lengths times ohms a millimetre are the network's resistances."""
    one = laid(4, 3)
    network = strip_network(one.pack, one.cell_layout, one.interconnect)
    sections, lengths = link_sections(one.pack, one.cell_layout, one.interconnect)
    ohm = np.array([section.ohm_mm for _, section in sections]) * lengths
    assert ohm == pytest.approx(network.strips_of(network.network.link_ohm))


def test_the_limit_is_where_the_first_strip_is_at_its_own() -> None:
    """At the reported pack current one link is exactly at its rating, none above."""
    one = laid(4, 3)
    of = shares(strip_network(one.pack, one.cell_layout, one.interconnect), one.cell_layout.group)
    limit = strip_limit(one.pack, one.cell_layout, one.interconnect, of)
    assert limit is not None
    sections, _ = link_sections(one.pack, one.cell_layout, one.interconnect)
    used = np.abs(of.link_a(limit.pack_a)) / [
        section.continuous_rating_a for _, section in sections
    ]
    ends = np.abs(of.tail).max() * limit.pack_a / limit.continuous_rating_a
    assert max(used.max(), ends) == pytest.approx(1.0)
    assert limit.share_ratio * limit.pack_a == pytest.approx(limit.continuous_rating_a)


def test_a_pack_without_strips_has_no_limit() -> None:
    """Nothing laid, nothing flows in it."""
    one = laid(1, 1)
    bare = replace(one.interconnect, strips=())
    of = shares(strip_network(one.pack, one.cell_layout, bare), one.cell_layout.group)
    assert strip_limit(one.pack, one.cell_layout, bare, of) is None
