"""Tie screws, measured on both holders' meshes: head and nut sink in, the screw goes through.

Where the posts stand and which screw is bought comes from the plan, the sizes of screw, head and
nut from the table of fasteners; recesses and holes are measured.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

from generators.proofs.geometry_check import geometry_check
from generators.proofs.holes import (
    BEARS_MM,
    HOLE_OFF_MM,
    HoleAxis,
    hole_radii_mm,
    off_table_mm,
)
from generators.proofs.together import PlacedMesh
from layouts.checks import Check, worst_of
from layouts.formats import Screw, screws
from layouts.holders.holder import Post
from layouts.pack import Pack

__all__ = ["tie_screw_proofs"]

BEFORE_MM = 1.0  # rays along a post begin so far outside of the holder
BRIDGED_LAYERS = 2  # behind a recess, in straight lines: the round hole follows
PAST_MM = 0.2  # it is measured so far behind them
HEAD_PLAY_MM = (0.1, 0.6)  # across a head in its recess; common practice, no source
NUT_PLAY_MM = 0.05  # least across a nut's flats in its recess; common practice, no source
TURNS = 60  # ways in which a nut is tried, a degree apart: its flats come again each 60
LEVEL_MM = 1e-6  # float noise in sums of millimetres
ABOUT = {
    "tie_holes": "holes of the tie screws as printed, off their table or axis, diameter",
    "tie_heads_go_in": "play of a tie screw's head across its recess",
    "tie_heads_held": "play of a tie screw's head across its recess, at most",
    "tie_heads_sunk": "top of a tie screw's head below the holder's outer face",
    "tie_tips_inside": "tip of a tie screw inside of the lower holder's outer face",
    "tie_nuts_go_in": "play of a nut across its flats, or over its corners, in its recess",
    "tie_nuts_held": "play of a nut turned by 30 degrees in its recess, which must refuse it",
    "tie_nuts_gripped": "thread of a tie screw behind its nut",
    "posts_meet": "gap between the two posts of a tie screw",
}


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _MeasuredTie:
    """One post's axis from both faces, the solids on it, its screw."""

    above: HoleAxis
    below: HoleAxis
    upper: list[manifold3d.Manifold]
    lower: list[manifold3d.Manifold]
    size: Screw
    length_mm: float
    stack_mm: float  # between both outer faces
    bridges_mm: float  # behind a recess
    where: str


def tie_screw_proofs(
    parts: Sequence[PlacedMesh], pack: Pack, posts: Iterable[Post], *, length_mm: float
) -> tuple[Check, ...]:
    """All proofs of the tie screws, the worst post of each; ``length_mm``: below the head."""
    found: list[Check] = []
    for number, post in enumerate(posts, start=1):
        tie = _tie(parts, pack, post, number, length_mm)
        found += _of_tie(tie)
    return worst_of(found)


def _tie(
    parts: Sequence[PlacedMesh], pack: Pack, post: Post, number: int, length_mm: float
) -> _MeasuredTie:
    lip = pack.holder.lip_mm
    top, bottom = pack.lip_to_lip_mm + lip, -lip
    near = {
        role: [part.solid for part in parts if part.role == role and _over(part, post)]
        for role in ("holder_upper", "holder_lower")
    }
    return _MeasuredTie(
        above=HoleAxis(
            at_mm=np.array([post.x_mm, post.y_mm, top]), into=np.array([0.0, 0.0, -1.0])
        ),
        below=HoleAxis(
            at_mm=np.array([post.x_mm, post.y_mm, bottom]), into=np.array([0.0, 0.0, 1.0])
        ),
        upper=near["holder_upper"],
        lower=near["holder_lower"],
        size=screws()[pack.holder.screw],
        length_mm=length_mm,
        stack_mm=top - bottom,
        bridges_mm=BRIDGED_LAYERS * pack.printer.layer_mm + PAST_MM,
        where=f"post {number} at ({post.x_mm:.1f}, {post.y_mm:.1f})",
    )


def _over(part: PlacedMesh, post: Post) -> bool:
    """Whether a post's axis passes a part's box."""
    low, high = part.box_mm
    return bool(low[0] <= post.x_mm <= high[0] and low[1] <= post.y_mm <= high[1])


