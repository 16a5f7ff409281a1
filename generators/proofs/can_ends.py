"""Can ends in the printed holders: rings go into their seats, every end stands on plastic.

Cells, their poles and the ring come from the plan and the pack file; where the lip begins is
looked up on the meshes.
"""

from __future__ import annotations

from collections.abc import Sequence

import manifold3d
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from generators.proofs.faces import FaceFrame, frame_of, holders_of
from generators.proofs.geometry_check import geometry_check
from generators.proofs.solids import cans_solid
from generators.proofs.together import CLASH_MM3, OVERLAP_MM3, PlacedMesh
from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.pack import Face, Pack
from layouts.parts.drawing import CHORD_MM
from layouts.strips.lip import CORNER_MM, positive_end

__all__ = ["can_end_proofs"]

OFF_MM = 0.03  # a can's end stands so near to its place, and a ring has no less
ABOVE_MM = 1.0  # a ring is looked at past its own height, up to where the can fills the pocket
LEAST_MM2 = 1.0  # of lip under a can's end: less carries nothing


def can_end_proofs(
    parts: Sequence[PlacedMesh], pack: Pack, cell_layout: CellLayout
) -> tuple[Check, ...]:
    """Rings in their seats, and ends that stand on the lip or on the seat's floor."""
    return (_rings(parts, pack, cell_layout), *_borne(parts, pack, cell_layout))


def _rings(parts: Sequence[PlacedMesh], pack: Pack, cell_layout: CellLayout) -> Check:
    """Interference of the rings, as wide as their cans and in any place of these, with holders.

    A ring goes down to the seat's floor: all of the seat must be open to it.
    """
    play = max(pack.holder.clearance_mm - 4 * CHORD_MM, 0.0)
    total, worst, where = 0.0, 0.0, ""
    for face in Face:
        mine = np.flatnonzero(positive_end(cell_layout, face))
        if not len(mine):
            continue
        low, high = frame_of(pack, face).span_mm(OFF_MM - pack.holder.seat_mm, ABOVE_MM)
        rings = cans_solid(
            cell_layout.xy_mm[mine],
            diameter_mm=pack.cell.diameter_mm + play,
            z0_mm=low,
            z1_mm=high,
            chord_mm=CHORD_MM,
        )
        for part in holders_of(parts, face):
            shared = part.solid ^ rings
            total += shared.volume()
            if shared.volume() > max(worst, CLASH_MM3):
                worst = shared.volume()
                where = f"{part.name}, {_nearest(shared, cell_layout, mine)}"
    return geometry_check(
        "rings_in_seats",
        "interference of the insulating rings on all positive ends with their seats",
        total,
        OVERLAP_MM3,
        "mm3",
        where=where,
    )


def _nearest(shared: manifold3d.Manifold, cells: CellLayout, mine: NDArray[np.int64]) -> str:
    """The cell whose ring meets most."""
    largest = max(shared.decompose(), key=lambda piece: float(piece.volume()))
    points = np.asarray(largest.to_mesh64().vert_properties)[:, :2]
    return f"cell {int(mine[cKDTree(cells.xy_mm[mine]).query(points.mean(axis=0))[1]]) + 1}"


def _borne(parts: Sequence[PlacedMesh], pack: Pack, cell_layout: CellLayout) -> tuple[Check, Check]:
    """Ends with plastic right under their place, and those with none right above it."""
    reach = pack.cell.diameter_mm / 2 - CORNER_MM
    borne, free, missing, blocked = 0, 0, "", ""
    for face in Face:
        frame, positive = frame_of(pack, face), positive_end(cell_layout, face)
        holders = holders_of(parts, face)
        for pole, level in ((True, -pack.holder.seat_mm), (False, 0.0)):
            mine = np.flatnonzero(positive == pole)
            under = _lip_mm2(holders, frame, level - OFF_MM, cell_layout.xy_mm[mine], reach)
            over = _lip_mm2(holders, frame, level + OFF_MM, cell_layout.xy_mm[mine], reach)
            carried, clear = under >= LEAST_MM2, over < LEAST_MM2
            borne, free = borne + int(carried.sum()), free + int(clear.sum())
            for cell in mine[~carried][:1]:
                missing = missing or f"cell {cell + 1}, {face.value} face"
            for cell in mine[~clear][:1]:
                blocked = blocked or f"cell {cell + 1}, {face.value} face"
    ends = 2.0 * len(cell_layout.xy_mm)
    return (
        geometry_check(
            "ends_borne",
            "can ends with printed lip or seat right under their place",
            float(borne),
            ends,
            "",
            at_least=True,
            where=missing,
        ),
        geometry_check(
            "ends_free",
            "can ends with nothing printed above their place",
            float(free),
            ends,
            "",
            at_least=True,
            where=blocked,
        ),
    )


def _lip_mm2(
    holders: Sequence[PlacedMesh],
    frame: FaceFrame,
    depth_mm: float,
    xy_mm: NDArray[np.float64],
    radius_mm: float,
) -> NDArray[np.float64]:
    """(n,) area of the holders' section at a depth within a radius round each cell [mm2]."""
    found = np.zeros(len(xy_mm))
    if not len(xy_mm):
        return found
    disc = manifold3d.CrossSection.circle(radius_mm, 64)
    discs = manifold3d.CrossSection.compose([disc.translate(at) for at in xy_mm.tolist()])
    tree = cKDTree(xy_mm)
    for part in holders:
        for ring in (part.solid.slice(frame.z_mm(depth_mm)) ^ discs).to_polygons():
            x, y = np.asarray(ring).T
            area = float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) / 2
            found[int(tree.query((x.mean(), y.mean()))[1])] += area
    return found
