"""The pack's outside as a few plain solids, in the pack's coordinates: what the dummy copies.

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

from generators.dummy.sections import Slab, filled_gaps, prism, slabs_of, united
from generators.making import MadePart
from generators.meshes.of_part import undrilled_mesh
from generators.proofs.solids import facets_for, mesh_solid, placed_points
from layouts.brackets.kind import Bracket
from layouts.enclosures.box.room import BEND_RATIO
from layouts.enclosures.box.sizes import EnclosureDesign
from layouts.formats import screws
from layouts.parts.drawing import CHORD_MM
from layouts.parts.fasteners import Into
from layouts.planning.clearances import GLAND_OUT_MM, wire_mm
from layouts.planning.pack_plan import PackPlan

__all__ = ["Head", "Outlet", "Outside", "bare_outside", "outside_of", "rod"]

INTO_WALL_MM = 0.01  # the filling of the case reaches so far into its walls
INTO_HOLE_MM = 0.1  # the filling of a hole: more than its chords stand off its circle
SKIRT_FREE_MM = 0.15  # left between lid and tub where a gap is closed, so that they go together

Matrix = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Head:
    """A screw's head, with its washer where it has one, and the hole that it sits on.

    ``placed``: (4, 4), from z = 0 on the face it lies on, z along the screw's axis outwards, to
    the pack. ``hole_mm``: radius. ``deep_mm``: what the screw passes before its thread.
    """

    screw: str
    use: str
    washer: bool
    hole_mm: float
    deep_mm: float
    placed: Matrix


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Outlet:
    """A cable gland's cap on the wall, and the bend of its wire.

    ``hole_mm``, ``radius_mm``: radii of its hole and of its cap, ``long_mm`` before the wall.
    ``bend_mm``: radius of the wire's bend, to its middle. ``placed``: (4, 4), z outwards along the
    gland's axis from the wall's outer face.
    """

    size: str
    purpose: str
    hole_mm: float
    radius_mm: float
    long_mm: float
    wire_mm: float
    bend_mm: float
    placed: Matrix

    @property
    def reach_mm(self) -> float:
        """How far before the wall the wire needs room."""
        return self.long_mm + self.bend_mm + self.wire_mm / 2


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Outside:
    """Solids to be copied: base (tub, filled), cap (lid), one bracket in its own coordinates."""

    base: manifold3d.Manifold
    base_slabs: tuple[Slab, ...]
    cap: manifold3d.Manifold
    cap_slabs: tuple[Slab, ...]
    bracket: manifold3d.Manifold | None
    brackets: tuple[Matrix, ...]
    heads: tuple[Head, ...]
    outlets: tuple[Outlet, ...]


def outside_of(plan: PackPlan, made: Sequence[MadePart]) -> Outside:
    """The outside of a pack from its parts' drawings. Raises ValueError without an enclosure."""
    design = plan.enclosure
    core = _inside(design)
    tub = united([*_bare(made, "tub"), core, *_inserts(design)])
    lid = united(_bare(made, "lid")) - _below(core, design.z_rim_mm)
    tub_slabs, lid_slabs = slabs_of(tub), slabs_of(lid)
    tub = united([tub, *_prisms(filled_gaps(tub_slabs))])
    lid = united([lid, *_prisms(filled_gaps(lid_slabs))])
    # then what is closed between the two, left to the lid but for the play to put it on
    levels = sorted({round(z, 6) for slab in (*slabs_of(tub), *slabs_of(lid))
                     for z in (slab.z0_mm, slab.z1_mm)})  # fmt: skip
    between = united(_prisms(filled_gaps(slabs_of(tub + lid, levels)))) - tub
    if not between.is_empty():
        below = [s for s in slabs_of(tub) if s.z1_mm > design.z_rim_mm - design.skirt_deep_mm - 40]
        play = [prism(s.plan.buffer(SKIRT_FREE_MM), s.z0_mm, s.z1_mm) for s in below]
        lid = _largest(united([lid, between - united(play)]))
    bracket = next((one for one in made if one.part.role == "bracket"), None)
    return Outside(
        base=tub,
        base_slabs=tuple(slabs_of(tub)),
        cap=lid,
        cap_slabs=tuple(slabs_of(lid)),
        bracket=None
        if bracket is None
        else mesh_solid(bracket.mesh.vertices_mm, bracket.mesh.faces),
        brackets=() if bracket is None else bracket.part.placed,
        heads=heads_of(plan),
        outlets=outlets_of(plan),
    )


def _inside(design: EnclosureDesign) -> manifold3d.Manifold:
    """The case's inside, filled."""
    rect = design.cavity.grown(INTO_WALL_MM)
    low, high = design.z_floor_mm - INTO_WALL_MM, design.z_rim_mm
    wide, deep = rect.size_mm
    return manifold3d.Manifold.cube([wide, deep, high - low]).translate([rect.x0, rect.y0, low])


def _inserts(design: EnclosureDesign) -> list[manifold3d.Manifold]:
    """The lid screws' holes in the columns, filled: the lid covers them."""
    deep, radius = design.insert_deep_mm + INTO_HOLE_MM, design.insert_mm + INTO_HOLE_MM
    whole = rod(radius, design.z_rim_mm - deep, design.z_rim_mm)
    return [whole.translate([b.x_mm, b.y_mm, 0.0]) for b in design.bosses if b.screw]


def _below(core: manifold3d.Manifold, z_mm: float) -> manifold3d.Manifold:
    """The filling with room to spare: what hangs from the lid inside is no outside."""
    return core.trim_by_plane([0.0, 0.0, -1.0], -z_mm)


