"""Which triangle is nearest at each pixel, and where a wedge opens a solid: the cut face.

No boolean is made. Of the solids that one wedge cuts, what lies in the wedge is left out and the
nearest of the rest is kept: where that is a back face, the ray is inside a solid when it leaves the
wedge, so the pixel shows the cut, on the farthest plane of the wedge that faces the eye.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from generators.shaded.things import Wedge
from generators.shaded.triangles import Soup
from layouts.placing.compiled import compiled

__all__ = ["Camera", "NearestMap", "camera_of", "depth_map", "turned_view"]

FAR = -1e30
LEVEL = 1e-7  # a share that grows by less along a row decides nothing there


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Camera:
    """A parallel view: rows of ``turn`` (3, 3) are right, up, and towards the eye. ``centre_mm``
    (x, y, in these) lies in the picture's middle; ``scale``: pixels a millimetre."""

    turn: NDArray[np.float64]
    centre_mm: tuple[float, float]
    scale: float
    wide: int
    high: int


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class NearestMap:
    """Per pixel: ``depth`` towards the eye in pixels, ``face`` its triangle or -1, ``plane`` of the
    wedge that it shows or -1. ``corners``: (m, 3, 3) of triangles in the picture."""

    depth: NDArray[np.float32]
    face: NDArray[np.int32]
    plane: NDArray[np.int8]
    corners: NDArray[np.float32]


def turned_view(towards: tuple[float, float, float]) -> NDArray[np.float64]:
    """(3, 3) right, up and towards the eye, for an eye in that direction; z stays upright."""
    eye = np.asarray(towards, dtype=np.float64)
    eye = eye / np.linalg.norm(eye)
    right = np.cross((0.0, 0.0, 1.0), eye)
    right /= np.linalg.norm(right)
    return np.stack([right, np.cross(eye, right), eye])


def camera_of(
    soup: Soup, turn: NDArray[np.float64], wide: int, high: int, margin_ratio: float, step: int = 1
) -> Camera:
    """All of it in the picture's middle; the picture no higher than is needed, by whole steps."""
    seen = soup.seen(turn)
    low, top = seen.min(axis=1), seen.max(axis=1)
    a, b = float(top[0] - low[0]), float(top[1] - low[1])
    needed = int(np.ceil(wide * b / a / step)) * step
    high = min(high, needed)
    return Camera(
        turn=turn,
        centre_mm=(float(low[0] + top[0]) / 2, float(low[1] + top[1]) / 2),
        scale=margin_ratio * min(wide / a, high / b),
        wide=wide,
        high=high,
    )


def depth_map(soup: Soup, camera: Camera, wedges: Mapping[str, Wedge]) -> NearestMap:
    """Everything seen by a camera; ``wedges`` by their names."""
    shape = (camera.high, camera.wide)
    depth = np.full(shape, FAR, np.float32)
    face, plane = np.full(shape, -1, np.int32), np.full(shape, -1, np.int8)
    corners = _in_picture(soup, camera)
    (ax, ay), (bx, by), (cx, cy) = (corners[:, k, :2].T for k in range(3))
    front = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax) < 0
    for number, name in enumerate(soup.cuts):
        planes = seen_planes(wedges.get(name, ()), camera.turn)
        some = soup.cut == number
        if not len(planes):
            some &= front
        _fill(
            corners, np.flatnonzero(some), front, planes, depth, face, plane, camera.scale,
            *camera.centre_mm,
        )  # fmt: skip
    return NearestMap(depth=depth, face=face, plane=plane, corners=corners)


def seen_planes(wedge: Wedge, turn: NDArray[np.float64]) -> NDArray[np.float64]:
    """(k, 4) unit normals in the camera's directions and distances of a wedge's planes."""
    rows = []
    for normal, far in wedge:
        long = float(np.linalg.norm(normal))
        rows.append([*(turn @ np.asarray(normal, dtype=np.float64) / long), far / long])
    return np.array(rows, dtype=np.float64).reshape(-1, 4)


def _in_picture(soup: Soup, camera: Camera) -> NDArray[np.float32]:
    seen = soup.seen(camera.turn)
    x, y = camera.centre_mm
    points = np.stack(
        [
            (seen[0] - x) * camera.scale + camera.wide / 2,
            camera.high / 2 - (seen[1] - y) * camera.scale,
            seen[2] * camera.scale,
        ],
        axis=1,
    ).astype(np.float32)
    return points[soup.faces]


@compiled
def _taken(corners: NDArray[np.float32], some: NDArray[np.int64]) -> tuple[int, int, int, int]:
    """Least and greatest column and row that triangles reach: left, top, right, bottom."""
    left, top, right, bottom = 10**9, 10**9, -(10**9), -(10**9)
    for f in some:
        for k in range(3):
            x, y = int(corners[f, k, 0]), int(corners[f, k, 1])
            left, right = min(left, x - 1), max(right, x + 1)
            top, bottom = min(top, y - 1), max(bottom, y + 1)
    return left, top, right, bottom


@compiled
def _in_wedge(x: float, y: float, z: float, planes: NDArray[np.float64]) -> bool:
    """Whether a point (in the camera's directions) is cut away."""
    for k in range(len(planes)):
        if x * planes[k, 0] + y * planes[k, 1] + z * planes[k, 2] <= planes[k, 3]:
            return False
    return len(planes) > 0


