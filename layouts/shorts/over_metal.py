"""Ways along the plastic from one potential to another over loose metal between them.

IEC 60664-1 (clause 6.2, example of an unconnected conductive part; from memory): the ways to
the metal and on from it are added; each that dirt can bridge counts as none.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.pack import Face
from layouts.shorts.bare import Bare
from layouts.shorts.metal import Metal
from layouts.shorts.nearest import RequiredSpacing, near_pairs, seen
from layouts.shorts.values import Kind, Spot

__all__ = ["least_over_metal"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Ways:
    """Ways from bare parts to metal: which opening, its part, the metal's part, how long."""

    opening: NDArray[np.int64]
    part: NDArray[np.int64]
    metal: NDArray[np.int64]
    potential: NDArray[np.int64]
    way_mm: NDArray[np.float64]


def least_over_metal(
    openings: list[tuple[Face, Bare]], metal: Metal, required: RequiredSpacing
) -> Spot | None:
    """The two potentials whose way over one piece of metal has the smallest margin.

    ``openings``: what is bare at both faces. None where no piece has two potentials within
    reach. The spot shows the shorter of the two ways.
    """
    if not len(metal.parts.shapes) or required.series < 2:
        return None
    ways = _ways(openings, metal, required)
    body = metal.body[ways.metal]
    best: tuple[float, int, int] | None = None
    for piece in np.unique(body).tolist():
        mine = np.flatnonzero(body == piece)
        mine = mine[np.lexsort((mine, ways.way_mm[mine]))]
        # the shortest way to each potential
        mine = mine[np.sort(np.unique(ways.potential[mine], return_index=True)[1])]
        counted = np.where(ways.way_mm[mine] < required.bridged_mm, 0.0, ways.way_mm[mine])
        step = np.abs(ways.potential[mine][:, None] - ways.potential[mine][None])
        margin = counted[:, None] + counted[None] - required.surface_mm[step]
        margin[step == 0] = np.inf
        i, j = np.unravel_index(int(np.argmin(margin)), margin.shape)
        if step[i, j] > 0 and (best is None or margin[i, j] < best[0] - 1e-9):
            best = (float(margin[i, j]), int(mine[min(i, j)]), int(mine[max(i, j)]))
    return None if best is None else _spot(openings, metal, required, ways, best[1], best[2])


def _ways(openings: list[tuple[Face, Bare]], metal: Metal, required: RequiredSpacing) -> _Ways:
    tree = shapely.STRtree(metal.parts.shapes)
    finite = required.surface_mm[np.isfinite(required.surface_mm)]
    reach = 2.0 * float(finite.max()) + float(required.bridged_mm)
    found: list[tuple[NDArray[np.int64], ...]] = []
    long: list[NDArray[np.float64]] = []
    for k, (_, bare) in enumerate(openings):
        if not len(bare.shapes):
            continue
        pairs = near_pairs(
            bare, metal.parts, tree, required, required.surface_mm, reach, Kind.SURFACE
        )
        found.append((np.full(len(pairs.a), k), pairs.a, pairs.b, bare.potential[pairs.a]))
        long.append(pairs.gap_mm)
    if not found:
        none = np.zeros(0, dtype=np.int64)
        return _Ways(opening=none, part=none, metal=none, potential=none, way_mm=np.zeros(0))
    opening, part, at, potential = (np.concatenate(column) for column in zip(*found, strict=True))
    return _Ways(
        opening=opening, part=part, metal=at, potential=potential, way_mm=np.concatenate(long)
    )


def _spot(
    openings: list[tuple[Face, Bare]],
    metal: Metal,
    required: RequiredSpacing,
    ways: _Ways,
    k: int,
    other: int,
) -> Spot:
    face, bare = openings[int(ways.opening[k])]
    part, at = int(ways.part[k]), int(ways.metal[k])
    far_face, far_bare = openings[int(ways.opening[other])]
    step = abs(int(ways.potential[k] - ways.potential[other]))
    both = [float(ways.way_mm[one]) for one in (k, other)]
    need = float(required.surface_mm[step])
    shapes, ends = seen(bare, part, metal.parts, at)
    onward = f"{far_bare.name(int(ways.part[other]))} ({far_face.value} face)"
    return Spot(
        kind=Kind.SURFACE,
        face=face,
        parts=(
            bare.name(part),
            f"{metal.parts.name(at)}, {both[0]:.2f} mm away, and {both[1]:.2f} mm on to {onward}",
        ),
        volts=step * required.full_v,
        gap_mm=sum((way for way in both if way >= required.bridged_mm), 0.0),
        need_mm=need if np.isfinite(need) else None,
        shapes=shapes,
        ends_mm=ends,
    )
