"""The proofs of a run that need meshes alone: all parts together, and the pack in its space."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from generators.fitting import fit_placed, fit_plan, given_pose
from generators.made_part import MeshedPart
from generators.proofs.as_planned import as_planned
from generators.proofs.gas_out import gas_out_check
from generators.proofs.mesh_facts import mesh_facts
from generators.proofs.print_size import print_size_proofs
from generators.proofs.print_supports import print_support_proofs
from generators.proofs.together import PlacedMesh, cell_checks, overlap_checks, placed_mesh
from generators.proven import Proofs
from layouts.checks import Check
from layouts.fitting.box_fit import BoxFit, fit_in_box, space_check
from layouts.holders.outline import outline_points_mm
from layouts.pack import Face
from layouts.parts.drawing import CHORD_MM
from layouts.planning.pack_plan import PackPlan

__all__ = ["outside_points", "proofs"]


def proofs(plan: PackPlan, made: Sequence[MeshedPart]) -> Proofs:
    """Measure each mesh; prove all of them together, and the pack in its space."""
    pack = plan.pack
    placed = tuple(
        placed_mesh(
            one.name if len(one.part.placed) == 1 else f"{one.name}-{k}",
            one.part.role,
            one.mesh.vertices_mm,
            one.mesh.faces,
            matrix,
        )
        for one in made
        for k, matrix in enumerate(one.part.placed, start=1)
    )
    cells = cell_checks(
        placed,
        xy_mm=plan.cell_layout.xy_mm,
        diameter_mm=pack.cell.diameter_mm,
        clearance_mm=pack.holder.clearance_mm,
        length_mm=pack.cell.length_mm,
        chord_mm=CHORD_MM,
    )
    outside = outside_points(plan, placed)
    size = outside.max(axis=0) - outside.min(axis=0)
    fit: BoxFit | None = None
    in_space: tuple[Check, ...] = ()
    if pack.space is not None and plan.placed is not None:
        fit, in_space = fit_placed(plan, pack.space, plan.placed.pose)
    elif pack.space is not None and pack.space.is_box and given_pose(plan) is None:
        fit = fit_in_box(outside, pack.space, pack.leads.side)
        in_space = (space_check(fit, pack.space),)
    elif pack.space is not None:
        fit, in_space = fit_plan(plan, pack.space, measure_miss=True)
    if pack.space is not None and fit is not None:
        in_space = (*in_space, *gas_out_check(plan, pack.space, fit.pose, placed))
    return Proofs(
        in_space=in_space,
        facts=tuple(mesh_facts(one.name, one.mesh.vertices_mm, one.mesh.faces) for one in made),
        together=(
            *cells,
            *overlap_checks(placed),
            *as_planned(plan, placed),
            *print_size_proofs(pack.printer, made),
            *print_support_proofs(pack, plan.cell_layout, plan.tiles, made),
        ),
        box_fit=fit,
        size_mm=(float(size[0]), float(size[1]), float(size[2])),
    )


def outside_points(plan: PackPlan, placed: Sequence[PlacedMesh]) -> NDArray[np.float64]:
    """(n, 3) points of all that must lie in the space: parts and the heads of lid screws.

    The heads of the brackets' screws lie within the reach of the brackets' own feet. Without an
    enclosure: the holders and the strips, with the vent space over both faces."""
    if plan.enclosure_set is None:
        return np.vstack([*(part.vertices_mm for part in placed), _bare_points(plan)])
    heads = [
        (at[0] + dx * half, at[1] + dy * half, at[2])
        for screw in plan.enclosure.screws
        if screw.head_up
        for at, half in ((screw.point(screw.top_mm), screw.size.head_diameter_mm / 2),)
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1))
    ]
    return np.vstack([*(part.vertices_mm for part in placed), np.array(heads).reshape(-1, 3)])


def _bare_points(plan: PackPlan) -> NDArray[np.float64]:
    """(n, 3) corners of all strips, and of the vent space over both faces of the holders."""
    pack = plan.pack
    room = pack.holder.lip_mm + pack.enclosure.gas_gap_mm
    low, high = -room, pack.lip_to_lip_mm + room
    corners = [one.outline_mm for face in Face for one in plan.interconnect.laid(face)]
    rim = outline_points_mm(plan.cell_block.outline, CHORD_MM)
    plan_mm = np.vstack([rim, *corners])
    return np.vstack([np.column_stack([plan_mm, np.full(len(plan_mm), z)]) for z in (low, high)])
