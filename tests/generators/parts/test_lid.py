"""The lid as a solid."""

from __future__ import annotations

from dataclasses import replace

import manifold3d
import numpy as np
import pytest
import trimesh

from generators.parts.lid import lid_body, lid_formula_mm3, lid_part
from generators.parts.tub import tub_part
from tests.generators.parts.enclosure_proofs import assert_sound, placed
from tests.layouts.enclosed import PACKS, enclosed


def _manifold(body: trimesh.Trimesh) -> manifold3d.Manifold:
    return manifold3d.Manifold(
        manifold3d.Mesh64(np.asarray(body.vertices), np.asarray(body.faces, np.uint64))
    )


@pytest.mark.parametrize("name", PACKS)
def test_lid_is_one_sound_solid(name: str) -> None:
    """Valid, one body, formula's volume, placed on the rim with its outer face on top."""
    design = enclosed(name).design
    part = lid_part(design)
    body = placed(part, assert_sound(part))
    assert body.bounds[1][2] == pytest.approx(design.z_lid_mm)
    assert body.bounds[0][2] == pytest.approx(design.z_rim_mm - design.skirt_deep_mm)


@pytest.mark.parametrize("name", ["10S4P", "1S1P"])
def test_lid_lies_on_the_tub_and_in_nothing(name: str) -> None:
    """Placed lid and tub touch at the rim and share no volume; 0.1 lower they would."""
    design = enclosed(name).design
    lid, tub = (
        placed(part, assert_sound(part)) for part in (lid_part(design), tub_part(design))
    )
    assert abs((_manifold(lid) ^ _manifold(tub)).volume()) < 0.01
    lid.apply_translation((0.0, 0.0, -0.1))
    assert (_manifold(lid) ^ _manifold(tub)).volume() > 1.0


def test_holes_lie_over_the_inserts() -> None:
    """The placed lid's holes stand over the tub's columns: a screw's axis meets no material."""
    design = enclosed("10S4P").design
    part = lid_part(design)
    body = placed(part, assert_sound(part))
    for boss in design.bosses:
        inside = body.contains([(boss.x_mm, boss.y_mm, design.z_rim_mm + design.lid_mm / 2)])
        assert bool(inside[0]) != boss.screw


def test_formula_notices_a_changed_part() -> None:
    """A hole, pad or skirt more or less shows in the volume."""
    design = enclosed("5S1P").design
    true = lid_formula_mm3(design)
    for other in (
        replace(design, pads_lid=design.pads_lid[1:]),
        replace(design, skirts=design.skirts[1:]),
        replace(design, lid_hole_mm=design.lid_hole_mm + 0.01),
    ):
        assert abs(lid_body(other).volume_mm3() - true) > 1e-6 * true
