"""The lid as a solid."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts.enclosures.box.lid import lid_drawing, lid_features, lid_parts
from layouts.enclosures.box.tub import tub_parts
from tests.layouts.enclosed import PACKS, enclosed
from tests.layouts.enclosures.box.test_seams import BEDS, cut_pack
from tests.layouts.parts.sound_parts import (
    assert_every_feature_counts,
    assert_sound,
    manifold,
    placed,
)
from tests.oracles.lid_formula import lid_formula_mm3
from tests.oracles.tub_formula import tub_formula_mm3


@pytest.mark.parametrize("name", PACKS)
def test_lid_is_one_sound_solid(name: str) -> None:
    """Valid, one body, formula's volume, placed on the rim with its outer face on top."""
    design = enclosed(name).design
    (part,) = lid_parts(design)
    body = placed(part, assert_sound(part, lid_formula_mm3(design)))
    assert body.bounds[1][2] == pytest.approx(design.z_lid_mm)
    assert body.bounds[0][2] == pytest.approx(design.z_rim_mm - design.skirt_deep_mm)


@pytest.mark.parametrize("name", ["10S4P", "1S1P"])
def test_lid_lies_on_the_tub_and_in_nothing(name: str) -> None:
    """Placed lid and tub touch at the rim and share no volume; 0.1 lower they would."""
    design = enclosed(name).design
    (lid_part,), (tub_part,) = lid_parts(design), tub_parts(design)
    lid = placed(lid_part, assert_sound(lid_part, lid_formula_mm3(design)))
    tub = placed(tub_part, assert_sound(tub_part, tub_formula_mm3(design)))
    assert abs((manifold(lid) ^ manifold(tub)).volume()) < 0.01
    lid.apply_translation((0.0, 0.0, -0.1))
    assert (manifold(lid) ^ manifold(tub)).volume() > 1.0


def test_holes_lie_over_the_inserts() -> None:
    """The placed lid's holes stand over the tub's bosses: a screw's axis meets no material."""
    design = enclosed("10S4P").design
    (part,) = lid_parts(design)
    body = placed(part, assert_sound(part, lid_formula_mm3(design)))
    for boss in design.bosses:
        inside = body.contains([(boss.x_mm, boss.y_mm, design.z_rim_mm + design.lid_mm / 2)])
        assert bool(inside[0]) != boss.screw


def test_formula_notices_a_changed_part() -> None:
    """A hole, pad or drip skirt more or less shows in the volume."""
    design = enclosed("5S1P").design
    true = lid_formula_mm3(design)
    for other in (
        replace(design, support_pads_lid=design.support_pads_lid[1:]),
        replace(design, skirts=design.skirts[1:]),
        replace(design, lid_hole_radius_mm=design.lid_hole_radius_mm + 0.01),
    ):
        assert abs(lid_drawing(other).body.volume_mm3() - true) > 1e-6 * true


@pytest.mark.parametrize("name", ["10S4P", "1S1P"])
def test_every_feature_changes_the_volume(name: str) -> None:
    """A feature left out of the lid's list shows in its volume."""
    assert_every_feature_counts(lid_features(enclosed(name).design))


@pytest.mark.one_in(2)
@pytest.mark.parametrize("bed", BEDS)
def test_pieces_are_sound_and_share_no_volume(bed: str) -> None:
    """Every piece valid and by its formula; placed, none meets another or a piece of the tub."""
    design = cut_pack(bed).design
    bodies = [
        manifold(placed(part, assert_sound(part, formula_mm3(design, k))))
        for parts, formula_mm3 in (
            (lid_parts(design), lid_formula_mm3),
            (tub_parts(design), tub_formula_mm3),
        )
        for k, part in enumerate(parts)
    ]
    for k, one in enumerate(bodies):
        for other in bodies[:k]:
            assert abs((one ^ other).volume()) < 0.01
