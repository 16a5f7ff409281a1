"""From the pack file to what is built: bracket, plastic, metal by a can end. Values invented."""

from __future__ import annotations

import math
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
from layouts.parts.tie_screw import tie_screw
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


def check_of(more: str, check: str) -> Check:
    """One check of the text with more sections."""
    return {one.id: one for one in plan_checks(planned(more), mass_kg=MASS_KG)}[check]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "check"), [("angle", "bracket_root_stress"), ("flat", "bracket_bending")]
)
def test_a_bracket_has_four_times_the_strength(kind: str, check: str) -> None:
    """Stress grows with the acceleration, once the pads are as a load near the limit asks for: a
    little below a quarter of the strength along the layers holds, a little above does not."""

    def bracket(acceleration_g: float) -> Check:
        g = f"{acceleration_g:.6f}"
        load = f"load: {{continuous_a: 4, acceleration_g: [{g}, {g}, {g}]}}\n"
        return check_of(f"{load}mount: {{kind: {kind}}}\n", check)

    strength = materials()["petg"].strength_mpa
    near_g = 1.0
    for _ in range(2):
        stress = bracket(near_g).value
        assert stress is not None
        near_g *= strength / 4.0 / stress
    assert bracket(near_g * 4.0 / 4.05).holds
    assert not bracket(near_g * 4.0 / 3.95).holds


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


def test_a_can_end_keeps_the_spacing_asked_from_a_nut_where_all_strips_do() -> None:
    """Strips of 4 mm lie farther from the posts' nuts than the weld windows do: from the nuts'
    corners to the nearest window, less 0.2 mm that either printed edge lies off."""
    narrow = "strip: {joints: links, row_width_mm: 4, link_width_mm: 4, lead_width_mm: 4}\n"
    plan = planned(narrow)
    posts = np.array([(post.x_mm, post.y_mm) for post in plan.cell_block.posts])
    away = np.hypot(*(posts[:, None] - plan.cell_layout.xy_mm[None]).transpose(2, 0, 1)).min()
    corner = tie_screw(plan.pack).nut_flats_mm / math.sqrt(3)
    gap_mm = float(away) - plan.pack.holder.window_mm / 2 - corner - 2 * 0.2
    for asked_mm, holds in ((gap_mm - 0.1, True), (gap_mm + 0.1, False)):
        check = check_of(f"{narrow}spacing_floor_mm: {asked_mm:.3f}\n", "short_metal")
        assert check.holds is holds and check.value == pytest.approx(gap_mm)
        assert "the end of cell" in check.where and "nut" in check.where


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
