"""What brackets tell the solver of ``layouts.mounting``: where they hold, and what they bear."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layouts.brackets.holding import HeldBody
from layouts.brackets.inserts import insert_pull
from layouts.brackets.kind import Hold, MountingPad
from layouts.brackets.registry import kind_named
from layouts.brackets.strength import strength_limit_mpa
from layouts.enclosures.pad_walls import lug_of, pad_wall, wall_bending
from layouts.pack import Load, Side
from tests.layouts.planned import frame_holes_mm
from tests.samples import sample_pack

PADS = tuple(
    MountingPad(side=side, face_mm=84.0, along_mm=along, underside_mm=-8.0, block_mm=30.0)
    for side in Side
    for along in (-60.0, 40.0)
)
BODY = HeldBody(
    low_mm=(-74.0, -74.0, -8.0), high_mm=(74.0, 74.0, 90.0), centre_mm=(0.0, 0.0, 35.0),
    mass_kg=4.0, load_g=(4.0, 4.0, 6.0), faces=("+x",), limit_mpa=11.0, modulus_mpa=2000.0,
)  # fmt: skip


@pytest.mark.parametrize("kind", ["angle", "flat"])
def test_they_hold_where_the_frame_is_drilled(kind: str) -> None:
    """Three forces at right angles at each frame screw of each bracket, which share its stiffness
    and what it bears."""
    pack = replace(sample_pack(), load=Load(continuous_a=1.0))
    pack = replace(pack, mount=replace(pack.mount, kind=kind))
    bracket = kind_named(kind).design(pack, PADS, mass_kg=None)
    lugs = [
        (pad, lug_of(pack, pad_wall(pad, wall_mm=2.6, pad_mm=34.0, out_mm=10.0))) for pad in PADS
    ]
    holds = bracket.holds(BODY, lugs)
    points = [point for one in holds for point in one.points]
    drilled = np.repeat(frame_holes_mm(bracket.screws), 3, axis=0)
    found = np.array([point.at_mm for point in points])
    if kind == "flat":  # its screws lie level: told where their heads lie
        drilled += np.repeat([(*pad.normal, 0.0) for pad in PADS], 6, axis=0) * 6.0
    order, same = (np.lexsort(np.round(one, 6).T) for one in (found, drilled))
    assert found[order] == pytest.approx(drilled[same], abs=1e-9)
    springs = bracket.stiffness_n_mm(pack)
    assert springs is not None
    for one in holds:
        ways = np.array([point.way for point in one.points]).reshape(-1, 3, 3)
        assert np.abs(np.linalg.det(ways)) == pytest.approx(1.0)
        stiff = np.array([point.stiffness_n_mm for point in one.points]).reshape(-1, 3).sum(axis=0)
        assert stiff == pytest.approx(springs)


def test_a_bracket_bears_what_its_parts_allow() -> None:
    """The least of corner, inserts and wall, each force alone, by the checks' own formulas."""
    pack = replace(sample_pack(), load=Load(continuous_a=1.0, ambient_c=23.0))
    bracket = kind_named("angle").design(pack, PADS[:4], mass_kg=None)
    walls = [pad_wall(pad, wall_mm=2.6, pad_mm=34.0, out_mm=10.0) for pad in PADS[:4]]
    body = replace(BODY, limit_mpa=strength_limit_mpa(pack))
    points = bracket.holds(body, [(wall.pad, lug_of(pack, wall)) for wall in walls])[0].points
    lift_n = 2 * points[2].along_n
    hold: Hold = bracket.hold
    # so many g upright that each of four brackets bears that lift
    g = lift_n * 4 / (4.0 * 9.80665)
    lifted = replace(pack, load=replace(pack.load or Load(), acceleration_g=(0.0, 0.0, g)))
    wall = wall_bending(lifted, walls, hold, mass_kg=4.0)[0]
    use = insert_pull(lifted, PADS[:4], hold, mass_kg=4.0)[0]
    corner = bracket.checks(lifted, PADS[:4], mass_kg=4.0)[0]
    assert wall.value is not None and wall.limit and use.value is not None
    assert corner.value is not None and corner.limit
    shares = (wall.value / wall.limit, corner.value / corner.limit, use.value)
    assert max(shares) <= 1.3
    assert max(shares) >= 0.5