def _bare(made: Sequence[MadePart], role: str) -> list[manifold3d.Manifold]:
    """A role's parts in place, without sideways holes."""
    found = []
    for one in made:
        if one.part.role == role:
            bare = undrilled_mesh(one.part)
            for matrix in one.part.placed:
                found.append(mesh_solid(placed_points(bare.vertices_mm, matrix), bare.faces))
    return found


def _prisms(slabs: Sequence[Slab]) -> list[manifold3d.Manifold]:
    return [prism(slab.plan, slab.z0_mm, slab.z1_mm) for slab in slabs]


def _largest(solid: manifold3d.Manifold) -> manifold3d.Manifold:
    """The greatest of a solid's bodies: crumbs of a filled gap that touch nothing go."""
    return max(solid.decompose(), key=lambda body: body.volume())


def heads_of(plan: PackPlan) -> tuple[Head, ...]:
    """All screw heads outside: of the lid, of seams, and of the brackets' legs on their lugs."""
    design = plan.enclosure
    lid = screws()[design.lid_screw]
    found = [
        Head(
            screw=design.lid_screw, use="lid", washer=False, hole_mm=lid.clearance_mm / 2,
            deep_mm=design.lid_mm,
            placed=axis_matrix((boss.x_mm, boss.y_mm, design.z_lid_mm), (0.0, 0.0, 1.0)),
        )
        for boss in design.bosses
        if boss.screw
    ]  # fmt: skip
    for part, cut in (("tub", design.tub_cut), ("lid", design.lid_cut)):
        for ear in cut.ears:
            if ear.insert:
                continue
            for one in ear.screws:  # they begin at the far face of the ear that they pass
                at = (one.x_mm, one.y_mm, one.z_mm)
                out = (-1.0, 0.0, 0.0) if ear.axis == 0 else (0.0, -1.0, 0.0)
                found.append(
                    Head(
                        screw=design.lid_screw, use=f"seam of the {part}", washer=False,
                        hole_mm=lid.clearance_mm / 2, deep_mm=ear.thick_mm,
                        placed=axis_matrix(at, out),
                    )
                )  # fmt: skip
    return (*found, *_bracket_heads(plan.bracket))


def _bracket_heads(bracket: Bracket) -> list[Head]:
    return [
        Head(
            screw=one.screw, use="bracket", washer=one.washer,
            hole_mm=one.size.clearance_mm / 2, deep_mm=one.through_mm,
            placed=axis_matrix(tuple(one.at_mm.tolist()), tuple(one.out.tolist())),
        )
        for one in bracket.screws
        if one.into is not Into.FRAME
    ]  # fmt: skip


def outlets_of(plan: PackPlan) -> tuple[Outlet, ...]:
    """Every gland with its wire; the bend's radius counts on its inner side."""
    design, found = plan.enclosure, []
    for gland in design.glands:
        wire = wire_mm(plan.pack, gland)
        found.append(
            Outlet(
                size=gland.size, purpose=gland.purpose, hole_mm=gland.hole_mm,
                radius_mm=gland.nut_mm, long_mm=GLAND_OUT_MM[gland.size], wire_mm=wire,
                bend_mm=BEND_RATIO * wire + wire / 2,
                placed=axis_matrix((design.outer.x1, gland.y_mm, gland.z_mm), (1.0, 0.0, 0.0)),
            )
        )  # fmt: skip
    return tuple(found)


def axis_matrix(at: tuple[float, float, float], way: tuple[float, float, float]) -> Matrix:
    """(4, 4) that takes +z to ``way`` (a unit vector along an axis) and the origin to ``at``."""
    z = np.array(way)
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


def head_solid(head: Head) -> manifold3d.Manifold:
    """Head and washer, standing on z = 0."""
    size = screws()[head.screw]
    low = size.washer_high_mm if head.washer else 0.0
    knob = rod(size.head_mm / 2, 0.0, low + size.head_high_mm)
    return united([knob, rod(size.washer_mm / 2, 0.0, low)]) if head.washer else knob


def bare_outside(plan: PackPlan, made: Sequence[MadePart]) -> manifold3d.Manifold:
    """The assembly itself, the standard that the dummy is measured against.

    All printed parts as they are made, sideways holes and all, with the screws and glands that
    fill them; the inside of the case is filled. Nothing else is closed.
    """
    design = plan.enclosure
    parts = [
        mesh_solid(placed_points(one.mesh.vertices_mm, matrix), one.mesh.faces)
        for one in made
        for matrix in one.part.placed
    ]
    fillings = []
    for head in heads_of(plan):
        # an insert fills its hole to the mouth: the widest of what the screw goes into
        shank = rod(head.hole_mm + INTO_HOLE_MM, -head.deep_mm, 0.0)
        hole = max(design.insert_mm, design.lug_hole_mm) + INTO_HOLE_MM
        insert = rod(hole, -head.deep_mm - 2.0, -head.deep_mm + 0.5)
        fillings.append(moved(united([head_solid(head), shank, insert]), head.placed))
    for outlet in outlets_of(plan):
        gland = [
            rod(outlet.hole_mm + INTO_HOLE_MM, -design.wall_mm, 0.0),
            rod(outlet.radius_mm, 0.0, outlet.long_mm),
        ]
        fillings.append(moved(united(gland), outlet.placed))
    core = _inside(design)
    into_lid = core.translate([0.0, 0.0, INTO_WALL_MM])
    return united([*parts, *fillings, core, into_lid])
