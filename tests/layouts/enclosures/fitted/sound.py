"""Tubs and lids proven once for all tests."""

from __future__ import annotations

from functools import cache

import trimesh

from layouts.enclosures.fitted.parts import fitted_parts
from tests.layouts.enclosures.fitted.hand_made import cornered
from tests.layouts.parts.sound_parts import assert_sound, placed
from tests.oracles.fitted_formula import lid_formula_mm3, tub_formula_mm3

FINE = 1e-6  # of the formulas


@cache
def sound(name: str) -> tuple[trimesh.Trimesh, trimesh.Trimesh]:
    """Tub and lid of a pack as placed meshes: each one valid solid of its formula's volume."""
    sizes = cornered(name)
    tub, lid = fitted_parts(sizes)
    return (
        placed(tub, assert_sound(tub, tub_formula_mm3(sizes), fine=FINE)),
        placed(lid, assert_sound(lid, lid_formula_mm3(sizes), fine=FINE)),
    )
