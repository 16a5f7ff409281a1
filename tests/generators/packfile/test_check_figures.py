"""A check's figure, its limit and which side it is on say the same as whether it holds."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest

from generators.packfile.resolve import parse_pack
from layouts.checks import Check
from layouts.placing.values import Effort
from layouts.planning.pack_plan import plan_checks, plan_pack
from tests.generators.fixes.failing_packs import FAILING, text_of
from tests.generators.packfile.planned_electrical import electrical_of

NOISE = 1e-6
PACKS = (
    ("a deep seat", "hard shocks", "a floor above what is there"),
    ("shallow webs", "many layers"),
    ("a wide window",),
)


def contradicted(checks: Iterable[Check]) -> list[str]:
    """Checks whose figure is on the other side of its limit than what they say."""
    return [
        f"{one.id}: {one.value} against {one.limit}"
        for one in checks
        if one.value is not None
        and one.limit is not None
        and abs(one.value - one.limit) > NOISE * max(1.0, abs(one.limit))
        and ((one.value > one.limit) == one.at_least) is not one.holds
    ]


@pytest.mark.one_in(3)
@pytest.mark.parametrize("names", PACKS)
def test_every_check_of_a_plan_agrees_with_its_figures(names: tuple[str, ...]) -> None:
    """Of packs in which some things are wrong; what fails says what to change."""
    changed: dict[str, Any] = {}
    for section, values in (pair for name in names for pair in FAILING[name][1].items()):
        both = isinstance(values, dict) and section in changed
        changed[section] = changed[section] | values if both else values
    pack = parse_pack(text_of(changed).encode(), "p.yaml").pack
    checks = plan_checks(plan_pack(pack, effort=Effort.QUICK), mass_kg=1.0)
    assert contradicted(checks) == []
    failing = {check.id: check for check in checks if not check.holds}
    assert {FAILING[name][0] for name in names} <= failing.keys()
    assert all(check.remedy for check in failing.values())
    assert len(checks) > 30


def test_every_electrical_check_agrees_with_its_figures() -> None:
    """All of them, in a sound pack and in one where most are beyond their limits."""
    peak = {"peak_a": 20.0, "peak_s": 10.0}
    sound = electrical_of(load=peak | {"regeneration_a": 3.0}).checks
    strained = electrical_of(
        load={"continuous_a": 30.0, "peak_a": 60.0, "peak_s": 10.0, "regeneration_a": 9.0},
        fuse={"rating_a": 25.0, "dc_v": 12.0, "breaking_a": 100.0, "opens_multiple": 19.0},
        bms={"continuous_a": 5.0, "series": 5, "charge_a": 1.0},
        charger={"volts_v": 20.0, "amps_a": 9.0, "wire_mm2": 0.5},
        controller={"lowest_v": 15.0, "cutoff_v": 10.0, "highest_v": 16.0},
        leads={"wire_mm2": 1.0, "connector_a": 5.0, "length_mm": 9000.0},
        cell={"max_c": 46.0},
    ).checks
    assert contradicted(sound) == contradicted(strained) == []
    failing = [check.id for check in strained if not check.holds]
    assert len(failing) > 25 and len(sound) > 25
    assert all(check.remedy for check in strained if not check.holds)
