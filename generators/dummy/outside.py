"""The pack's outside as a few plain solids, in the pack's coordinates: what the mock-up copies.

Tub and lid are taken without their sideways holes, for a gland, an insert or a screw fills
each of them. The inside of the case is filled, so that an opening (a drain, a gas slot) ends
where the wall ends that it goes through. Screws of the frame's own are left out: through
their holes the frame is marked for drilling.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

from generators.dummy.sections import PlanLayer, filled_gaps, prism, slabs_of, united
from generators.made_part import MadePart
from generators.meshes.of_part import undrilled_mesh
from generators.proofs.solids import facets_for, mesh_solid, placed_points
from layouts.parts.drawing import CHORD_MM
from layouts.parts.fasteners import Into
from layouts.parts.outlet import CableOutlet
from layouts.parts.part import Part
from layouts.parts.screw import PlacedScrew
from layouts.parts.shell import Shell
from layouts.planning.pack_plan import PackPlan

__all__ = [
    "BracketSolid",
    "MockupOutside",
    "bare_outside",
    "outlet_matrix",
    "outside_of",
    "rod",
    "screw_matrix",
]

SAME_MM = 1e-6  # heights closer than this are one
INTO_WALL_MM = 0.01  # the filling of the case reaches so far into its walls
INTO_HOLE_MM = 0.1  # the filling of a hole: more than its chords stand off its circle
BELOW_LID_MM = 40.0  # of the tub below the lid: what its closed gaps must stay clear of
SKIRT_FREE_MM = 0.15  # left between lid and tub where a gap is closed, so that they go together

Matrix = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BracketSolid:
    """One part of a bracket in its own coordinates: as printed, and without its screw holes."""

    part: Part
    solid: manifold3d.Manifold
    undrilled: manifold3d.Manifold


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class MockupOutside:
    """Solids to be copied: base (tub, filled), cap (lid), the parts of one bracket."""

    base: manifold3d.Manifold
    base_slabs: tuple[PlanLayer, ...]
    cap: manifold3d.Manifold
    cap_slabs: tuple[PlanLayer, ...]
    brackets: tuple[BracketSolid, ...]
    heads: tuple[PlacedScrew, ...]
    outlets: tuple[CableOutlet, ...]


def outside_of(plan: PackPlan, made: Sequence[MadePart]) -> MockupOutside:
    """The outside of a pack from its parts' drawings. Raises ValueError without an enclosure."""
    shell = plan.enclosure.shell
    cell_block = _inside(shell)
    tub = united(
        [
            *_bare(made, "tub", "floor_strap"),
            cell_block,
            *_inserts(plan.enclosure.screws, shell.z_rim_mm),
        ]
    )
    lid = united(_bare(made, "lid", "lid_strap")) - _below(cell_block, shell.z_rim_mm)
    tub_slabs, lid_slabs = slabs_of(tub), slabs_of(lid)
    tub = united([tub, *_prisms(filled_gaps(tub_slabs))])
    lid = united([lid, *_prisms(filled_gaps(lid_slabs))])
    # then what is closed between the two, left to the lid but for the play to put it on
    levels = sorted({round(z, 6) for slab in (*slabs_of(tub), *slabs_of(lid))
                     for z in (slab.z0_mm, slab.z1_mm)})  # fmt: skip
    between = united(_prisms(filled_gaps(slabs_of(tub + lid, levels)))) - tub
    if not between.is_empty():
        hangs = lid.bounding_box()[2]
        below = [s for s in slabs_of(tub) if s.z1_mm > hangs - BELOW_LID_MM]
        play = [prism(s.plan.buffer(SKIRT_FREE_MM), s.z0_mm, s.z1_mm) for s in below]
        lid = _largest(united([lid, between - united(play)]))
    return MockupOutside(
        base=tub,
        base_slabs=tuple(slabs_of(tub)),
        cap=lid,
        cap_slabs=tuple(slabs_of(lid)),
        brackets=tuple(_bracket_solid(one) for one in made if one.part.role == "bracket"),
        heads=heads_of(plan),
        outlets=plan.enclosure.outlets,
    )


def _inside(shell: Shell) -> manifold3d.Manifold:
    """The case's inside, filled."""
    low, high = shell.z_floor_mm - INTO_WALL_MM, shell.z_rim_mm
    if not shell.is_rectangle:
        return prism(shell.cavity.buffer(INTO_WALL_MM, join_style="mitre"), low, high)
    x0, y0, x1, y1 = shell.cavity.bounds
    size = [x1 - x0 + 2 * INTO_WALL_MM, y1 - y0 + 2 * INTO_WALL_MM, high - low]
    return manifold3d.Manifold.cube(size).translate([x0 - INTO_WALL_MM, y0 - INTO_WALL_MM, low])


def _inserts(screws: Sequence[PlacedScrew], z_rim_mm: float) -> list[manifold3d.Manifold]:
    """Insert holes of upright screws, filled: what they hold covers them."""
    found = []
    for one in screws:
        if one.into is Into.INSERT and one.head_up:
            radius = one.size.insert_hole_diameter_mm / 2 + INTO_HOLE_MM
            mouth = float(one.at_mm[2]) - one.through_mm
            if abs(mouth - z_rim_mm) < SAME_MM:  # sums of floats: no sliver between the two
                mouth = z_rim_mm
            whole = rod(radius, mouth - one.hole_deep_mm - INTO_HOLE_MM, mouth)
            found.append(whole.translate([*one.at_mm[:2].tolist(), 0.0]))
    return found


