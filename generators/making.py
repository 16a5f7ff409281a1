"""Parts made: the solid of each part beside its mesh, both from the same drawing."""

from __future__ import annotations

from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps

from generators.kernel.of_part import part_solid
from generators.made_part import MadePart, MeshedPart, meshed_part, told_by_part
from layouts.parts.part import Part

__all__ = ["made_part", "with_solid"]


def made_part(part: Part) -> MadePart:
    """Make mesh and solid of one part.

    Raises LibraryError, naming part and field, where the kernel or the mesh library can't.
    """
    return with_solid(meshed_part(part))


def with_solid(meshed: MeshedPart) -> MadePart:
    """Make the solid of one part. Raises LibraryError as ``made_part`` does."""
    with told_by_part(meshed.part):
        shape = part_solid(meshed.part)
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties)
    return MadePart(
        part=meshed.part,
        mesh=meshed.mesh,
        supports=meshed.supports,
        for_printer=meshed.for_printer,
        shape=shape,
        solid_mm3=properties.Mass(),
    )
