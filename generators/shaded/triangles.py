"""All triangles of a picture: corners, normals, and which thing, copy and wedge each belongs to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generators.shaded.normals import corner_normals
from generators.shaded.things import Thing

__all__ = ["Soup", "soup_of"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Soup:
    """``points_mm`` (n, 3), ``faces`` (m, 3), ``normals`` (m, 3, 3) of corners, ``thing`` (m,) its
    number, ``copy`` (m,) a number from 1 that no two copies share. ``cuts``: names of wedges, ""
    first; ``cut`` (m,): the number of each triangle's."""

    points_mm: NDArray[np.float64]
    faces: NDArray[np.int64]
    normals: NDArray[np.float32]
    thing: NDArray[np.int16]
    copy: NDArray[np.int32]
    cuts: tuple[str, ...]
    cut: NDArray[np.int8]

    def seen(self, turn: NDArray[np.float64]) -> NDArray[np.float64]:
        """(3, n) points by the rows of ``turn``; sums in the written order, whatever the machine's
        threads."""
        x, y, z = self.points_mm.T
        return np.stack([row[0] * x + row[1] * y + row[2] * z for row in turn])


def soup_of(things: Sequence[Thing], apart_ratio: float = 0.0) -> Soup:
    """``apart_ratio``: 0 in place, 1 wholly pulled apart. Raises ValueError without any copy."""
    cuts = ("", *sorted({one.cut for one in things} - {""}))
    points, faces, normals, thing, copies, cut = [], [], [], [], [], []
    smooth: dict[int, NDArray[np.float32]] = {}
    serial = first = 0
    for number, one in enumerate(things):
        for copy in one.copies:
            serial += 1
            key = id(copy.mesh)
            if key not in smooth:
                smooth[key] = corner_normals(copy.mesh)
            count = len(copy.mesh.faces)
            points.append(copy.vertices_mm + apart_ratio * np.asarray(copy.apart_mm))
            faces.append(copy.mesh.faces + first)
            first += len(points[-1])
            turn = copy.place[:3, :3]
            still = np.array_equal(turn, np.eye(3))
            normals.append(smooth[key] if still else turned(smooth[key], turn))
            thing.append(np.full(count, number, np.int16))
            copies.append(np.full(count, serial, np.int32))
            cut.append(np.full(count, cuts.index(one.cut), np.int8))
    if not points:
        raise ValueError("nothing to draw")
    return Soup(
        points_mm=np.concatenate(points), faces=np.concatenate(faces),
        normals=np.concatenate(normals), thing=np.concatenate(thing),
        copy=np.concatenate(copies), cuts=cuts, cut=np.concatenate(cut),
    )  # fmt: skip


def turned(normals: NDArray[np.float32], turn: NDArray[np.float64]) -> NDArray[np.float32]:
    """Normals (m, 3, 3) turned by a rotation."""
    x, y, z = np.moveaxis(normals, 2, 0)
    return np.stack(
        [row[0] * x + row[1] * y + row[2] * z for row in turn.astype(np.float32)], axis=2
    )
