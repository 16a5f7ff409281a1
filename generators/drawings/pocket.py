"""The report's cut through a pocket: cell, ring and strip where they will lie."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from generators.drawings.section import Block, CutPart, section_drawing
from generators.proofs.together import PlacedMesh
from layouts.joining import Strip
from layouts.pack import Face
from layouts.pack_plan import PackPlan

__all__ = ["pocket_section"]

RING_INNER_SHARE = 0.5  # a ring's hole against the can, so that the button is free; as drawn only
ABOVE_MM = 4.0  # of the can shown above the pocket


def pocket_section(plan: PackPlan, placed: Sequence[PlacedMesh]) -> str:
    """Cut along a row through a positive end of the lower face (any end of a 1S pack)."""
    pack, arrangement = plan.pack, plan.arrangement
    positive = ~arrangement.positive_up
    among = np.flatnonzero(positive) if positive.any() else np.arange(len(positive))
    strips = [strip for strip in plan.joining.strips if strip.face is Face.LOWER]
    cell = _shown(arrangement.xy_mm, among, strips)
    x, y = (float(v) for v in arrangement.xy_mm[cell])
    half = pack.pitch_mm * 0.72
    design = plan.enclosure
    low = (x - half, design.z_under_mm)
    high = (x + half, pack.holder.depth_mm + ABOVE_MM)
    plus = bool(positive[cell])
    blocks = [*_cells(plan, y, high[1]), *_strips(plan, strips, y)]
    lip, ring = pack.holder.lip_mm, pack.holder.ring_mm if plus else 0.0
    can = pack.cell.diameter_mm / 2
    left, right = low[0] - 2.5, high[0] + 2.5
    gas = -lip - design.pad_floor_mm / 2
    labels = [
        ("can", (right, high[1] - 2), (x + can * 0.8, high[1] - 2)),
        ("pocket wall", (right, 6.0), (x + pack.pitch_mm / 2, 6.0)),
        ("floor of the channel", (right, 2.4), (x + pack.pitch_mm / 2, pack.holder.floor_behind_mm)),
        ("strip", (right, -0.6), (x + can * 0.5, -ring - pack.strip.thickness_mm / 2)),
        ("way for gas", (right, gas), (x + can * 0.7, gas)),
        ("floor of the tub", (right, design.z_under_mm + 1.2), (x + can, design.z_under_mm + 1.2)),
    ]
    if plus:
        labels.append(("insulating ring", (left, 1.6), (x - can * 0.8, -ring / 2)))
    return section_drawing(
        [
            CutPart(name=part.name, solid=part.solid)
            for part in placed
            if part.role in ("holder_lower", "tub")
        ],
        blocks,
        y_mm=y,
        low=low,
        high=high,
        title="Cut through a pocket of the lower holder",
        labels=labels,
        scale=3.2,
    )


def _shown(
    xy: NDArray[np.float64], among: NDArray[np.intp], strips: Sequence[Strip]
) -> int:
    """A cell in the middle of a strip along its row, nearest the field's middle; else the nearest."""
    rows = {
        cell
        for strip in strips
        if abs(strip.start_mm[1] - strip.end_mm[1]) < 1e-6
        for cell in strip.cells
    }
    best = [cell for cell in among.tolist() if cell in rows] or among.tolist()
    return min(best, key=lambda cell: (float(np.hypot(*xy[cell])), cell))


def _cells(plan: PackPlan, y: float, top: float) -> list[Block]:
    """Cans cut by the plane, with rings on positive lower ends."""
    pack, arrangement = plan.pack, plan.arrangement
    radius, ring = pack.cell.diameter_mm / 2, pack.holder.ring_mm
    inner = radius * RING_INNER_SHARE
    blocks = []
    for (cx, cy), up in zip(arrangement.xy_mm.tolist(), arrangement.positive_up, strict=True):
        if abs(cy - y) > 1e-6:
            continue
        blocks.append(
            Block(name="can", kind="can", x0_mm=cx - radius, x1_mm=cx + radius, z0_mm=0.0,
                  z1_mm=top + 5.0)
        )
        if not up:
            for x0, x1 in ((cx - radius, cx - inner), (cx + inner, cx + radius)):
                blocks.append(
                    Block(name="ring", kind="ring", x0_mm=x0, x1_mm=x1, z0_mm=-ring, z1_mm=0.0)
                )
    return blocks


def _strips(plan: PackPlan, strips: Sequence[Strip], y: float) -> list[Block]:
    """Where strips of the lower face lie in the plane, each straight over rings or can ends."""
    arrangement = plan.arrangement
    blocks = []
    for strip in strips:
        corners = strip.outline_mm
        xs = []
        for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
            if (a[1] - y) * (b[1] - y) < 0:
                xs.append(float(a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1])))
        if len(xs) != 2 or abs(strip.start_mm[1] - strip.end_mm[1]) > 1e-6:
            continue  # strips that slant through the plane would hide what is to be seen
        over = plan.pack.holder.ring_mm if not arrangement.positive_up[strip.cells[0]] else 0.0
        thick = strip.thickness_mm * strip.layers
        blocks.append(
            Block(name=strip.name, kind="strip", x0_mm=min(xs), x1_mm=max(xs),
                  z0_mm=-over - thick, z1_mm=-over)
        )
    return blocks
