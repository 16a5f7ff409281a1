"""Parts as CadQuery objects, for scripts of one's own: add a hole, a badge, another foot.

The run itself talks to CadQuery's kernel directly, since loading CadQuery's own layer takes
longer than making a whole pack's parts. Import this module where you script.
"""

from __future__ import annotations

import cadquery as cq

from generators.kernel.of_part import part_solid
from layouts.parts.part import Part

__all__ = ["assembly", "workplane"]


def workplane(part: Part) -> cq.Workplane:
    """The finished part in its print orientation, ready for further features."""
    return cq.Workplane(obj=cq.Solid(part_solid(part)))


def assembly(parts: list[Part], name: str) -> cq.Assembly:
    """All copies of all parts in their places, named and coloured."""
    whole = cq.Assembly(name=name)
    for part in parts:
        shape = workplane(part)
        for k, matrix in enumerate(part.placed, start=1):
            whole.add(
                shape,
                name=f"{part.name}-{k}",
                loc=cq.Location(
                    cq.Plane(
                        origin=tuple(matrix[:3, 3].tolist()),
                        xDir=tuple(matrix[:3, 0].tolist()),
                        normal=tuple(matrix[:3, 2].tolist()),
                    )
                ),
                color=cq.Color(*part.colour),
            )
    return whole
