"""Parts made: the solid of each part beside its mesh, both from the same drawing."""

from __future__ import annotations

from dataclasses import dataclass

from OCP.BRepGProp import BRepGProp
from OCP.GProp import GProp_GProps
from OCP.TopoDS import TopoDS_Solid

from generators.kernel.of_part import part_solid
from generators.made_part import MeshedPart, ShapedPart, meshed_part, told_by_part
from layouts.parts.part import Part

__all__ = ["SolidPart", "made_part", "solid_part", "with_solid"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SolidPart:
    """One part with its solid and the solid's volume by the kernel."""

    part: Part
    shape: TopoDS_Solid
    solid_mm3: float

    @property
    def name(self) -> str:
        """File stem."""
        return self.part.name


def solid_part(part: Part) -> SolidPart:
    """Make the solid of one part.

    Raises LibraryError, naming part and field, where the kernel can't.
    """
    with told_by_part(part):
        shape = part_solid(part)
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties)
    return SolidPart(part=part, shape=shape, solid_mm3=properties.Mass())


def made_part(part: Part) -> ShapedPart:
    """Make mesh and solid of one part.

    Raises LibraryError, naming part and field, where the kernel or the mesh library can't.
    """
    return with_solid(meshed_part(part))


def with_solid(meshed: MeshedPart) -> ShapedPart:
    """Make the solid of one part. Raises LibraryError as ``solid_part`` does."""
    made = solid_part(meshed.part)
    return ShapedPart(
        part=meshed.part,
        mesh=meshed.mesh,
        supports=meshed.supports,
        for_printer=meshed.for_printer,
        shape=made.shape,
        solid_mm3=made.solid_mm3,
    )
