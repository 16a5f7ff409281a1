"""Ways of all wires in tubs, from the pack file; what fails where there is no room."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely
import yaml

import layouts
from generators.packfile.resolve import read_pack
from layouts.checks import Check
from layouts.planning.steps import OutsidePlan, outside_plan

pytestmark = pytest.mark.slow
EXAMPLES = Path(layouts.__file__).parent / "examples"


def planned(name: str, folder: Path) -> tuple[OutsidePlan, dict[str, Check]]:
    """An example with ways for its wires, in any space, and the enclosure's checks."""
    data = yaml.safe_load((EXAMPLES / f"{name}.yaml").read_text())
    del data["space"]
    data["leads"]["side"] = "+x"
    data.setdefault("enclosure", {}).update(style="tub", wire_ways=True)
    path = folder / f"{name}.yaml"
    path.write_text(yaml.safe_dump(data))
    plan = outside_plan(read_pack(path).pack)
    checks = plan.enclosure.checks(plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block)
    return plan, {check.id: check for check in checks}


@pytest.mark.parametrize("name", ["orchard-trolley", "river-raft"])
def test_every_wire_of_the_examples_has_a_way(name: str, tmp_path: Path) -> None:
    """All three checks hold; no way leaves the cavity or enters the held cells."""
    plan, checks = planned(name, tmp_path)
    assert [c.id for c in checks.values() if not c.holds] == []
    ways = plan.enclosure.ways
    assert len(ways) == 3 + plan.pack.series + 1
    x1 = plan.cell_block.box_mm[2]
    shell = plan.enclosure.shell
    for way in ways:
        line = way.line_mm
        wide = shapely.LineString(line[:, :2]).buffer(way.outside_mm / 2 - 0.05)
        assert shell.cavity.contains(wide), way.number
        assert line[:, 0].min() - way.outside_mm / 2 >= x1, way.number
        assert shell.z_floor_mm < line[:, 2].min() and line[:, 2].max() < shell.z_rim_mm


def test_leads_too_thick_for_a_small_tub_fail_from_the_pack_file(tmp_path: Path) -> None:
    """Leads of 50 mm2 on two cells: bent too tightly, in the way, too long to the fuse."""
    path = tmp_path / "small.yaml"
    path.write_text(
        'name: small\ncell: {format: "18650", chemistry: nmc, capacity_ah: 3, continuous_a: 10, '
        "charge_a: 3, internal_resistance_mohm: 20, mass_g: 47}\nseries: 2\nparallel: 1\n"
        "leads: {wire_mm2: 50}\nenclosure: {style: tub, wire_ways: true}\n"
    )
    plan = outside_plan(read_pack(path).pack)
    found = plan.enclosure.checks(plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block)
    checks = {check.id: check for check in found}
    failing = {"wire_bends", "wire_ways", "fuse_way"}
    assert {name for name in failing if not checks[name].holds} == failing
    assert checks["wire_bends"].where.startswith("wire M")
    assert checks["wire_ways"].where.startswith("wire M") and " at (" in checks["wire_ways"].where