def _below(cell_block: manifold3d.Manifold, z_mm: float) -> manifold3d.Manifold:
    """The filling with a margin: what hangs from the lid inside is no outside."""
    return cell_block.trim_by_plane([0.0, 0.0, -1.0], -z_mm)


def _bare(made: Sequence[MadePart], *roles: str) -> list[manifold3d.Manifold]:
    """Parts of some roles in place, without sideways holes."""
    found = []
    for one in made:
        if one.part.role in roles:
            bare = undrilled_mesh(one.part)
            for matrix in one.part.placed:
                found.append(mesh_solid(placed_points(bare.vertices_mm, matrix), bare.faces))
    return found


def _bracket_solid(made: MadePart) -> BracketSolid:
    bare = undrilled_mesh(made.part)
    return BracketSolid(
        part=made.part,
        solid=mesh_solid(made.mesh.vertices_mm, made.mesh.faces),
        undrilled=mesh_solid(bare.vertices_mm, bare.faces),
    )


def _prisms(slabs: Sequence[PlanLayer]) -> list[manifold3d.Manifold]:
    return [prism(slab.plan, slab.z0_mm, slab.z1_mm) for slab in slabs]


def _largest(solid: manifold3d.Manifold) -> manifold3d.Manifold:
    """The greatest of a solid's bodies: crumbs of a filled gap that touch nothing go."""
    return max(solid.decompose(), key=lambda body: body.volume())


def heads_of(plan: PackPlan) -> tuple[PlacedScrew, ...]:
    """All screws with their heads outside, but those into the frame."""
    placed = (*plan.enclosure.screws, *plan.bracket.screws)
    return tuple(one for one in placed if one.into is not Into.FRAME)


def screw_matrix(one: PlacedScrew) -> Matrix:
    """(4, 4) from z = 0 on the face under its head, z outwards, to the pack."""
    return axis_matrix(one.at_mm, one.out)


def outlet_matrix(one: CableOutlet) -> Matrix:
    """(4, 4) from z = 0 in the wall's outer face, z outwards along the gland, to the pack."""
    return axis_matrix(one.at_mm, one.out)


def axis_matrix(at: Matrix, way: Matrix) -> Matrix:
    """(4, 4) that takes +z to ``way`` (3,) (a unit vector) and the origin to ``at`` (3,)."""
    z = way
    x = np.array([0.0, 1.0, 0.0]) if abs(z[1]) < 0.5 else np.array([0.0, 0.0, 1.0])
    matrix = np.eye(4)
    matrix[:3, :3] = np.column_stack([x, np.cross(z, x), z])
    matrix[:3, 3] = at
    return matrix


def rod(radius_mm: float, z0_mm: float, z1_mm: float) -> manifold3d.Manifold:
    """A round rod about the z axis, of the circle's own reach."""
    sides = facets_for(radius_mm, CHORD_MM)
    solid = manifold3d.Manifold.cylinder(z1_mm - z0_mm, radius_mm, radius_mm, sides)
    return solid.translate([0.0, 0.0, z0_mm])


def moved(solid: manifold3d.Manifold, matrix: Matrix) -> manifold3d.Manifold:
    """A solid put in its place."""
    return solid.transform(np.ascontiguousarray(matrix[:3, :]))


def head_solid(one: PlacedScrew) -> manifold3d.Manifold:
    """Head and washer, standing on z = 0."""
    head = rod(one.size.head_diameter_mm / 2, 0.0, one.top_mm)
    if not one.washer:
        return head
    return united([head, rod(one.size.washer_diameter_mm / 2, 0.0, one.lift_mm)])


def bare_outside(plan: PackPlan, made: Sequence[MadePart]) -> manifold3d.Manifold:
    """The assembly itself, the standard that the mock-up is measured against.

    All printed parts as they are made, sideways holes and all, with the screws and glands that
    fill them; the inside of the case is filled. Nothing else is closed.
    """
    shell = plan.enclosure.shell
    parts = [
        mesh_solid(placed_points(one.mesh.vertices_mm, matrix), one.mesh.faces)
        for one in made
        for matrix in one.part.placed
    ]
    fillings = []
    for screw in heads_of(plan):
        # an insert fills its hole to the mouth
        deep = screw.through_mm
        shank = rod(screw.size.clearance_diameter_mm / 2 + INTO_HOLE_MM, -deep, 0.0)
        insert = rod(
            screw.size.insert_hole_diameter_mm / 2 + INTO_HOLE_MM, -deep - 2.0, -deep + 0.5
        )
        # a clamp's screw goes on through the gap into its nut
        ends = [shank] if screw.in_place else [shank, insert]
        filled = united([head_solid(screw), *ends])
        fillings.append(moved(filled, screw_matrix(screw)))
    for outlet in plan.enclosure.outlets:
        gland = [
            rod(outlet.gland.hole_radius_mm + INTO_HOLE_MM, -outlet.wall_mm, 0.0),
            rod(outlet.gland.keep_radius_mm, 0.0, outlet.gland.long_mm),
        ]
        fillings.append(moved(united(gland), outlet_matrix(outlet)))
    cell_block = _inside(shell)
    into_lid = cell_block.translate([0.0, 0.0, INTO_WALL_MM])
    return united([*parts, *fillings, cell_block, into_lid])
