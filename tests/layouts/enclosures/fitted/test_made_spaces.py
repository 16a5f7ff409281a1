"""Fitted enclosures in spaces made by chance: they stand, and every check holds."""

from __future__ import annotations

import pytest

from generators.fixes.judging import in_space
from generators.packfile.resolve import parse_pack
from layouts.planning.pack_plan import plan_checks, plan_pack
from tests.layouts.enclosures.fitted.made_spaces import KINDS, pack_text


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(10))
def test_a_pack_stands_in_a_space_made_for_it(seed: int) -> None:
    """With all checks of the plan, and its parts proven within the space."""
    plan = plan_pack(parse_pack(pack_text(seed).encode(), f"{KINDS[seed % 7]}.yaml").pack)
    checks = (*plan_checks(plan, mass_kg=1.0), *in_space(plan))
    assert [(one.id, one.value, one.where) for one in checks if not one.holds] == []
    assert {"space", "gas_way", "floor_bending", "bracket_corner_stress"} <= {
        one.id for one in checks
    }
