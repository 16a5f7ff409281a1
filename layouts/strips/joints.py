"""Touching cells of one potential on one face: which pairs a strip may join, in which runs.

On each face the groups are joined in pairs: k and k + 1 on the upper face for k odd, on the lower
face for k even; an end group that has no partner on a face stands alone there (pack minus or pack
plus). Such a pair or lone group is a net. A joint is a pair of touching cells of one net; joints
lie along the lattice's axes: 0 along rows, then the diagonals (60 and 120 degrees on a honeycomb,
90 on a grid). A run is a longest chain of joints along one axis."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face, Lattice

AXIS_NOISE_DEG = 1e-6  # far below any widened seam's bend, far above float noise


@dataclass(frozen=True, kw_only=True, slots=True)
class Joints:
    """All joints of one face, m of them, each from ``tail`` to ``head`` along its axis.

    ``axes``: how many axes the lattice has; a direction's number is the axis, plus ``axes``
    when it is walked backwards. ``net_of`` (N,): each cell's net, 0-based;
    ``nets``: how many. ``net``, ``axis``, ``run`` (m,); ``angle_deg`` (m,): as it lies,
    also where a widened seam bends it off the axis. ``cross`` (m,): joins two groups.
    """

    face: Face
    axes: int
    nets: int
    net_of: NDArray[np.int64]
    tail: NDArray[np.int64]
    head: NDArray[np.int64]
    net: NDArray[np.int64]
    axis: NDArray[np.int64]
    angle_deg: NDArray[np.float64]
    cross: NDArray[np.bool_]
    run: NDArray[np.int64]

    def at_cells(self, joints: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """(N,) which cells one of these joints (mask over m) touches."""
        touched = np.zeros(len(self.net_of), dtype=np.bool_)
        touched[self.tail[joints]] = True
        touched[self.head[joints]] = True
        return touched

    def in_runs(self, joints: NDArray[np.bool_]) -> NDArray[np.bool_]:
        """(m,) the joints of every run that holds at least one of these joints."""
        runs = np.zeros(int(self.run.max(initial=-1)) + 1, dtype=np.bool_)
        runs[self.run[joints]] = True
        return runs[self.run]


def net_of_group(group: NDArray[np.int64], face: Face) -> NDArray[np.int64]:
    """Node of each group on a face, 0-based along the pack; lone end groups get their own."""
    return (group - 1) // 2 if face is Face.UPPER else group // 2


def face_of_ends(series: int) -> tuple[Face, Face]:
    """Faces that pack minus and pack plus leave: minus the lower, plus the lower if S is even."""
    return Face.LOWER, Face.LOWER if series % 2 == 0 else Face.UPPER


def components(
    count: int, a: NDArray[np.int64], b: NDArray[np.int64]
) -> tuple[int, NDArray[np.int64]]:
    """How many pieces ``count`` things joined by pairs (a, b) make, and each thing's piece."""
    graph = coo_array((np.ones(len(a), dtype=np.int8), (a, b)), shape=(count, count))
    pieces, piece = connected_components(graph, directed=False)
    return int(pieces), piece.astype(np.int64)


def face_joints(cell_layout: CellLayout, lattice: Lattice, face: Face) -> Joints:
    """All joints of one face."""
    axes = 3 if lattice is Lattice.HONEYCOMB else 2
    net_of = net_of_group(cell_layout.group, face)
    pairs = cell_layout.neighbours.reshape(-1, 2)
    pairs = pairs[net_of[pairs[:, 0]] == net_of[pairs[:, 1]]]
    between = cell_layout.xy_mm[pairs[:, 1]] - cell_layout.xy_mm[pairs[:, 0]]
    angle = np.degrees(np.arctan2(between[:, 1], between[:, 0]))
    direction = np.rint(angle / (180.0 / axes)).astype(np.int64) % (2 * axes)
    back = direction >= axes
    tail = np.where(back, pairs[:, 1], pairs[:, 0])
    head = np.where(back, pairs[:, 0], pairs[:, 1])
    axis = direction % axes
    nominal = axis * 180.0 / axes
    between = cell_layout.xy_mm[head] - cell_layout.xy_mm[tail]
    lies = np.degrees(np.arctan2(between[:, 1], between[:, 0]))
    lies = nominal + (lies - nominal + 180.0) % 360.0 - 180.0
    # float noise off the axis would bend strips by the last digit
    lies = np.where(np.abs(lies - nominal) < AXIS_NOISE_DEG, nominal, lies)
    count = len(net_of)
    _, piece = components(axes * count, axis * count + tail, axis * count + head)
    run = np.unique(piece[axis * count + tail], return_inverse=True)[1].reshape(-1)
    return Joints(
        face=face,
        axes=axes,
        nets=int(net_of.max()) + 1,
        net_of=net_of,
        tail=tail,
        head=head,
        net=net_of[tail],
        axis=axis,
        angle_deg=lies,
        cross=cell_layout.group[tail] != cell_layout.group[head],
        run=run.astype(np.int64),
    )
