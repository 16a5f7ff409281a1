"""Forces on brackets: they balance the pack's jolts, and the worst of these is found."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from layouts.brackets.kind import Hold, MountingPad
from layouts.brackets.loads import BracketLoad, bracket_loads, hold_a_body
from layouts.brackets.strength import GRAVITY_M_S2
from layouts.pack import Load, Side
from tests.samples import sample_pack

PACK = sample_pack(load=Load(continuous_a=20.0, acceleration_g=(3.0, 4.0, 6.0)))
HOLD = Hold(out_mm=16.0, below_mm=3.0, apart_mm=20.0)
MASS_KG = 4.0
UNDER_MM = -8.0
THREE = tuple(
    MountingPad(side=side, face_mm=face, along_mm=along, underside_mm=UNDER_MM)
    for side, face, along in (
        (Side.PLUS_X, 90.0, -60.0), (Side.MINUS_X, 60.0, -80.0), (Side.MINUS_X, 60.0, 80.0),
    )
)  # fmt: skip
FOUR = tuple(
    MountingPad(side=side, face_mm=84.0, along_mm=along, underside_mm=UNDER_MM)
    for side in (Side.PLUS_X, Side.MINUS_X)
    for along in (-80.0, 80.0)
)


def loads(pads: tuple[MountingPad, ...]) -> tuple[BracketLoad, ...]:
    """Of a pack of 4 kg."""
    return bracket_loads(PACK, pads, HOLD, mass_kg=MASS_KG)


def in_pack(load: BracketLoad) -> tuple[np.ndarray, np.ndarray]:
    """Where a bracket's foot stands and (3, 3) its forces in the pack's axes."""
    pad = load.pad
    at = np.array((*pad.at_mm(pad.along_mm, pad.face_mm + HOLD.out_mm), UNDER_MM - HOLD.below_mm))
    axes = np.array(((*pad.normal, 0.0), (*pad.right, 0.0), (0.0, 0.0, 1.0)))
    return at, axes.T @ load.forces_n


@pytest.mark.parametrize("pads", [THREE, FOUR], ids=["three", "four"])
def test_the_brackets_hold_the_whole_pack(pads: tuple[MountingPad, ...]) -> None:
    """Their forces add up to 1 g of its mass along each axis."""
    total = sum(in_pack(load)[1] for load in loads(pads))
    assert total == pytest.approx(MASS_KG * GRAVITY_M_S2 * np.eye(3), abs=1e-9)


def test_a_jolt_along_the_floor_lifts_one_side() -> None:
    """Four equal brackets by hand: F h over the feet's distance, half of it on each of a side; and
    the springs at both screws of a bracket bear a little of the other axis's turn."""
    height = PACK.lip_to_lip_mm / 2 - UNDER_MM + HOLD.below_mm
    weight = MASS_KG * GRAVITY_M_S2
    across = weight * height / (2 * 100.0) / 2
    # feet at 80 +- 10 along: sum of squares (70^2 + 90^2) x 4 for 8 springs
    beside = weight * height * (70.0 + 90.0) / (4 * (70.0**2 + 90.0**2))
    for load in loads(FOUR):
        x, y, z = abs(load.forces_n[2])
        assert (x, y, z) == pytest.approx((across, beside, weight / 4))
    ups = [load.forces_n[2] for load in loads(FOUR)]
    assert ups[0][0] == -ups[2][0] and ups[0][1] == -ups[1][1]


def test_both_level_jolts_count_at_once_and_in_any_direction() -> None:
    """3 g and 4 g pull off a wall with 5 g: 1.41 times the greater where both are alike."""
    load = loads(FOUR)[0]
    assert load.level_g == pytest.approx(5.0)
    off = load.forces_n[0]
    assert load.most(off=1.0) == pytest.approx(5.0 * math.hypot(off[0], off[1]) + 6.0 * abs(off[2]))
    alike = replace(PACK, load=Load(continuous_a=20.0, acceleration_g=(4.0, 4.0, 0.0)))
    one = bracket_loads(alike, FOUR, HOLD, mass_kg=MASS_KG)[0]
    assert one.level_g == pytest.approx(4.0 * math.sqrt(2.0))


def test_the_worst_of_all_jolts_is_the_formula_s() -> None:
    """``most`` and ``most_added`` against every jolt that is listed, in steps of 3 degrees."""
    for load in loads(THREE):
        jolts = load.jolts_n()
        factors = np.array((0.3, -1.1, 0.7))
        listed = float(np.abs(jolts @ factors).max())
        assert load.most(off=0.3, along=-1.1, up=0.7) == pytest.approx(listed, rel=1e-3)
        added = float(np.abs(jolts * factors).sum(axis=1).max())
        assert load.most_added(off=0.3, along=-1.1, up=0.7) == pytest.approx(added, rel=1e-3)


def test_pads_that_hold_no_pack_are_refused() -> None:
    """One bracket's two springs lie on a line; nor is anything known without a load."""
    with pytest.raises(ValueError, match="one line"):
        loads(FOUR[:1])
    with pytest.raises(ValueError, match="load: without one"):
        bracket_loads(replace(PACK, load=None), FOUR, HOLD, mass_kg=MASS_KG)


def test_brackets_on_one_line_hold_no_body() -> None:
    """Nor none, nor one; two opposite ones do, with two springs each."""
    hold = Hold(out_mm=16.0, below_mm=3.0, apart_mm=20.0)
    one, beside = (
        MountingPad(side=Side.PLUS_X, face_mm=80.0, along_mm=along, underside_mm=-8.0)
        for along in (-40.0, 40.0)
    )
    opposite = MountingPad(side=Side.MINUS_X, face_mm=80.0, along_mm=0.0, underside_mm=-8.0)
    assert not any(hold_a_body(pads, hold) for pads in ((), (one,), (one, beside)))
    assert hold_a_body((one, opposite), hold)
