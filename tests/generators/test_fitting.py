"""How a whole run's pack stands in a space that is no plain box."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from generators.fitting import fit_pack, fit_plan, pack_bodies, pack_parts
from layouts.errors import PlanError
from layouts.pack import Side
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.spaces.space import Prism, Space
from tests.layouts.enclosures.fitted.planned import pack_of
from tests.layouts.placed_packs import placed_pack
from tests.samples import sample_pack


@pytest.fixture(scope="module")
def plan() -> PackPlan:
    """A small invented pack whose leads should leave towards +y."""
    from dataclasses import replace

    from layouts import defaults

    leads = replace(defaults.leads(), side=Side.PLUS_Y)
    return plan_pack(sample_pack(4, 2, format="18650", leads=leads))


def slanted(wide: float, deep: float, high: float, angle_deg: float) -> Space:
    """A rectangular space turned in its plan."""
    angle = np.radians(angle_deg)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    corners = np.array([(0, 0), (wide, 0), (wide, deep), (0, deep)]) @ turn.T
    return Space(room=Prism(outline_mm=tuple(map(tuple, corners.tolist())), height_mm=high))


@pytest.mark.slow
def test_upright_with_the_leads_where_they_should_leave(plan: PackPlan) -> None:
    """In a space turned by 20 degrees: it fits, upright, leads within 45 degrees of +y."""
    bodies, _ = pack_bodies(plan, pack_parts(plan), outlets=False)
    x, y, z = bodies["+z"].high_mm - bodies["+z"].low_mm
    fit, checks = fit_plan(plan, slanted(y + 6, x + 6, z + 6, 20.0))
    assert all(check.holds for check in checks)
    assert fit.smallest_gap_mm == pytest.approx(3.0, abs=0.05)
    assert fit.pose[2, 2] == pytest.approx(1.0)
    assert fit.pose[1, 0] > np.sqrt(0.5)
    there = bodies["+z"].hull @ fit.pose[:3, :3].T + fit.pose[:3, 3]
    assert there[:, 2].min() == pytest.approx(0.0, abs=1e-6)


@pytest.mark.slow
def test_another_way_round_is_told_where_this_one_does_not_fit(plan: PackPlan) -> None:
    """A space that takes the pack only with its leads another way: the remedy says which."""
    bodies, _ = pack_bodies(plan, pack_parts(plan), outlets=False)
    x, y, z = bodies["+z"].high_mm - bodies["+z"].low_mm
    assert abs(x - y) > 20.0
    _, checks = fit_plan(plan, slanted(x + 6, y + 6, z + 6, 0.0))
    space = next(check for check in checks if check.id == "space")
    assert not space.holds
    assert space.remedy.startswith("it would fit upright, leads towards ")


def test_cells_placed_in_their_own_space_are_not_posed_anew(tmp_path: Path) -> None:
    """make proves them where they stand: another pose would undo pins and forbidden places."""
    with pytest.raises(PlanError, match="run cellstead make"):
        fit_pack(
            placed_pack(4, 2),
            None,
            lid_room=False,
            out_dir=tmp_path,
            report_progress=lambda stage, share: None,
        )
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
def test_a_fitted_enclosure_is_judged_as_it_was_planned(tmp_path: Path) -> None:
    """In its own space: the planned pose, wires bent across glands on any wall, all of it proven;
    in another space, given beside it, it is planned for that one."""
    pack = pack_of("3S2P", "space: {box_mm: [230, 210, 110]}\n")
    kept = fit_pack(pack, None, lid_room=False, out_dir=tmp_path, report_progress=quiet)
    assert not kept.failed
    assert any("as planned: upright, turned by" in line for line in kept.told)
    row = json.loads((kept.folder / "fit.json").read_text("utf-8"))
    assert row["fits"] and row["smallest_gap_mm"] >= 0.0
    other = slanted(260.0, 240.0, 120.0, 0.0)
    moved = fit_pack(pack, other, lid_room=False, out_dir=tmp_path, report_progress=quiet)
    assert not moved.failed


def quiet(what: str, share: float) -> None:
    """Nobody listens."""
