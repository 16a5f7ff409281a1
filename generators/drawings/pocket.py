"""The report's cuts through a pocket: cell, ring and strip where they will lie."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from generators.drawings.section import (
    Panel,
    Ring,
    SectionBlock,
    SectionLabel,
    cut_rings,
    is_cut,
    section_drawing,
)
from generators.made_part import MeshedPart
from generators.proofs.solids import mesh_solid, placed_points
from layouts.pack import Face
from layouts.planning.pack_plan import PackPlan
from layouts.strips.joining import Strip

__all__ = ["pocket_section"]

RING_INNER_SHARE = 0.5  # a ring's hole against the can, so that the button is free; as drawn only
ABOVE_MM = 3.0  # of the can shown above the pocket
SIDE_SHARE = 0.72  # of the pitch shown left and right of the cell's middle
SAME_ROW_MM = 1e-6
PROBE_MM = 0.05  # depth inside a face at which material is tested


def pocket_section(plan: PackPlan, made: Sequence[MeshedPart]) -> str:
    """Two cuts through one cell, along its row and across it.

    The cell is a positive end of the lower face (any end of a 1S pack), with a strip along its
    row where there is one.
    """
    cell_layout = plan.cell_layout
    positive = ~cell_layout.positive_up
    among = np.flatnonzero(positive) if positive.any() else np.arange(len(positive))
    strips = [
        strip
        for strip in plan.interconnect.strips
        # slanting ones would hide what is to be seen
        if strip.face is Face.LOWER and abs(strip.start_mm[1] - strip.end_mm[1]) < SAME_ROW_MM
    ]
    cell = _shown(cell_layout.xy_mm, among, strips)
    parts = [
        mesh_solid(placed_points(one.mesh.vertices_mm, matrix), one.mesh.faces)
        for one in made
        if one.part.role in ("holder_lower", "tub")
        for matrix in one.part.placed
    ]
    at = (float(cell_layout.xy_mm[cell, 0]), float(cell_layout.xy_mm[cell, 1]))
    panels = [
        _panel(
            plan,
            strips,
            cell,
            tuple(cut_rings(part, at, across=across) for part in parts),
            across=across,
        )
        for across in (False, True)
    ]
    return section_drawing(panels, title="Sections through a pocket of the lower holder")


def _panel(
    plan: PackPlan,
    strips: Sequence[Strip],
    cell: int,
    cuts: tuple[tuple[Ring, ...], ...],
    *,
    across: bool,
) -> Panel:
    pack, cell_layout = plan.pack, plan.cell_layout
    at = (float(cell_layout.xy_mm[cell, 0]), float(cell_layout.xy_mm[cell, 1]))
    middle = at[1] if across else at[0]
    half = pack.pitch_mm * SIDE_SHARE
    top = pack.holder.depth_mm + ABOVE_MM
    bars = _strips(plan, strips, at, across=across) + _plates(plan, at, across=across)
    own = next((bar for bar in bars if bar.u0_mm <= middle <= bar.u1_mm), None)
    ring = not bool(cell_layout.positive_up[cell])
    return Panel(
        title="Across the row" if across else "Along the row",
        cuts=cuts,
        low_mm=(middle - half, _under_mm(plan)),
        high_mm=(middle + half, top),
        blocks=(*_cans(plan, at, across=across, top=top), *bars),
        labels=(
            *_labels_round_the_cell(plan, middle, own, ring=ring, right=middle + half, top=top),
            *_labels_of_the_holder(plan, middle, [ring for part in cuts for ring in part]),
        ),
    )


def _labels_round_the_cell(
    plan: PackPlan, middle: float, own: SectionBlock | None, *, ring: bool, right: float, top: float
) -> list[SectionLabel]:
    """Labels of can, ring, strip, the vent path and the tub's floor."""
    holder = plan.pack.holder
    can = plan.pack.cell.diameter_mm / 2
    labels = [
        SectionLabel(text="can", to_mm=(middle + can * 0.6, top - 1.5)),
        SectionLabel(
            text="vent path",
            to_mm=(middle + can * 0.6, -holder.lip_mm - _way_mm(plan) / 2),
        ),
    ]
    if plan.enclosure_set is not None:
        shell = plan.enclosure.shell
        floor = shell.z_under_mm + shell.floor_mm / 2
        labels.append(SectionLabel(text="tub floor", to_mm=(middle + can * 0.6, floor)))
    if ring:
        labels.append(
            SectionLabel(text="insulating ring", to_mm=(middle + can * 0.85, -holder.ring_mm / 2))
        )
    if own is not None:
        u = min(own.u1_mm, right) - 0.4  # its leader leaves at its end, not over it
        labels.append(
            SectionLabel(
                text="plate" if plan.interconnect.plates else "strip",
                to_mm=(u, (own.z0_mm + own.z1_mm) / 2),
                beside_mm=-holder.lip_mm - 0.1,  # below the lip's: their leaders don't cross
            )
        )
    return labels


def _way_mm(plan: PackPlan) -> float:
    """Height of the vent path under the holder."""
    if plan.enclosure_set is None:
        return plan.pack.enclosure.gas_gap_mm
    return -plan.pack.holder.lip_mm - plan.enclosure.shell.z_floor_mm


def _under_mm(plan: PackPlan) -> float:
    """Lowest height of the drawing: the tub's underside, or the free space's."""
    if plan.enclosure_set is None:
        return -plan.pack.holder.lip_mm - _way_mm(plan)
    return plan.enclosure.shell.z_under_mm


