"""Features: what is added to a part's material, cut from it, or kept of it, between two heights."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from layouts.slabs.body import Body
from layouts.slabs.cones_and_engraving import Cone, Engraved
from layouts.slabs.profile import Loop
from layouts.slabs.slabs import Inside, Slab, build

__all__ = ["Effect", "Feature", "drawn"]

SAME_MM = 1e-6  # heights closer than this are one: far below any printed detail


class Effect(Enum):
    """What a feature does to the material that the features before it have left."""

    ADD = "add"
    CUT = "cut"
    KEEP = "keep"  # nothing outside of it is left


@dataclass(frozen=True, kw_only=True, slots=True)
class Feature:
    """Loops of the plan from ``z0_mm`` to ``z1_mm``.

    ``name``: of its region; features of one name have the same loops. ``within``: name of a
    region that bounds it: it acts only where both are.
    """

    name: str
    loops: tuple[Loop, ...]
    z0_mm: float
    z1_mm: float
    effect: Effect = Effect.ADD
    within: str = ""


def drawn(
    features: Sequence[Feature],
    *,
    cones: Sequence[Cone] = (),
    cones_z0_mm: float | None = None,
    engraved: Sequence[Engraved] = (),
    order: Sequence[str] = (),
) -> Body:
    """One body: in their order the features act on the material between their heights.

    ``cones``: walls that widen in the slab that begins at ``cones_z0_mm``. ``engraved``: figures
    sunk into the lowest face. ``order``: names of regions in the order in which their vertices are
    numbered; others follow as they first appear.
    Raises SolidError (from the engine) for shapes that touch each other or leave no one body,
    ValueError where features of one name differ.
    """
    regions: dict[str, tuple[Loop, ...]] = {}
    for feature in features:
        if regions.setdefault(feature.name, feature.loops) != feature.loops:
            raise ValueError(f"features named {feature.name} have different loops")
    heights = _heights_mm(features, also_mm=() if cones_z0_mm is None else (cones_z0_mm,))
    slabs = [Slab(z0, z1, _material(features, (z0 + z1) / 2)) for z0, z1 in pairwise(heights)]
    cone_slab = None
    if cones:
        if cones_z0_mm is None:
            raise ValueError("cones need the height at which they begin")
        cone_slab = next(k for k, slab in enumerate(slabs) if slab.z1_mm > cones_z0_mm + SAME_MM)
    return build(
        {name: regions[name] for name in dict.fromkeys((*order, *regions)) if regions.get(name)},
        slabs,
        cones=cones,
        cone_slab=cone_slab,
        engraved=engraved,
    )


def _heights_mm(features: Sequence[Feature], *, also_mm: Sequence[float]) -> list[float]:
    """Heights at which some feature with loops begins or ends, and others given, rising."""
    heights: list[float] = []
    for z in sorted({*also_mm, *(z for f in features if f.loops for z in (f.z0_mm, f.z1_mm))}):
        if not heights or z > heights[-1] + SAME_MM:
            heights.append(z)
    return heights


def _material(features: Sequence[Feature], z_mm: float) -> Callable[[Inside], NDArray[np.bool_]]:
    """The material at a height, as a boolean function of the regions."""
    empty = {feature.name for feature in features if not feature.loops}
    there = [
        f
        for f in features
        if f.z0_mm < z_mm < f.z1_mm and f.name not in empty and f.within not in empty
    ]

    def material(inside: Inside) -> NDArray[np.bool_]:
        solid = np.zeros_like(next(iter(inside.values())))
        for feature in there:
            region = inside[feature.name]
            if feature.within:
                region = region & inside[feature.within]
            if feature.effect is Effect.ADD:
                solid = solid | region
            elif feature.effect is Effect.CUT:
                solid = solid & ~region
            else:
                solid = solid & region
        return solid

    return material
