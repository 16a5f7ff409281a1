"""The pose of a planned pack that a space's section asks for."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layouts.planning.steps import OutsidePlan
from layouts.spaces.space import Space

__all__ = ["asked_pose"]


def asked_pose(plan: OutsidePlan, space: Space | None) -> NDArray[np.float64] | None:
    """(4, 4) from the pack's coordinates to the space's, by the box of its walls, floor and lid;
    None where no place is asked for."""
    place = None if space is None else space.place
    if place is None or place.at_mm is None or plan.enclosure_set is None:
        return None
    shell = plan.enclosure.shell
    x0, y0, x1, y1 = shell.outer.bounds
    pose = np.eye(4)
    pose[:3, :3] = place.turn
    pose[:3, 3] = place.shift_mm((x0, y0, shell.z_under_mm), (x1, y1, shell.z_lid_mm))
    return pose
