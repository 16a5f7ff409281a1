"""Every screw that the plan places, against the meshes: its hole, its insert's hole, its head.

Where a screw stands and what it is comes from the plan; how wide a hole, a head and an insert are
comes from the tables of fasteners. The drawings' own radii and depths are not read.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

from generators.proofs.geometry_check import geometry_check
from generators.proofs.holes import (
    BEARS_MM,
    HOLE_OFF_MM,
    HoleAxis,
    flat_share,
    hole_radii_mm,
    off_table_mm,
)
from generators.proofs.solids import first_hit_mm
from generators.proofs.together import PlacedMesh
from layouts.checks import Check, worst_of
from layouts.parts.fasteners import LEAST_ENGAGEMENT, TIP_FREE_MM, Into
from layouts.parts.screw import PlacedScrew

__all__ = ["screw_proofs"]

NEAR_MM = 1.0  # parts so near to a screw's head and thread are looked at
LEAST_UNDER = 0.8  # of a head's or washer's ring that lies on material; common practice, no source
LEAST_BESIDE_SLOT = 0.3  # of a washer's ring, on both sides of a slot; common practice, no source
BESIDE_MM = 0.3  # beside a hole's wall: where the plates that it goes through are measured
RING_MM = 0.1  # a head's ring is looked at so far inside its edges
LEVEL_MM = 1e-6  # float noise in sums of millimetres
COUNT = 8  # rays beside a hole, along its axis


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _SeenScrew:
    """One screw with the solids near it."""

    screw: PlacedScrew
    axis: HoleAxis
    solids: list[manifold3d.Manifold]
    own_hole: bool

    @property
    def thread_mm(self) -> float:
        """Diameter of its thread, which its name says."""
        return float(self.screw.screw.removeprefix("M"))

    @property
    def ends(self) -> tuple[HoleAxis, ...]:
        """Where its axis may stand at the farthest: one place, or both ends of a slot."""
        way = self.screw.travel_mm
        if way is None:
            return (self.axis,)
        return tuple(
            HoleAxis(at_mm=self.axis.at_mm + sign * way, into=self.axis.into)
            for sign in (1.0, -1.0)
        )

    @property
    def where(self) -> str:
        """Its name and place."""
        x, y, z = self.screw.at_mm
        return f"{self.screw.name} at ({x:.1f}, {y:.1f}, {z:.1f})"


def screw_proofs(
    parts: Sequence[PlacedMesh], screws: Sequence[PlacedScrew], *, own_holes: Collection[str] = ()
) -> tuple[Check, ...]:
    """All proofs of placed screws, the worst screw of each.

    ``own_holes``: joints (``PlacedScrew.where``) whose hole a script of the user's drew: it may be
    wider than the table's, as long as the washer lies on.
    """
    found: list[Check] = []
    for screw in screws:
        seen = _seen(parts, screw, own_hole=screw.where in own_holes)
        found += [_hole(seen), *_head(seen)]
        if screw.into is Into.INSERT:
            found += _insert(seen)
    return worst_of(found)


def _seen(parts: Sequence[PlacedMesh], screw: PlacedScrew, *, own_hole: bool) -> _SeenScrew:
    """A screw with the parts that its head, its hole or its thread may meet."""
    size = screw.size
    axis = HoleAxis(
        at_mm=np.asarray(screw.at_mm, np.float64), into=-np.asarray(screw.out, np.float64)
    )
    deep = screw.through_mm + screw.gap_mm + screw.hole_deep_mm
    ends = np.stack([axis.point(-screw.top_mm), axis.point(deep)])
    wide = max(size.washer_diameter_mm, size.boss_diameter_mm) / 2 + NEAR_MM
    low, high = ends.min(axis=0) - wide, ends.max(axis=0) + wide
    near = [
        part.solid
        for part in parts
        if (part.box_mm[0] <= high).all() and (part.box_mm[1] >= low).all()
    ]
    return _SeenScrew(screw=screw, axis=axis, solids=near, own_hole=own_hole)


def _hole(seen: _SeenScrew) -> Check:
    """The clearance hole through what lies under the head; of a slot both ends."""
    screw = seen.screw
    radii = [hole_radii_mm(seen.solids, axis, 0.0, screw.through_mm) for axis in seen.ends]
    off = off_table_mm(radii[0], screw.size.clearance_diameter_mm)
    if seen.own_hole or screw.travel_mm is not None:
        off = max(0.0, seen.thread_mm - 2.0 * float(min(one.min() for one in radii)))
    return geometry_check(
        "screw_holes",
        "screw holes as printed, off the clearance hole of their table or off their axis, diameter",
        off,
        HOLE_OFF_MM,
        "mm",
        where=seen.where,
    )


def _head(seen: _SeenScrew) -> tuple[Check, ...]:
    """Material under head or washer, and nothing where head and washer are."""
    screw, size = seen.screw, seen.screw.size
    inner = size.clearance_diameter_mm + 2 * RING_MM
    seat = size.washer_diameter_mm if screw.washer else size.head_diameter_mm
    flat, above = flat_share(
        seen.solids, seen.axis, inner, seat - 2 * RING_MM, free_mm=screw.top_mm
    )
    return (
        geometry_check(
            "screw_seats",
            "share of a screw head's or washer's ring that lies on printed material",
            flat,
            LEAST_UNDER if screw.travel_mm is None else LEAST_BESIDE_SLOT,
            "share",
            at_least=True,
            where=seen.where,
        ),
        geometry_check(
            "screw_heads_free",
            "height of printed material in the space of a screw head or its washer",
            above,
            BEARS_MM,
            "mm",
            where=seen.where,
        ),
    )


def _insert(seen: _SeenScrew) -> list[Check]:
    """The hole of a heat-set insert, and how far the screw reaches into it.

    Tightened, the screw closes the gap that the plan leaves behind the plate.
    """
    screw, size = seen.screw, seen.screw.size
    plates = _plates_mm(seen, size.insert_hole_diameter_mm / 2 + BESIDE_MM)
    plate, mouth = plates.mean(axis=0).tolist()
    planned = screw.through_mm, screw.through_mm + screw.gap_mm
    start = planned[1]
    radii = hole_radii_mm(seen.solids, seen.axis, start, start + screw.hole_deep_mm)
    deep = start + _free_mm(seen, start) - mouth
    assert screw.length_mm is not None
    tip = screw.length_mm - screw.lift_mm - plate  # behind the insert's mouth
    engaged = min(tip, deep) / seen.thread_mm
    about = {
        "insert_holes": "holes of heat-set inserts as printed, off their table or axis, diameter",
        "insert_depths": "depth of the holes of heat-set inserts as printed, off the plan",
        "screw_grips": "thickness under a screw head, and the insert's mouth behind it, off plan",
        "screw_engagement": "thread of a screw in its insert as printed, in diameters",
        "screw_tips_free": "space below a screw's tip in its insert's hole as printed",
    }
    values = {
        "insert_holes": (off_table_mm(radii, size.insert_hole_diameter_mm), HOLE_OFF_MM, "mm"),
        "insert_depths": (abs(deep - screw.hole_deep_mm), HOLE_OFF_MM, "mm"),
        "screw_grips": (float(np.abs(plates - planned).max()), HOLE_OFF_MM, "mm"),
        "screw_engagement": (engaged, LEAST_ENGAGEMENT - LEVEL_MM, ""),
        "screw_tips_free": (deep - tip, TIP_FREE_MM - LEVEL_MM, "mm"),
    }
    return [
        geometry_check(
            id_,
            about[id_],
            value,
            limit,
            unit,
            at_least=id_ in ("screw_engagement", "screw_tips_free"),
            where=seen.where,
        )
        for id_, (value, limit, unit) in values.items()
    ]


def _free_mm(seen: _SeenScrew, from_mm: float) -> float:
    """How far the axis is free from a depth on."""
    far = from_mm + 4 * seen.screw.hole_deep_mm
    return first_hit_mm(seen.solids, seen.axis.point(from_mm), seen.axis.point(far))


def _plates_mm(seen: _SeenScrew, radius_mm: float) -> NDArray[np.float64]:
    """(COUNT, 2) thickness of the plate under the head, and depth of the insert's mouth.

    Beside the holes, along the axis: the first part that is met is the plate, the next one
    carries the insert. Infinite where one of them is not there.
    """
    screw = seen.screw
    far = screw.through_mm + screw.gap_mm + screw.hole_deep_mm
    found = np.full((COUNT, 2), np.inf)
    for row, spoke in enumerate(seen.axis.spokes(COUNT)):
        start, end = (seen.axis.point(d) + radius_mm * spoke for d in (-NEAR_MM, far))
        met = [solid.ray_cast(start.tolist(), end.tolist()) for solid in seen.solids]
        plates = sorted(
            [hit.distance * (far + NEAR_MM) - NEAR_MM for hit in hits] for hits in met if hits
        )
        if len(plates) > 1 and len(plates[0]) > 1:
            found[row] = plates[0][1] - plates[0][0], plates[1][0]
    return found
