"""The joint that is opened for any work, by the volts that are safe to touch. Packs invented."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts.pack import Surroundings
from layouts.plates.bridge import bridged_joint
from layouts.plates.rework import group_seam
from layouts.plates.welding_order import weld_steps
from tests.layouts.plates.test_plates import TEN, planned


@pytest.mark.slow
def test_a_bridge_from_sixty_volts_up_dry_and_thirty_wet() -> None:
    """42 V full: none where it is dry, the last joint where it is splashed; 60 V is the limit."""
    plan = planned(TEN)
    plates = plan.interconnect.plates
    wet = replace(plan.pack.enclosure, surroundings=Surroundings.SPLASHED)
    dry = replace(plan.pack.enclosure, surroundings=Surroundings.DRY)
    pack = replace(plan.pack, enclosure=dry)
    assert bridged_joint(pack, plates) is None
    found = bridged_joint(replace(pack, enclosure=wet), plates)
    assert found is not None
    steps = weld_steps(plates, series=10, full_v=4.2)
    assert (found.plate, found.limit_v) == (steps[-1].plate, 30.0)
    assert found.full_v == pytest.approx(42.0)
    assert found.open_v == steps[-2].volts < 30.0
    for full_v, bridged in ((6.0, False), (6.001, True)):
        cell = replace(pack.cell, full_v=full_v)
        assert (bridged_joint(replace(pack, cell=cell), plates) is not None) is bridged


def test_the_seam_parts_both_groups() -> None:
    """Along all of it lie a cell of the one group and one of the other, equally far."""
    plan = planned(TEN)
    plate = next(one for one in plan.interconnect.plates if not one.is_end)
    seam = group_seam(plan.cell_layout, plate)
    assert sum(len(line) for line in seam) >= 3
    xy, group = plan.cell_layout.xy_mm, plan.cell_layout.group
    for line in seam:
        for a, b in zip(line[:-1], line[1:], strict=True):
            off = ((xy - (a + b) / 2) ** 2).sum(axis=1)
            first, second = off.argsort()[:2]
            assert off[first] == pytest.approx(off[second])
            assert {int(group[first]), int(group[second])} == set(plate.groups)