@compiled
def _merge(
    own: NDArray[np.float32],
    own_face: NDArray[np.int32],
    left: int,
    top: int,
    front: NDArray[np.bool_],
    planes: NDArray[np.float64],
    depth: NDArray[np.float32],
    face: NDArray[np.int32],
    plane: NDArray[np.int8],
    scale: float,
    centre_x: float,
    centre_y: float,
) -> None:
    """Into the whole picture what is nearer than all before: fronts, and cut faces for backs."""
    high, wide = depth.shape
    for row in range(own.shape[0]):
        for column in range(own.shape[1]):
            f = own_face[row, column]
            if f < 0:
                continue
            y, x = row + top, column + left
            z, shown = own[row, column], -1
            if not front[f]:
                if len(planes) == 0:
                    continue
                vx = (x + 0.5 - wide / 2) / scale + centre_x
                vy = (high / 2 - y - 0.5) / scale + centre_y
                cut_z = -1e30
                for k in range(len(planes)):
                    if planes[k, 2] > 1e-9:
                        at = planes[k, 3] - vx * planes[k, 0] - vy * planes[k, 1]
                        at = at / planes[k, 2] * scale
                        if at > cut_z:
                            cut_z = at
                            shown = k
                z = max(z, cut_z)
            if z > depth[y, x]:
                depth[y, x] = z
                face[y, x] = f
                plane[y, x] = shown


@compiled
def _may_reach(first: int, last: int, at: float, up: float) -> tuple[int, int]:
    """First and last of the columns in whose middle at + up * x may be 0 or more, one to spare."""
    if abs(up) < LEVEL:
        return first, last
    zero = min(max(-at / up, first - 2.0), last + 2.0)
    if up > 0.0:
        return max(first, int(np.floor(zero - 0.5)) - 1), last
    return first, min(last, int(np.ceil(zero - 0.5)) + 1)


@compiled
def _columns(
    corner: NDArray[np.float32], area: float, x0: int, x1: int, py: float
) -> tuple[int, int]:
    """First and last column of a row that may lie in a triangle; thin ones fill little of their
    box."""
    ax, ay, bx, by = corner[0, 0], corner[0, 1], corner[1, 0], corner[1, 1]
    cx, cy = corner[2, 0], corner[2, 1]
    # the shares of the corners b, c and a at the row's beginning, and how they grow along it
    at1 = ((0.0 - ax) * (cy - ay) - (py - ay) * (cx - ax)) / area
    at2 = ((bx - ax) * (py - ay) - (by - ay) * (0.0 - ax)) / area
    up1, up2 = (cy - ay) / area, -(by - ay) / area
    begin, end = _may_reach(x0, x1, at1 + 1e-6, up1)
    begin, end = _may_reach(begin, end, at2 + 1e-6, up2)
    return _may_reach(begin, end, 1 + 1e-6 - at1 - at2, -up1 - up2)


@compiled
def _fill(
    corners: NDArray[np.float32],
    some: NDArray[np.int64],
    front: NDArray[np.bool_],
    planes: NDArray[np.float64],
    depth: NDArray[np.float32],
    face: NDArray[np.int32],
    plane: NDArray[np.int8],
    scale: float,
    centre_x: float,
    centre_y: float,
) -> None:
    """The solids that one wedge cuts, first for themselves, then where they are nearest of all."""
    high, wide = depth.shape
    left, top, right, bottom = _taken(corners, some)
    left, top, right, bottom = (
        max(0, left),
        max(0, top),
        min(wide - 1, right),
        min(high - 1, bottom),
    )
    if right < left or bottom < top:
        return
    own = np.full((bottom - top + 1, right - left + 1), np.float32(-1e30))
    own_face = np.full((bottom - top + 1, right - left + 1), np.int32(-1))
    for f in some:
        ax, ay, az = corners[f, 0, 0], corners[f, 0, 1], corners[f, 0, 2]
        bx, by, bz = corners[f, 1, 0], corners[f, 1, 1], corners[f, 1, 2]
        cx, cy, cz = corners[f, 2, 0], corners[f, 2, 1], corners[f, 2, 2]
        area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        if abs(area) < 1e-9:
            continue
        x0 = max(left, int(np.ceil(min(ax, bx, cx) - 0.5)))
        x1 = min(right, int(np.floor(max(ax, bx, cx) - 0.5)))
        y0 = max(top, int(np.ceil(min(ay, by, cy) - 0.5)))
        y1 = min(bottom, int(np.floor(max(ay, by, cy) - 0.5)))
        for y in range(y0, y1 + 1):
            py = y + 0.5
            begin, end = _columns(corners[f], area, x0, x1, py)
            for x in range(begin, end + 1):
                px = x + 0.5
                w1 = ((px - ax) * (cy - ay) - (py - ay) * (cx - ax)) / area
                w2 = ((bx - ax) * (py - ay) - (by - ay) * (px - ax)) / area
                if w1 < -1e-6 or w2 < -1e-6 or w1 + w2 > 1 + 1e-6:
                    continue
                z = az + w1 * (bz - az) + w2 * (cz - az)
                if z <= own[y - top, x - left]:
                    continue
                if len(planes):
                    vx, vy = (px - wide / 2) / scale + centre_x, (high / 2 - py) / scale + centre_y
                    if _in_wedge(vx, vy, z / scale, planes):
                        continue
                own[y - top, x - left] = z
                own_face[y - top, x - left] = f
    _merge(own, own_face, left, top, front, planes, depth, face, plane, scale, centre_x, centre_y)
