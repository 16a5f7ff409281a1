"""Poses turned about any axis, for a pack that stands at no right angle with room to spare.

They begin with turns that lay the pack's flat faces along the space's, with turns in which its
widths suit the space's best, and with turns of all kinds; the best are then turned about any axis.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from layouts.fitting.body import PackBody
from layouts.fitting.climbing import BENT, EQUAL_MM, MEASURED, Climber, Reached, rank
from layouts.fitting.directions import (
    Widths,
    all_turns,
    degrees_apart,
    frames,
    main_normals,
    outermost,
)
from layouts.fitting.obstacles import Obstacle
from layouts.fitting.posing import Posed
from layouts.fitting.turns import oddness, right_angles
from layouts.fitting.voxels import best_places
from layouts.pack import Side

__all__ = ["TiltedSearch", "tilted_poses"]

FloatArray = NDArray[np.float64]

BY_WIDTH = 600  # turns whose widths are looked at, 26 degrees apart at most, and bettered
MOST = 64  # of those are kept, and of those along faces
ALL_KINDS = 96  # turns, 50 degrees apart at most, that are looked at in voxels as they are
FACES = 6  # of the space that turns are taken from, each at least a share of all its faces
FACE_SHARE = 0.03
OWN_FACES, OWN_SHARE = 4, 0.08  # of the pack, besides those along its axes
ROOM_FRAMES, OWN_FRAMES = 8, 2
APART_DEG = 4.0  # turns nearer to each other than this are not both looked at
SUITS_MM = 1.0  # bettered turns are this much off the best nearby at most
ROUGH_KEPT = 12  # after a look in large voxels
FINE_KEPT = 6  # and one in small ones: these are refined


@dataclass(frozen=True, slots=True, eq=False)
class TiltedSearch:
    """What was found (maybe nothing), and how: ``by_width`` turns judged by the widths alone
    (0 without a free space), ``in_voxels`` looked at in every place, ``refined`` poses turned
    about any axis."""

    found: tuple[Posed, ...]
    by_width: int
    in_voxels: int
    refined: int


def tilted_poses(
    climber: Climber,
    starts: Sequence[Posed],
    tried: FloatArray,
    box_mm: tuple[FloatArray, FloatArray],
    *,
    side: Side,
    least_mm: float,
) -> TiltedSearch:
    """The best poses turned about any axis; those of which no more than ``least_mm`` can be hoped
    are left out.

    ``starts``: poses to be refined too; ``tried`` (n, 3, 3): turns that need no other look;
    ``side``: as in ``fit_in_space``."""
    bend_to = starts[0].bend_to
    body, obstacles = climber.bodies[bend_to], climber.obstacles
    widths, corners = Widths.of(obstacles), outermost(body)
    turns, by_width = _turns(body, obstacles, widths, tried, least_mm, side)
    found: list[Reached] = []
    for start in starts:
        promise = widths.promise_mm(corners, start.pose[None, :3, :3])[0]
        if promise + SUITS_MM >= least_mm:
            found.append(climber.roughly(start.pose, start.bend_to, axes=(0, 1, 2), step_mm=2.0))
    if len(turns):
        places = best_places(
            body, obstacles, list(turns),
            box_mm=box_mm, keep=(ROUGH_KEPT, FINE_KEPT), enough_mm=climber.enough_mm,
        )  # fmt: skip
        for place in places:
            pose = climber.start(place)
            found.append(climber.roughly(pose, bend_to, axes=(0, 1, 2), step_mm=5.0))
    refined = len(found)
    found = sorted(found, key=lambda one: rank(one, side))[:BENT]
    found += climber.other_bends(found)
    found.sort(key=lambda one: rank(one, side))
    posed: list[Posed] = []
    for one in found[:MEASURED]:
        most = max((there.smallest_gap_mm for there in posed), default=-np.inf)
        if one.gap_mm + SUITS_MM >= least_mm and one.gap_mm > most + EQUAL_MM:
            posed.append(climber.measured(climber.closely(one), one.bend_to))
    return TiltedSearch(tuple(posed), by_width, len(turns), refined)


def _turns(
    body: PackBody,
    obstacles: Sequence[Obstacle],
    widths: Widths,
    tried: FloatArray,
    least_mm: float,
    side: Side,
) -> tuple[FloatArray, int]:
    """(k, 3, 3) turns to look at in voxels; and how many were judged by their widths."""
    corners = outermost(body)
    aligned = _along_faces(body, obstacles)
    bounded = len(widths.ways) > 0
    spread = all_turns(BY_WIDTH if bounded else 0)
    bettered = widths.bettered(corners, spread, keep=MOST)
    others = all_turns(ALL_KINDS if bounded else ALL_KINDS + MOST)
    chosen = tried
    for turns in (aligned, bettered, others):
        promise = widths.promise_mm(corners, turns)
        hopeful = np.flatnonzero(promise + SUITS_MM >= least_mm).tolist()
        steps = np.nan_to_num(np.round(promise / EQUAL_MM))  # none where nothing bounds it
        hopeful.sort(key=lambda k: (-steps[k], *oddness(turns[k], side)))
        for k in hopeful[:MOST] if turns is aligned else hopeful:
            if degrees_apart(turns[k : k + 1], chosen).min(initial=np.inf) > APART_DEG:
                chosen = np.concatenate([chosen, turns[k : k + 1]])
    return chosen[len(tried) :], len(aligned) + len(spread) if bounded else 0


def _along_faces(body: PackBody, obstacles: Sequence[Obstacle]) -> FloatArray:
    """(k, 3, 3) turns that lay two of the pack's flat faces along two of the space's."""
    surfaces = [one.surface for one in obstacles]
    normals = np.vstack([one.normal[one.parent] for one in surfaces])
    small = np.concatenate([one.small for one in surfaces])
    walls = main_normals(normals, _areas(small), most=FACES, share=FACE_SHARE)
    hull = ConvexHull(body.hull)
    own = main_normals(
        hull.equations[:, :3], _areas(hull.points[hull.simplices]), most=OWN_FACES, share=OWN_SHARE
    )
    ours = frames(np.vstack([np.eye(3), own]), most=OWN_FRAMES)
    squares = right_angles(Side.PLUS_X)
    return np.array(
        [
            theirs @ square @ one.T
            for theirs in frames(walls, most=ROOM_FRAMES)
            for one in ours
            for square in squares
        ]
    ).reshape(-1, 3, 3)


def _areas(corners: FloatArray) -> FloatArray:
    """(n,) areas of triangles (n, 3, 3)."""
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area: FloatArray = np.linalg.norm(cross, axis=1) / 2
    return area
