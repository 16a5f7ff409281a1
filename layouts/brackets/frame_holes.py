"""The frame's holes, as every kind of bracket needs them: one at least, washers side by side."""

from __future__ import annotations

from math import dist

from layouts.errors import PlanError
from layouts.formats import screws
from layouts.pack import Mount

__all__ = ["TOOL_GAP_MM", "check_frame_holes"]

# common practice, no source
TOOL_GAP_MM = 0.5  # between a washer or head and what stands beside it otherwise


def check_frame_holes(mount: Mount) -> None:
    """Raises PlanError where the frame has no hole, or two nearer than their washers allow."""
    holes = mount.holes_mm
    washer = screws()[mount.screw].washer_diameter_mm
    if not holes:
        raise PlanError(
            field="mount.holes_mm", why="no frame hole is given", remedy="give one or more"
        )
    for first in range(len(holes)):
        for second in range(first):
            apart = dist(holes[first], holes[second])
            if apart < washer + TOOL_GAP_MM:
                raise PlanError(
                    field="mount.holes_mm",
                    value=f"holes {second + 1} and {first + 1}: {apart:.1f} mm apart",
                    why=f"has two holes too close to each other for the washers of {mount.screw}",
                    remedy=f"keep them {washer + TOOL_GAP_MM:.1f} mm apart or use a smaller screw",
                )
