"""Numbered balloons beside a picture: each leader ends deep inside what is seen of its row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from generators.shaded.painted import BESIDE_PX, RADIUS_PX, Balloon

__all__ = ["balloons_of"]

LEAST_PX = 60  # a row that shows less gets no balloon
DEEP_RATIO = 0.55  # of the greatest distance from its own border, at least, is the anchor's
UNEVEN = 3  # balloons that one column may have more than the other
GAP_PX = 2 * RADIUS_PX + 6
ROUNDS = 400
APART_PX = 9  # two anchors of a column differ by so much in height


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class _Seen:
    """Deep pixels of a row, (n,) each."""

    x: NDArray[np.int64]
    y: NDArray[np.int64]
    depth: float


def balloons_of(
    thing: NDArray[np.int16], rows: Sequence[int], clear: NDArray[np.bool_] | None = None
) -> tuple[Balloon, ...]:
    """Balloons in two columns, by height; ``thing`` (h, w): number of what lies at each pixel,
    ``rows``: of each thing; ``clear`` (h, w): pixels that an anchor may take, None for all."""
    high, wide = thing.shape
    seen = _seen(thing, rows, clear)
    middle = {row: float(one.x.mean()) for row, one in seen.items()}
    order = sorted(seen, key=lambda row: (middle[row], row))
    left = [row for row in order if middle[row] < wide / 2]
    right = [row for row in order if middle[row] >= wide / 2]
    while abs(len(left) - len(right)) > UNEVEN:  # what is nearest to the middle changes sides
        one, other = (left, right) if len(left) > len(right) else (right, left)
        row = min(one, key=lambda row: abs(middle[row] - wide / 2))
        one.remove(row)
        other.append(row)
    found: list[Balloon] = []
    for side, column in ((-1, left), (1, right)):
        anchors: dict[int, tuple[int, int]] = {}
        for row in sorted(column, key=lambda row: (seen[row].depth, row)):
            anchors[row] = _anchor(seen[row], side, [y for _, y in anchors.values()])
        column.sort(key=lambda row: (anchors[row][1], row))
        heights = _parted([anchors[row][1] for row in column], high)
        x = -BESIDE_PX + RADIUS_PX + 2 if side < 0 else wide + BESIDE_PX - RADIUS_PX - 2
        found += [
            Balloon(row=row, anchor_px=anchors[row], middle_px=(float(x), y))
            for row, y in zip(column, heights, strict=True)
        ]
    return tuple(found)


def _seen(
    thing: NDArray[np.int16], rows: Sequence[int], clear: NDArray[np.bool_] | None
) -> dict[int, _Seen]:
    """Of each row that shows enough, the deep pixels of its largest connected piece by depth."""
    row_at = np.where(thing >= 0, np.asarray([*rows, 0])[thing], 0)
    if clear is not None:
        row_at = np.where(clear, row_at, 0)
    found: dict[int, _Seen] = {}
    for row, box in enumerate(ndimage.find_objects(row_at), start=1):
        if box is None:
            continue
        mask = np.pad(row_at[box] == row, 1)
        if int(mask.sum()) < LEAST_PX:
            continue
        depth = ndimage.distance_transform_edt(mask)
        y, x = np.nonzero(depth >= DEEP_RATIO * depth.max())
        found[row] = _Seen(x=x + box[1].start - 1, y=y + box[0].start - 1, depth=float(depth.max()))
    return found


def _anchor(seen: _Seen, side: int, taken_y: Sequence[int]) -> tuple[int, int]:
    """The deep pixel nearest to the balloon's column; where there is one, at a height that no other
    anchor of the column has, so that no leader runs over another's end."""
    off = np.abs(seen.y[:, None] - np.asarray(taken_y, dtype=np.int64).reshape(1, -1))
    free = (off >= APART_PX).all(axis=1)
    x = np.where(free, -side * seen.x, -side * seen.x + 10**6) if free.any() else -side * seen.x
    k = int(np.argmin(x))
    return int(seen.x[k]), int(seen.y[k])


def _parted(wanted: Sequence[int], high: int) -> list[float]:
    """Heights near those wanted, in their order, a balloon's height apart and in the picture."""
    y = np.asarray(wanted, dtype=np.float64)
    if not len(y):
        return []
    k = np.arange(len(y))
    gap = min(GAP_PX, (high - 2 * RADIUS_PX - 4) / max(len(y) - 1, 1))
    for _ in range(ROUNDS):
        over = gap - np.diff(y)
        if not (over > 1e-6).any():
            break
        for i in range(len(y) - 1):
            by = gap - (y[i + 1] - y[i])
            if by > 0:
                y[i] -= by / 2
                y[i + 1] += by / 2
        y = np.clip(y, RADIUS_PX + 2 + gap * k, high - RADIUS_PX - 2 - gap * k[::-1])
    return [round(float(v), 1) for v in y]
