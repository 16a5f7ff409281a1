"""Vent gas gets out of the space: along the gap round the enclosure to a side that is open."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely

from generators.made_part import meshed_part
from generators.packfile.resolve import parse_pack
from generators.proofs.gas_out import gas_out_check, widest_way_mm
from generators.proofs.together import PlacedMesh, placed_mesh
from layouts.checks import Check
from layouts.pack import Pack
from layouts.planning.pack_plan import PackPlan, plan_pack
from layouts.spaces.space import Space
from tests.generators.packfile.files import PLAIN, added, read

SIDES = ("+x", "-x", "+y", "-y")
UPRIGHT = np.eye(4)


@pytest.mark.parametrize(
    ("side", "narrowest_mm"),
    [("+x", 5.0), ("-y", 10.0), ("+y", 10.0), ("-x", 10.0)],
)
def test_the_gap_on_the_way_decides(side: str, narrowest_mm: float) -> None:
    """A body in a box, 10, 20, 8 and 5 off its -x, +x, -y and +y walls; gas leaves at -x.

    To +x it goes past -y (8) or +y (5): the wider way counts, where nothing stands in it. To the
    others it stays on its own side (10)."""
    room, body = shapely.box(0, 0, 130, 113), shapely.box(10, 8, 110, 108)
    gap = room.difference(body)
    source = shapely.box(4, 8, 10, 108)
    blocked = gap.difference(shapely.box(50, 0, 60, 8))  # a keep-out across the way past -y
    bounds = (0.0, 0.0, 130.0, 113.0)
    axis, sign = (0 if "x" in side else 1), (1.0 if "+" in side else -1.0)
    found = widest_way_mm(blocked, source, bounds, axis, sign)
    assert found == pytest.approx(narrowest_mm, abs=0.1 if side == "+x" else 1.0)
    if side == "+x":
        assert widest_way_mm(gap, source, bounds, axis, sign) == pytest.approx(8.0, abs=0.1)
        shut = blocked.difference(shapely.box(50, 108, 60, 113))
        assert widest_way_mm(shut, source, bounds, axis, sign) == 0.0


def pack_in(open_sides: str, style: str = "tub", *, more: str = "") -> Pack:
    """3S2P in a space that says what is open."""
    text = (
        "name: p\ncell: {format: '18650'}\nseries: 3\nparallel: 2\nload: {continuous_a: 2}\n"
        f"enclosure: {{style: {style}}}\n"
        f"space:\n  box_mm: [300, 300, 130]\n  open_sides: {open_sides}\n{more}"
    )
    return parse_pack(text.encode(), "p.yaml").pack


@cache
def made(style: str) -> tuple[PackPlan, tuple[PlacedMesh, ...]]:
    """Its plan and the meshes of its outside."""
    plan = plan_pack(pack_in('["+z"]', style))
    meshes = []
    for part in (*plan.enclosure.parts, *plan.bracket.parts):
        mesh = meshed_part(part).mesh
        meshes += [
            placed_mesh(part.name, part.role, mesh.vertices_mm, mesh.faces, matrix)
            for matrix in part.placed
        ]
    return plan, tuple(meshes)


def judged(style: str, open_sides: str, *, shut: bool = False) -> Check:
    """The check, the pack upright in a box 40 mm wider than it on each side. ``shut``: bulkheads
    stand before all four walls."""
    plan, meshes = made(style)
    points = np.vstack([one.vertices_mm for one in meshes])
    low, high = points.min(axis=0), points.max(axis=0)
    x, y, z = (high - low + (80.0, 80.0, 40.0)).round(3).tolist()
    walls = [(5, 5, 8, y - 5), (x - 8, 5, x - 5, y - 5), (5, 5, x - 5, 8), (5, y - 8, x - 5, y - 5)]
    bodies = "".join(
        f"    - {{name: bulkhead {k}, box_mm: [[{a}, {b}, 0], [{c}, {d}, {z}]]}}\n"
        for k, (a, b, c, d) in enumerate(walls)
    )
    text = (
        "name: p\ncell: {format: '18650'}\nseries: 3\nparallel: 2\nspace:\n"
        f"  box_mm: [{x}, {y}, {z}]\n  open_sides: {open_sides}\n"
    )
    text += f"  keep_out:\n{bodies}" if shut else ""
    asked = parse_pack(text.encode(), "p.yaml").pack
    assert asked.space is not None
    pose = UPRIGHT.copy()
    pose[:3, 3] = (40.0 - low[0], 40.0 - low[1], -low[2])
    (check,) = gas_out_check(plan, asked.space, pose, meshes)
    return check


@pytest.mark.parametrize(
    ("style", "sides"),
    [
        ("tub", ("+x", "+z")),
        pytest.param("tub", ("-x", "+y", "-y", "-z"), marks=pytest.mark.slow),
        pytest.param("fitted", (*SIDES, "+z", "-z"), marks=pytest.mark.slow),
    ],
)
def test_gas_finds_its_way_unless_something_stands_in_it(
    style: str, sides: tuple[str, ...]
) -> None:
    """40 mm round it do for any open side; behind bulkheads it leaves upwards alone."""
    for side in sides:
        check, shut = judged(style, f'["{side}"]'), judged(style, f'["{side}"]', shut=True)
        assert check.id == "gas_out" and check.holds, side
        assert check.where == f"towards {side}"
        assert shut.holds is (side not in SIDES), side
        if side in SIDES:
            assert (shut.value, shut.where) == (0.0, "no way to an open side")
    both, one = judged(style, '["+x", "+z"]'), judged(style, '["+z"]')
    assert both.value is not None and one.value is not None and both.limit is not None
    assert both.value >= one.value
    assert both.limit == one.limit > 50.0
    assert judged(style, '["+x", "+z"]', shut=True).where == "towards +z"


def test_what_the_file_says_of_open_sides() -> None:
    """Not said: a caution. Closed all round: refused, with the reason; without a tub it is not."""
    box = "space:\n  box_mm: [300, 300, 120]\n"
    told = [one.text for one in read(PLAIN + box).cautions if one.field == "space.open_sides"]
    assert len(told) == 1 and "vent gas gets out of the space" in told[0]
    given = read(PLAIN + box + '  open_sides: ["+x", "-z"]\n')
    assert given.pack.space is not None and given.pack.space.open_sides == ("+x", "-z")
    assert not [one for one in given.cautions if one.field == "space.open_sides"]
    (closed,) = added(box + "  open_sides: []\n")
    assert closed.startswith("p.yaml:7: space.open_sides: leaves the gas of a venting cell no way")
    assert closed.endswith('open one side of the space to the air and name it, such as ["+z"]')
    bare = read(PLAIN + box + "  open_sides: []\nenclosure: {style: none}\n")
    assert bare.pack.space is not None and bare.pack.space.open_sides == ()
    (wrong,) = added(box + '  open_sides: ["up"]\n')
    assert "space.open_sides" in wrong and "must be +x, -x, +y, -y, +z or -z" in wrong


def test_none_where_nothing_is_said() -> None:
    """No check without open sides."""
    plan, meshes = made("tub")
    assert gas_out_check(plan, Space(room=None), UPRIGHT, meshes) == ()
