"""From the pack file to what is built: bracket, plastic, metal by a can end. Values invented."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from generators.packfile.resolve import parse_pack
from layouts.checks import Check
from layouts.errors import PlanError
from layouts.formats import materials
from layouts.heat.temperature_limits import check_ambient, heat_limits
from layouts.holders.holder import Post
from layouts.placing.values import Effort
from layouts.planning.pack_plan import PackPlan, plan_checks, plan_pack
from layouts.shorts.short_check import shorts

TEXT = """name: barrow-light
cell: {format: "18650", chemistry: nmc, capacity_ah: 2.5, continuous_a: 5, max_c: 75,
  internal_resistance_mohm: 25, mass_g: 47}
series: 3
parallel: 2
"""
MASS_KG = 2.0


@cache
def planned(more: str) -> PackPlan:
    """The plan of the text with more sections."""
    return plan_pack(parse_pack((TEXT + more).encode(), "x.yaml").pack, effort=Effort.QUICK)


def bracket(acceleration_g: float) -> Check:
    """The bracket's check at that acceleration along all three axes."""
    g = f"{acceleration_g:.6f}"
    plan = planned(f"load: {{continuous_a: 4, acceleration_g: [{g}, {g}, {g}]}}\n")
    checks = {check.id: check for check in plan_checks(plan, mass_kg=MASS_KG)}
    return checks["bracket_root_stress"]


def test_a_bracket_has_four_times_the_strength() -> None:
    """Stress grows with the acceleration: a little below a quarter of the strength along the
    layers holds, a little above does not."""
    once = bracket(1.0).value
    assert once is not None
    strength = materials()["petg"].strength_mpa
    assert bracket(strength / 4.05 / once).holds
    assert not bracket(strength / 3.95 / once).holds


@pytest.mark.parametrize(
    ("material", "holds_c", "fails_c"), [("abs", 64.5, 65.5), ("petg", 54.5, 55.5)]
)
def test_plastic_keeps_twenty_kelvins_to_where_it_softens(
    material: str, holds_c: float, fails_c: float
) -> None:
    """ABS softens at 85 C, PETG at 75: air of 20 K less is too warm for what holds the cells."""
    for ambient_c, refused in ((holds_c, False), (fails_c, True)):
        text = f"{TEXT}load: {{continuous_a: 4, ambient_c: {ambient_c}}}\n"
        text += f"printer: {{material: {material}}}\n"
        pack = parse_pack(text.encode(), "x.yaml").pack
        assert pack.load is not None
        if refused:
            with pytest.raises(PlanError, match=f"temperature limit of the {material}"):
                check_ambient(heat_limits(pack), ambient_c=pack.load.ambient_c)
        else:
            check_ambient(heat_limits(pack), ambient_c=pack.load.ambient_c)


def test_metal_beside_a_bare_can_end_is_found_without_any_strip() -> None:
    """A screw 0.3 mm from a weld window, and one 5 mm from it, no strip near."""
    plan = planned("")
    bare = replace(plan.interconnect, strips=())
    at = plan.cell_layout.xy_mm[0]
    window = plan.pack.holder.window_mm / 2
    found = []
    for clear_mm in (0.3, 5.0):
        screw_mm = 3.2  # radius of a nut's corners
        place = at + np.array([-1.0, 0.0]) * (window + screw_mm + clear_mm)
        post = Post(x_mm=float(place[0]), y_mm=float(place[1]), radius_mm=4.0)
        block = replace(plan.cell_block, posts=(post,))
        report = shorts(plan.pack, plan.cell_layout, bare, block, ())
        assert report.metal is not None
        found.append(report.metal.margin_mm)
    near, far = found
    assert near < 0.0 < far
    assert far - near > 4.0
