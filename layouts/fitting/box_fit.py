"""Does the finished pack lie within a box-shaped space, and how it stands in it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.checks import Check
from layouts.pack import Side
from layouts.spaces.space import Space

__all__ = ["BoxFit", "fit_in_box", "quarter_turn", "space_check"]

_QUARTERS = {Side.PLUS_X: 0, Side.PLUS_Y: 1, Side.MINUS_X: 2, Side.MINUS_Y: 3}


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BoxFit:
    """How the pack stands in the space.

    ``pose``: (4, 4) from the pack's coordinates to the space's, determinant +1.
    ``smallest_gap_mm``: negative where the pack sticks out. ``tightest_at_mm``: a point of
    the pack's outside, in the space's coordinates. ``size_mm``: the pack's outside as posed.
    ``other_side``: a side for the leads with which it would fit, where this one does not.
    """

    pose: NDArray[np.float64]
    smallest_gap_mm: float
    tightest_at_mm: tuple[float, float, float]
    tightest_direction: str
    size_mm: tuple[float, float, float]
    other_side: Side | None


def quarter_turn(quarters: int) -> NDArray[np.float64]:
    """(4, 4) turn about z by whole quarters."""
    angle = quarters * math.pi / 2
    c, s = round(math.cos(angle)), round(math.sin(angle))
    pose = np.eye(4)
    pose[:2, :2] = [[c, -s], [s, c]]
    return pose


def fit_in_box(points_mm: NDArray[np.float64], space: Space, side: Side) -> BoxFit:
    """Stand the pack upright on the box's floor, leads towards ``side``, centred in its plan.

    ``points_mm`` (n, 3): points of everything that must lie within, in the pack's
    coordinates (enclosure, brackets, screw heads). The main leads leave towards +x there.
    """
    box = np.asarray(space.box_mm)

    def stand(quarters: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        pose = quarter_turn(quarters)
        turned = points_mm @ pose[:3, :3].T
        low, high = turned.min(axis=0), turned.max(axis=0)
        pose[:3, 3] = box / 2 - (low + high) / 2
        pose[2, 3] = -low[2]
        return pose, turned + pose[:3, 3]

    def gaps(there: NDArray[np.float64]) -> NDArray[np.float64]:
        # the floor carries the pack: touching it is no gap that could be too small
        return np.array([there[:, 0].min(), there[:, 1].min(), *(box - there.max(axis=0))])

    pose, there = stand(_QUARTERS[side])
    gap = gaps(there)
    worst = int(gap.argmin())
    column = (0, 1, 0, 1, 2)[worst]
    index = int(there[:, column].argmin() if worst < 2 else there[:, column].argmax())
    others = [
        other
        for other, quarters in _QUARTERS.items()
        if other is not side and gaps(stand(quarters)[1]).min() >= 0.0
    ]
    size = there.max(axis=0) - there.min(axis=0)
    x, y, z = (float(v) for v in there[index])
    return BoxFit(
        pose=pose,
        smallest_gap_mm=float(gap[worst]),
        tightest_at_mm=(x, y, z),
        tightest_direction=("-x", "-y", "+x", "+y", "+z")[worst],
        size_mm=(float(size[0]), float(size[1]), float(size[2])),
        other_side=others[0] if gap[worst] < 0.0 and others else None,
    )


def space_check(fit: BoxFit, space: Space) -> Check:
    """The check ``space``: the smallest gap between the pack's outside and the box."""
    a, b, c = fit.size_mm
    wanted = f"the pack is {a:.1f} x {b:.1f} x {c:.1f} mm as placed"
    if fit.smallest_gap_mm >= 0.0:
        remedy = ""
    elif fit.other_side is not None:
        remedy = f"leads.side {fit.other_side.value} would fit: {wanted}"
    else:
        # it stands in the middle of the plan: what is missing along a direction is on both sides
        more = [
            f"{size - room:.1f} mm more along {axis}"
            for axis, size, room in zip("xyz", fit.size_mm, space.box_mm, strict=True)
            if size > room
        ]
        remedy = f"{' and '.join(more)} of the space: {wanted}"
    return Check(
        id="space",
        about="enclosure, brackets and screw heads within the space; smallest gap",
        holds=fit.smallest_gap_mm >= 0.0,
        value=fit.smallest_gap_mm,
        limit=0.0,
        unit="mm",
        source="geometry",
        remedy=remedy,
        where=f"towards {fit.tightest_direction} at "
        + ", ".join(f"{v:.1f}" for v in fit.tightest_at_mm),
    )
