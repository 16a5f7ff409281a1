"""How good the best lattice can be: branch and bound over offset and angle.

A box of seats (u, v, angle) can hold no more sites than lie within the region grown by the
furthest that any seat of the box moves them. Boxes whose bound does not beat what is already
held are done with, the others halved, until nothing is left. A seat with more than
``LATTICE_PLAY_MM`` of play to every wall would have been found; one that only just touches may
be missed: for those there are the exact offsets at the walls' own angles.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, degrees, radians

import numpy as np
from numpy.typing import NDArray

from layouts.pack import Lattice
from layouts.placing.basis import basis_mm, order_deg
from layouts.placing.branch_steps import closed, depths_on_net
from layouts.placing.compiled import COMPILED
from layouts.placing.region import Region
from layouts.placing.values import LATTICE_PLAY_MM

__all__ = ["LatticeProof", "depth_net", "prove_lattice"]

MOST_LOOKS = 30_000_000  # sites looked at in all boxes together: about 10 s
NET_STEPS = 12  # net nodes a pitch, to get most sites' depths without checking every wall
MOST_SITES = 1500  # above, boxes are too slow and too many to close


@dataclass(frozen=True, kw_only=True, slots=True)
class LatticeProof:
    """``most``: best count met, ``offset`` and ``angle_deg`` its seat (None: none better than
    the start). ``closed``: no seat with ``LATTICE_PLAY_MM`` of play holds more than ``most``."""

    most: int
    offset: tuple[float, float] | None
    angle_deg: float
    closed: bool
    boxes: int


def prove_lattice(
    region: Region,
    lattice: Lattice,
    *,
    pitch_mm: float,
    known: int,
    most_boxes: int | None = None,
) -> LatticeProof:
    """Better seats than one that holds ``known``, or the proof that there are none."""
    nothing = LatticeProof(most=known, offset=None, angle_deg=0.0, closed=False, boxes=0)
    if region.is_empty:
        return LatticeProof(most=0, offset=None, angle_deg=0.0, closed=True, boxes=0)
    if known > MOST_SITES or not COMPILED:
        return nothing
    edges = region.outer_edges
    far_mm = float(np.hypot(edges[:, 0], edges[:, 1]).max())
    basis = basis_mm(lattice, pitch_mm=pitch_mm)
    reach = ceil((far_mm / pitch_mm + 2) * 1.2) + 1  # rows of a honeycomb stand closer
    i, j = np.meshgrid(np.arange(-2 * reach, 2 * reach + 1), np.arange(-reach, reach + 1))
    sites = np.column_stack([i.ravel(), j.ravel()]).astype(np.float64)
    near = np.hypot(*((sites + 0.5) @ basis.T).T) <= far_mm + 2 * pitch_mm
    net, frame = depth_net(edges, step_mm=pitch_mm / NET_STEPS)
    best, seat, boxes, done = closed(
        edges,
        net,
        frame,
        sites[near],
        basis,
        radians(order_deg(lattice)),
        far_mm,
        LATTICE_PLAY_MM,
        known,
        MOST_LOOKS // max(1, int(near.sum())) if most_boxes is None else most_boxes,
    )
    found = (float(seat[0]) % 1.0, float(seat[1]) % 1.0) if best > known else None
    return LatticeProof(
        most=int(best),
        offset=found,
        angle_deg=degrees(float(seat[2])),
        closed=bool(done),
        boxes=int(boxes),
    )


def depth_net(
    edges: NDArray[np.float64], *, step_mm: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Depths (rows, columns) inside a region at the nodes of a square net, and (x, y, step) of it.

    The net reaches a step beyond the region. A depth changes by no more than the way moved, so
    from the nearest node most points are known to be in or out.
    """
    low = edges[:, :2].min(axis=0) - step_mm
    spans = np.ceil((edges[:, :2].max(axis=0) + step_mm - low) / step_mm).astype(int) + 1
    net = depths_on_net(edges, low[0], low[1], step_mm, int(spans[0]), int(spans[1]))
    return net, np.array([low[0], low[1], step_mm])