def _labels_of_the_holder(
    plan: PackPlan, middle: float, rings: Sequence[Ring]
) -> list[SectionLabel]:
    """Labels of the holder's lip, wall and channel, each only where the plane cuts it.

    A channel may open the lip on one side or both, and a wall need not have a channel under it.
    """
    pack, holder = plan.pack, plan.pack.holder
    lip = (holder.window_mm / 2 + pack.cell.diameter_mm / 2) / 2 + 0.4
    web = pack.pitch_mm / 2
    floor = holder.web_recess_mm
    labels = []
    for text, off, z, opening in (
        ("lip", lip, -holder.lip_mm * 0.7, None),
        ("pocket wall", web, holder.depth_mm * 0.6, None),
        ("channel floor", web, floor + PROBE_MM, floor - PROBE_MM),
    ):
        for side in (1.0, -1.0):
            u = middle + side * off
            if is_cut(rings, (u, z)) and (opening is None or not is_cut(rings, (u, opening))):
                # a leader from the far lip passes below the strip and its label's leader
                low = -holder.lip_mm - 0.2 if text == "lip" and side < 0 else None
                labels.append(SectionLabel(text=text, to_mm=(u, z), beside_mm=low))
                break
    return labels


def _shown(xy: NDArray[np.float64], among: NDArray[np.intp], strips: Sequence[Strip]) -> int:
    """A cell in the middle of a strip along its row, nearest the field's middle; else the nearest.

    A cell within a strip's length is better than one at its end: the strip shows on both sides.
    """
    inner = {cell for strip in strips for cell in strip.cells[1:-1]}
    rows = {cell for strip in strips for cell in strip.cells}
    choice = [int(cell) for cell in among]
    best = (
        [cell for cell in choice if cell in inner]
        or [cell for cell in choice if cell in rows]
        or choice
    )
    return min(best, key=lambda cell: (float(np.hypot(*xy[cell])), cell))


def _cans(
    plan: PackPlan, at: tuple[float, float], *, across: bool, top: float
) -> list[SectionBlock]:
    """Cans cut by the plane, with rings on positive lower ends."""
    pack, cell_layout = plan.pack, plan.cell_layout
    radius, ring = pack.cell.diameter_mm / 2, pack.holder.ring_mm
    blocks = []
    for centre, up in zip(cell_layout.xy_mm.tolist(), cell_layout.positive_up, strict=True):
        u, off = (centre[1], centre[0] - at[0]) if across else (centre[0], centre[1] - at[1])
        if abs(off) >= radius:
            continue
        half = math.sqrt(radius**2 - off**2)
        blocks.append(
            SectionBlock(kind="can", u0_mm=u - half, u1_mm=u + half, z0_mm=0.0, z1_mm=top + 5.0)
        )
        if up:
            continue
        inner = math.sqrt(max((radius * RING_INNER_SHARE) ** 2 - off**2, 0.0))
        sides = ((u - half, u - inner), (u + inner, u + half)) if inner else ((u - half, u + half),)
        blocks += [
            SectionBlock(kind="ring", u0_mm=u0, u1_mm=u1, z0_mm=-ring, z1_mm=0.0)
            for u0, u1 in sides
        ]
    return blocks


def _strips(
    plan: PackPlan, strips: Sequence[Strip], at: tuple[float, float], *, across: bool
) -> list[SectionBlock]:
    """Where the strips lie in the plane, each straight over rings or can ends."""
    cell_layout = plan.cell_layout
    blocks = []
    along, off = (1, 0) if across else (0, 1)
    for strip in strips:
        corners = strip.outline_mm
        cut = []
        for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
            if (a[off] - at[off]) * (b[off] - at[off]) < 0:
                share = (at[off] - a[off]) / (b[off] - a[off])
                cut.append(float(a[along] + (b[along] - a[along]) * share))
        if len(cut) != 2:
            continue
        over = plan.pack.holder.ring_mm if not cell_layout.positive_up[strip.cells[0]] else 0.0
        thick = strip.thickness_mm * strip.layers
        blocks.append(
            SectionBlock(
                kind="strip", u0_mm=min(cut), u1_mm=max(cut), z0_mm=-over - thick, z1_mm=-over
            )
        )
    return blocks


def _plates(plan: PackPlan, at: tuple[float, float], *, across: bool) -> list[SectionBlock]:
    """Where the lower face's plates lie in the plane: over rings on positive ends, else flat."""
    low, high = -1e4, 1e4
    line = shapely.LineString(
        [(at[0], low), (at[0], high)] if across else [(low, at[1]), (high, at[1])]
    )
    blocks = []
    for plate in plan.interconnect.plates:
        if plate.face is not Face.LOWER:
            continue
        over = max(
            0.0 if plan.cell_layout.positive_up[cell] else plan.pack.holder.ring_mm
            for cell in plate.cells
        )
        z1 = -over
        for layer, sheet in zip(plate.layers, plate.sheets, strict=True):
            z0 = z1 - layer.thickness_mm
            for part in shapely.get_parts(shapely.intersection(line, sheet)):
                if not part.length:
                    continue
                ends = shapely.get_coordinates(part)[[0, -1], 1 if across else 0]
                blocks.append(
                    SectionBlock(
                        kind="strip",
                        u0_mm=float(ends.min()),
                        u1_mm=float(ends.max()),
                        z0_mm=z0,
                        z1_mm=z1,
                    )
                )
            z1 = z0
    return blocks
