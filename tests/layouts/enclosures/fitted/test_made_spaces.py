"""Fitted enclosures in spaces made by chance: they stand, and every check holds."""

from __future__ import annotations

from dataclasses import replace

import pytest

from generators.fixes.judging import in_space
from generators.packfile.resolve import parse_pack
from layouts.enclosures.fitted.form import FittedEnclosure
from layouts.planning.pack_plan import plan_checks, plan_pack
from layouts.planning.steps import EnclosureSet
from tests.layouts.enclosures.fitted.made_spaces import KINDS, pack_text


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(10))
def test_a_pack_stands_in_a_space_made_for_it(seed: int) -> None:
    """With all checks of the plan, and its parts proven within the space."""
    plan = plan_pack(parse_pack(pack_text(seed).encode(), f"{KINDS[seed % 7]}.yaml").pack)
    checks = (*plan_checks(plan, mass_kg=1.0), *in_space(plan))
    assert [(one.id, one.value, one.where) for one in checks if not one.holds] == []
    assert {"space", "gas_way", "floor_bending", "bracket_root_stress"} <= {
        one.id for one in checks
    }


@pytest.mark.slow
def test_a_pack_that_stands_elsewhere_than_planned_leaves_its_space() -> None:
    """Moved by 60 mm or turned by a quarter in a space that is tight about it: the check of the
    space fails, by what it then sticks out."""
    plan = plan_pack(parse_pack(pack_text(0).encode(), "box.yaml").pack)
    enclosure = plan.enclosure
    assert isinstance(enclosure, FittedEnclosure) and enclosure.sizes.stand is not None
    stand = enclosure.sizes.stand
    x, y, z = stand.at_mm
    for wrong in (
        replace(stand, at_mm=(x + 60.0, y, z)),
        replace(stand, at_mm=(x, y, z - 2.0)),
        replace(stand, turn_deg=stand.turn_deg + 90),
    ):
        moved = replace(enclosure, sizes=replace(enclosure.sizes, stand=wrong))
        housed = EnclosureSet(enclosure=moved, bracket=plan.bracket)
        checks = {one.id: one for one in in_space(replace(plan, enclosure_set=housed))}
        value = checks["space"].value
        assert not checks["space"].holds and value is not None and value < 0.0
