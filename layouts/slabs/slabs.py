"""A body from slabs: each slab's material is a boolean function of named regions of the plan.

All loops are cut against each other once (``planar``). Then every wall and level face follows
from "is there material left / right of this piece in this slab": a new feature is one more
region and one more term, with no code of its own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.slabs.body import Body, ConeWall, LevelFace, WallFace
from layouts.slabs.cones_and_engraving import (
    Cone,
    ConeRings,
    Engraved,
    EngravedPieces,
    cone_rings,
    engraved_pieces,
)
from layouts.slabs.errors import SolidError
from layouts.slabs.faces import PieceLoop, Plan
from layouts.slabs.joining import joined
from layouts.slabs.planar import PlanarMap, arrange
from layouts.slabs.profile import Loop
from layouts.slabs.soundness import refuse_pinched, refuse_several_shells, refuse_touching

__all__ = [
    "Body",
    "Cone",
    "ConeWall",
    "Engraved",
    "Inside",
    "LevelFace",
    "Region",
    "Slab",
    "SolidError",
    "WallFace",
    "build",
]

Region = Sequence[Loop]
Inside = Mapping[str, NDArray[np.bool_]]
IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Slab:
    """Material from ``z0_mm`` to ``z1_mm``: a boolean function of the regions.

    ``material`` is given, for many sample points at once, whether they lie inside each region,
    and returns whether there is material. It must return False outside all regions.
    """

    z0_mm: float
    z1_mm: float
    material: Callable[[Inside], BoolArray]


def build(
    regions: Mapping[str, Region],
    slabs: Sequence[Slab],
    *,
    cones: Sequence[Cone] = (),
    cone_slab: int | None = None,
    engraved: Sequence[Engraved] = (),
) -> Body:
    """One sound body from regions and slabs.

    Parameters
    ----------
    regions : name -> loops [mm]; a region is the union of the insides of its loops, which may
        overlap, cross and share edges with each other and with other regions' loops.
    slabs : from below, each beginning where the one under it ends.
    cones : circles of the plan whose wall in slab ``cone_slab`` is a cone that reaches
        ``top_radius_mm`` at that slab's upper end, where the material must end.
    engraved : figures sunk into the lowest face, less deep than the lowest slab is high.

    Raises
    ------
    SolidError : loops that are open or cross themselves, slabs with gaps, material without
        bound, material that meets itself in a line or point only, more than one body, cones or
        figures that run into something else.
    """
    _check_slabs(slabs)
    plan = arrange(regions)
    left, right = _materials(plan, slabs)
    vertices, ends, circles, turns, left, right = _bounding(plan, left, right)
    heights = [(slab.z0_mm, slab.z1_mm) for slab in slabs]
    refuse_pinched(vertices, ends, left, right, heights)
    refuse_touching(plan.touches, vertices, ends, circles, turns, left != right)
    base = Plan(vertices, ends, circles, turns)
    rings = cone_rings(base, left, right, cones, cone_slab, heights)
    figures = engraved_pieces(
        base, left[0], right[0], engraved, heights[0], first_vertex=len(rings.vertices)
    )
    whole = Plan(
        np.vstack([vertices, rings.vertices, figures.vertices]),
        np.vstack([ends, rings.ends, figures.ends]),
        np.vstack([circles, rings.circles, figures.circles]),
        np.vstack([turns, rings.turns, figures.turns]),
    )
    body = Body(
        vertices=whole.vertices,
        ends=whole.ends,
        circles=whole.circles,
        turns=whole.turns,
        faces=_faces(whole, left, right, heights, rings, cone_slab, figures),
        walls=_walls(left, right, heights, rings, cone_slab) + figures.walls,
        cones=rings.cones,
        slabs_mm=tuple(heights),
        slab_areas=_areas(base, left, right),
        engraved_mm3=figures.volume_mm3,
        cones_mm3=rings.volume_mm3,
    )
    refuse_several_shells(body)
    return body


def _bounding(
    plan: PlanarMap, left: BoolArray, right: BoolArray
) -> tuple[FloatArray, IntArray, FloatArray, FloatArray, BoolArray, BoolArray]:
    """Vertices and pieces with material on one side only in some slab, joined where they can be.

    SolidError where there are none.
    """
    kept = (left != right).any(axis=0)
    if not kept.any():
        raise SolidError("there is no material in any slab", remedy="check the slabs' functions")
    return joined(
        (
            plan.vertices,
            plan.ends[kept],
            plan.circles[kept],
            plan.turns[kept],
            left[:, kept],
            right[:, kept],
        )
    )


def _check_slabs(slabs: Sequence[Slab]) -> None:
    """SolidError unless there are slabs, each with height, that stack without gaps."""
    if not slabs:
        raise SolidError("no slab is given", remedy="give at least one")
    for k, slab in enumerate(slabs):
        if not slab.z1_mm > slab.z0_mm:
            raise SolidError(
                f"slab {k} runs from {slab.z0_mm:g} to {slab.z1_mm:g} mm",
                remedy="its upper end must lie above its lower one",
            )
        if k and slab.z0_mm != slabs[k - 1].z1_mm:
            raise SolidError(
                f"slab {k} begins at {slab.z0_mm!r} mm, the one under it ends at "
                f"{slabs[k - 1].z1_mm!r} mm",
                remedy="give both the same number",
            )


def _materials(plan: PlanarMap, slabs: Sequence[Slab]) -> tuple[BoolArray, BoolArray]:
    """Material left and right of every piece in every slab, (slabs, pieces)."""
    size = len(plan.ends)
    outside = {name: np.zeros(1, bool) for name in plan.left}

    def of(k: int, slab: Slab, inside: Inside, count: int) -> BoolArray:
        try:
            value = slab.material(inside)
        except KeyError as error:
            raise SolidError(
                f"slab {k} uses region {error.args[0]!r}; there are {', '.join(inside)}",
                remedy="name one of these, or give that region (an empty list will do)",
            ) from error
        return np.broadcast_to(np.asarray(value, bool), (count,))

    for k, slab in enumerate(slabs):
        if of(k, slab, outside, 1)[0]:
            raise SolidError(
                f"slab {k} has material outside all regions",
                remedy="bound it by an outline: m[...] & ...",
            )
    left = np.array([of(k, slab, plan.left, size) for k, slab in enumerate(slabs)])
    right = np.array([of(k, slab, plan.right, size) for k, slab in enumerate(slabs)])
    return left, right


def _areas(plan: Plan, left: BoolArray, right: BoolArray) -> tuple[float, ...]:
    """Area of material in every slab [mm2]."""
    sides = left.astype(np.int8) - right.astype(np.int8)
    return tuple(math.fsum((row * plan.green_mm2).tolist()) for row in sides)


def _faces(
    plan: Plan,
    left: BoolArray,
    right: BoolArray,
    heights: Sequence[tuple[float, float]],
    rings: ConeRings,
    cone_slab: int | None,
    figures: EngravedPieces,
) -> tuple[LevelFace, ...]:
    """All level faces, from below."""
    faces: list[LevelFace] = []
    none = np.zeros(left.shape[1], bool)
    count = len(heights)

    def add(
        z: float, sense: int, inside: tuple[BoolArray, BoolArray], extra: Sequence[PieceLoop]
    ) -> None:
        there = inside[0] != inside[1]
        if sense > 0 and cone_slab is not None and z == heights[cone_slab][1]:
            there = there & ~rings.on_ring
        pieces = np.flatnonzero(there)
        if not len(pieces) and not extra:
            return
        signs = np.where(inside[0][pieces], 1, -1)
        loops = plan.chain(pieces, signs) + list(extra)
        faces.extend(LevelFace(z, sense, group) for group in plan.grouped(loops))

    for k in range(count + 1):
        below = (left[k - 1], right[k - 1]) if k else (none, none)
        above = (left[k], right[k]) if k < count else (none, none)
        z = heights[k][0] if k < count else heights[-1][1]
        up = (below[0] & ~above[0], below[1] & ~above[1])
        down = (above[0] & ~below[0], above[1] & ~below[1])
        topped = cone_slab is not None and k == cone_slab + 1
        add(z, -1, down, figures.bottom_loops if k == 0 else ())
        add(z, 1, up, rings.top_loops if topped else ())
        if k == 0:
            for depth, loops in figures.floors.items():
                faces += [LevelFace(z + depth, -1, group) for group in plan.grouped(loops)]
    return tuple(faces)


def _walls(
    left: BoolArray,
    right: BoolArray,
    heights: Sequence[tuple[float, float]],
    rings: ConeRings,
    cone_slab: int | None,
) -> tuple[WallFace, ...]:
    """All upright faces; a wall that goes on unchanged through several slabs is one."""
    side = np.zeros((left.shape[1], left.shape[0] + 2), np.int8)
    side[:, 1:-1] = (left.astype(np.int8) - right.astype(np.int8)).T
    if cone_slab is not None:
        side[rings.on_ring, cone_slab + 1] = 0
    changed = side[:, 1:] != side[:, :-1]
    piece, begin = np.nonzero(changed[:, :-1] & (side[:, 1:-1] != 0))
    _, end = np.nonzero(changed[:, 1:] & (side[:, 1:-1] != 0))
    sides = side[piece, begin + 1]
    return tuple(
        WallFace(p, heights[a][0], heights[b][1], s)
        for p, a, b, s in zip(
            piece.tolist(), begin.tolist(), end.tolist(), sides.tolist(), strict=True
        )
    )
