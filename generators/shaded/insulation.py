"""Insulating sheets over both faces and the paper round the cells, as things."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from generators.exports.bill import BillRow
from generators.exports.bought import PAPER_MM, SHEET_MM
from generators.made_part import MeshedPart
from generators.meshes.mesh import Mesh
from generators.shaded.bill_lookup import row_of
from generators.shaded.levels import lift_mm
from generators.shaded.palette import Paint
from generators.shaded.shapes import prism, section
from generators.shaded.things import Placed, Thing
from layouts.holders.shape import cell_block_shape
from layouts.parts.shell import Shell
from layouts.planning.pack_plan import PackPlan

__all__ = ["insulation_things", "placed_meshes"]

OFF_WALL_MM = 1.0  # between a sheet's edge and the walls; judgement, no source
OFF_MM = 0.6  # and what stands on floor or lid
SCRAP_MM2 = 150.0  # a smaller piece between two cut-outs is left out
OFF_PAPER_MM = 0.1  # the paper lies so far outside of the holders' outline
POST_FREE_MM = 4.0  # radius of the cut-out for a tie screw's head
OVER_MM = 0.3  # without an enclosure: a sheet over the holder's outer face


def insulation_things(
    plan: PackPlan, meshed: Sequence[MeshedPart], bill: Sequence[BillRow]
) -> Iterator[Thing]:
    """Two sheets with their cut-outs, then the paper."""
    can, pack = plan.pack.cell.length_mm, plan.pack
    row = row_of(bill, "insulating sheet")
    for name, layer, mesh in _sheets(plan, meshed):
        yield Thing(
            name=name, row=row, paint=Paint.SHEET, cut="sheet" if layer == "lid sheet" else "",
            copies=(_still(mesh, lift_mm(layer, can)),),
        )  # fmt: skip
    block = cell_block_shape(plan.cell_block.outline)
    inner = block.buffer(OFF_PAPER_MM)
    band = prism(
        inner.buffer(PAPER_MM).difference(inner), pack.holder.depth_mm,
        can - pack.holder.depth_mm,
    )  # fmt: skip
    yield Thing(
        name="insulating paper", row=row_of(bill, "insulating paper"), paint=Paint.PAPER_WRAP,
        cut="paper", copies=(_still(band, lift_mm("paper", can)),),
    )  # fmt: skip


def _still(mesh: Mesh, lift: float) -> Placed:
    return Placed(mesh=mesh, place=np.eye(4), apart_mm=(0.0, 0.0, lift))


def _sheets(plan: PackPlan, meshed: Sequence[MeshedPart]) -> Iterator[tuple[str, str, Mesh]]:
    pack = plan.pack
    if plan.enclosure_set is None:
        heads = [shapely.Point(p.x_mm, p.y_mm).buffer(POST_FREE_MM) for p in plan.cell_block.posts]
        over = shapely.box(*plan.cell_block.box_mm).difference(shapely.union_all(heads))
        top = pack.lip_to_lip_mm + pack.holder.lip_mm + OVER_MM
        low = -pack.holder.lip_mm - OVER_MM
        yield "upper insulating sheet", "lid sheet", prism(over, top, top + SHEET_MM)
        yield "lower insulating sheet", "floor sheet", prism(over, low - SHEET_MM, low)
        return
    shell = plan.enclosure.shell
    parts = placed_meshes(meshed, ("tub", "lid"))
    for name, layer, z0, through in (
        ("insulating sheet on the floor", "floor sheet", shell.z_floor_mm,
         shell.z_under_mm + shell.floor_mm / 2),
        ("insulating sheet on the lid", "lid sheet", shell.z_rim_mm - SHEET_MM, None),
    ):  # fmt: skip
        cut = _cut_out(shell, parts, z0 + SHEET_MM / 2, through)
        if not cut.is_empty:
            yield name, layer, prism(cut, z0, z0 + SHEET_MM)


def _cut_out(
    shell: Shell, parts: Sequence[Mesh], z_mm: float, through_mm: float | None
) -> BaseGeometry:
    """What of the cavity's plan a sheet at one height covers; ``through_mm``: height in the floor,
    whose holes are kept free."""
    taken = section(parts, z_mm).buffer(OFF_MM)
    if through_mm is not None:
        holes = shell.cavity.difference(section(parts, through_mm))
        taken = shapely.union(taken, holes.buffer(OFF_MM))
    left = shell.cavity.buffer(-OFF_WALL_MM).difference(taken)
    large = [part for part in shapely.get_parts(left) if part.area > SCRAP_MM2]
    return shapely.union_all(large) if large else shapely.Polygon()


def placed_meshes(meshed: Sequence[MeshedPart], roles: Sequence[str]) -> list[Mesh]:
    """Meshes of the parts of some roles, each copy in its place."""
    return [
        Mesh(one.mesh.vertices_mm @ matrix[:3, :3].T + matrix[:3, 3], one.mesh.faces)
        for one in meshed
        if one.part.role in roles
        for matrix in one.part.placed
    ]
