"""The pack in its space, proven on solids: nothing shared, nothing outside, the gap itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

from generators.proofs.solids import mesh_solid, placed_points
from layouts.checks import Check
from layouts.fitting.body import PackBody
from layouts.fitting.gap import TOLERANCE_MM
from layouts.spaces.regions import prism_solid
from layouts.spaces.space import Prism, Solid, Space

__all__ = ["Overlaps", "body_solid", "in_space_checks", "overlaps", "proven_gap_mm"]

OVERLAP_MM3 = 0.01  # bodies that touch share a face: more than float noise is a clash
ROUND_MM = 10.0  # what lies outside of a free space is looked at so far round it
BELOW_MM = 1e4  # a floor carries: no gap is measured to it


@dataclass(frozen=True, kw_only=True, slots=True)
class Overlaps:
    """Volumes [mm3] that should be 0: shared with each keep-out, outside the free space."""

    shared_mm3: tuple[tuple[str, float], ...]
    outside_mm3: float

    @property
    def worst_mm3(self) -> float:
        """The largest of them."""
        return max([self.outside_mm3, *(volume for _, volume in self.shared_mm3)])

    @property
    def worst_name(self) -> str:
        """Where that is."""
        named = [("outside of the space", self.outside_mm3), *self.shared_mm3]
        return max(named, key=lambda one: one[1])[0]


def body_solid(body: PackBody, pose: NDArray[np.float64]) -> manifold3d.Manifold:
    """All solids of a body as one, put to a (4, 4) pose."""
    solids = [mesh_solid(placed_points(s.vertices_mm, pose), s.faces) for s in body.solids]
    return manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add)


def _room_solid(room: Prism | Solid) -> manifold3d.Manifold:
    mesh = prism_solid(room) if isinstance(room, Prism) else room
    return mesh_solid(mesh.vertices_mm, mesh.faces)


def overlaps(pack: manifold3d.Manifold, space: Space) -> Overlaps:
    """What a posed pack shares with keep-outs, and what of it is outside the free space."""
    outside = 0.0
    if space.room is not None:
        outside = (pack - _room_solid(space.room)).volume()
    shared = tuple(
        (f"'{one.name}'", (pack ^ mesh_solid(one.vertices_mm, one.faces)).volume())
        for one in space.keep_out
    )
    return Overlaps(shared_mm3=shared, outside_mm3=outside)


def proven_gap_mm(pack: manifold3d.Manifold, space: Space, *, most_mm: float) -> float:
    """Least distance of a posed pack to all that it must stay clear of, at most ``most_mm``.

    0 where they overlap. The floor of a prism is left out.
    """
    walls = [mesh_solid(one.vertices_mm, one.faces) for one in space.keep_out]
    if space.room is not None:
        walls.append(_round_room(space.room, most_mm))
    gaps = [float(pack.min_gap(wall, most_mm)) for wall in walls]
    return min([most_mm, *gaps])


def _round_room(room: Prism | Solid, most_mm: float) -> manifold3d.Manifold:
    """The surroundings of a free space: a block less that space, and a prism's floor too."""
    solid = _room_solid(room)
    low, high = (np.array(corner) for corner in np.split(np.array(solid.bounding_box()), 2))
    margin = most_mm + ROUND_MM
    if isinstance(room, Prism):
        points = prism_solid(room)
        deep = points.vertices_mm.copy()
        deep[deep[:, 2] <= 0.0, 2] = -BELOW_MM
        solid = mesh_solid(deep, points.faces)
        low[2] = -BELOW_MM + margin + 1.0
    block = manifold3d.Manifold.cube((high - low + 2 * margin).tolist())
    return block.translate((low - margin).tolist()) - solid


def in_space_checks(
    body: PackBody,
    space: Space,
    pose: NDArray[np.float64],
    gap_mm: float,
    *,
    where: str = "",
    remedies: Sequence[str] = (),
) -> tuple[Check, ...]:
    """The smallest gap, and the proofs on solids that it is right.

    ``gap_mm``: as it was found; ``where``: its place in words; ``remedies``: the remedy."""
    pack = body_solid(body, pose)
    found = overlaps(pack, space)
    most = max(gap_mm, 0.0) + 1.0
    proven = proven_gap_mm(pack, space, most_mm=most)
    off = abs(proven - max(gap_mm, 0.0))
    remedy = ", or ".join(remedies) or "no side cut by half would do: this pack is not for it"
    broken = "a fault of the tool, not of the pack file: keep the file and the log"
    return (
        Check(
            id="space",
            about="everything that must lie within the space does, clear of all keep-outs; "
            "smallest gap",
            holds=gap_mm >= 0.0,
            value=gap_mm,
            limit=0.0,
            unit="mm",
            source="geometry",
            remedy="" if gap_mm >= 0.0 else remedy,
            where=where,
        ),
        Check(
            id="space_overlap",
            about="volume of interference with keep-outs, or outside the space, on solids",
            holds=found.worst_mm3 <= OVERLAP_MM3,
            value=found.worst_mm3,
            limit=OVERLAP_MM3,
            unit="mm3",
            source="geometry",
            remedy=remedy,
            at_least=False,
            where=found.worst_name,
        ),
        Check(
            id="space_gap_proven",
            about="smallest gap as searched, against the gap measured between solids",
            holds=off <= TOLERANCE_MM,
            value=off,
            limit=TOLERANCE_MM,
            unit="mm",
            source="geometry",
            remedy=broken,
            at_least=False,
        ),
    )
