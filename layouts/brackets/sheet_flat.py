"""The flat pattern of a sheet metal bracket: outline, holes and bend line before it is bent."""

from __future__ import annotations

from layouts.brackets.sheet_strength import FoldSizes
from layouts.formats import screws
from layouts.parts.metal_piece import Bend, MetalPiece, flat_length_mm
from layouts.slabs.profile import circle, rectangle

__all__ = ["flat_bracket"]

CORNER_MM = 3.0  # of the cut outline: no sharp corners beside hands and wires; common practice
RIGHT_DEG = 90.0


def flat_bracket(
    sizes: FoldSizes,
    *,
    leg_holes: tuple[tuple[float, float], ...],
    foot_holes: tuple[tuple[float, float], ...],
    k_factor: float,
    kerf_mm: float,
    count: int,
) -> MetalPiece:
    """Seen on the faces that the screw heads lie on: x from the leg's free end over the bend to the
    foot's, y across; both ends bend towards the viewer.

    Holes keep their distances from the outside faces of the bent legs."""
    thick, wide, setback = sizes.thickness_mm, sizes.wide_mm, sizes.radius_mm + sizes.thickness_mm
    legs = (sizes.leg_mm, sizes.foot_mm)
    long = flat_length_mm(
        legs, thickness_mm=thick, inside_radius_mm=sizes.radius_mm, k_factor=k_factor
    )
    begins, ends = sizes.leg_mm - setback, long - (sizes.foot_mm - setback)
    middle = (begins + ends) / 2.0
    small, large = screws()[sizes.pad_screw], screws()[sizes.mount_screw]
    holes = [
        circle((sizes.leg_mm - up, wide - along), small.clearance_diameter_mm / 2.0)
        for up, along in leg_holes
    ]
    holes += [
        circle((ends + out - setback, wide - along), large.clearance_diameter_mm / 2.0)
        for out, along in foot_holes
    ]
    return MetalPiece(
        name="bracket",
        title="sheet metal bracket",
        count=count,
        metal=sizes.metal.metal,
        thickness_mm=thick,
        density_g_cm3=sizes.metal.density_g_cm3,
        outline=rectangle(0.0, 0.0, long, wide, CORNER_MM),
        holes=tuple(holes),
        hole_words=(
            *(_words(sizes.pad_screw) for _ in leg_holes),
            *(_words(sizes.mount_screw) for _ in foot_holes),
        ),
        field="mount",
        corner_mm=CORNER_MM,
        bends=(
            Bend(
                start=(middle, 0.0), end=(middle, wide), angle_deg=RIGHT_DEG,
                inside_radius_mm=sizes.radius_mm, k_factor=k_factor,
            ),
        ),
        legs_mm=legs,
        kerf_mm=kerf_mm,
    )  # fmt: skip


def _words(screw: str) -> str:
    """Of a screw's hole."""
    return f"diameter {screws()[screw].clearance_diameter_mm:.2f} for {screw}"