def _floor_mm(solids: Sequence[manifold3d.Manifold], axis: HoleAxis, outer_mm: float) -> float:
    """Depth of a recess: where the ring round the screw's hole meets its floor.

    ``outer_mm``: diameter of what lies on it. A slot across the floor, bridged for the printer,
    lets half of the rays pass: those of the nearest quarter end on the floor.
    """
    radius = outer_mm / 2 - 0.3
    deep = axis.depths_mm(solids, radius, from_mm=-BEFORE_MM, to_mm=4 * outer_mm)
    return float(np.quantile(deep, 0.25, method="lower"))


def _of_tie(tie: _MeasuredTie) -> list[Check]:
    """Head, hole, nut and posts of one tie screw."""
    size, both = tie.size, [*tie.upper, *tie.lower]
    head = _floor_mm(tie.upper, tie.above, size.head_diameter_mm)
    nut = _floor_mm(tie.lower, tie.below, size.nut_flats_mm)
    if not (math.isfinite(head) and math.isfinite(nut)):
        return [
            geometry_check("tie_holes", ABOUT["tie_holes"], math.inf, 0.0, "mm", where=tie.where)
        ]
    recess = hole_radii_mm(tie.upper, tie.above, 0.0, head)
    hole = hole_radii_mm(
        both, tie.above, head + tie.bridges_mm, tie.stack_mm - nut - tie.bridges_mm, levels=7
    )
    play = 2.0 * float(recess.min()) - size.head_diameter_mm
    loose = 2.0 * float(recess.max()) - size.head_diameter_mm
    goes_in, turned = _nut_plays_mm(tie, nut)
    tip = tie.stack_mm - head - tie.length_mm  # before the lower outer face
    values = {
        "tie_holes": (off_table_mm(hole, size.clearance_diameter_mm), HOLE_OFF_MM, False),
        "tie_heads_go_in": (play, HEAD_PLAY_MM[0], True),
        "tie_heads_held": (loose, HEAD_PLAY_MM[1], False),
        "tie_heads_sunk": (head - size.head_high_mm, 0.0, True),
        "tie_tips_inside": (tip, 0.0, True),
        "tie_nuts_go_in": (goes_in, NUT_PLAY_MM, True),
        "tie_nuts_held": (turned, 0.0, False),
        "tie_nuts_gripped": (nut - size.nut_high_mm - tip, -LEVEL_MM, True),
        "posts_meet": (_gap_mm(tie), BEARS_MM, False),
    }
    return [
        geometry_check(id_, ABOUT[id_], value, limit, "mm", at_least=at_least, where=tie.where)
        for id_, (value, limit, at_least) in values.items()
    ]


def _nut_plays_mm(tie: _MeasuredTie, floor_mm: float) -> tuple[float, float]:
    """Play of the nut across its flats in the way in which it goes in best, and 30 degrees on.

    Negative where it does not go in.
    """
    radii = hole_radii_mm(tie.lower, tie.below, 0.0, floor_mm, levels=3).min(axis=0)
    spokes = tie.below.spokes()
    angles = np.arctan2(spokes[:, 1], spokes[:, 0])
    plays = np.array(
        [
            2.0 * float((radii - _nut_radius_mm(tie.size, angles - turn)).min())
            for turn in np.radians(np.arange(TURNS))
        ]
    )
    best = int(np.argmax(plays))
    return float(plays[best]), float(plays[(best + TURNS // 2) % TURNS])


def _nut_radius_mm(size: Screw, angle_rad: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distance from a nut's middle to its side in some directions; a flat's middle lies at 0."""
    sixth = math.pi / 3
    off = (angle_rad + sixth / 2) % sixth - sixth / 2
    return size.nut_flats_mm / 2 / np.cos(off)


def _gap_mm(tie: _MeasuredTie) -> float:
    """Widest gap between the two posts, midway in their walls."""
    radius = tie.size.clearance_diameter_mm / 2 + 1.0
    top = float(tie.above.at_mm[2])
    widest = 0.0
    for spoke in tie.above.spokes(8):
        at = tie.above.at_mm + radius * spoke
        over, under = (
            [
                hit.position[2]
                for solid in solids
                for hit in solid.ray_cast(
                    [at[0], at[1], top + BEFORE_MM], [at[0], at[1], top - tie.stack_mm - BEFORE_MM]
                )
            ]
            for solids in (tie.upper, tie.lower)
        )
        if not (over and under):
            return math.inf
        widest = max(widest, min(over) - max(under))
    return widest
