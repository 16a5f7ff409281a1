"""Invented spaces for tests of the fit: a rake robot's hull, a cargo sledge's frame, a spike."""

from __future__ import annotations

import math

import numpy as np

from layouts.fitting.body import PackBody, make_body
from layouts.parts.convex import ConvexPiece, bar, block
from layouts.spaces.space import Prism, Solid, Space


def solid(name: str, piece: ConvexPiece) -> Solid:
    """A convex piece as something to stay out of."""
    return Solid(name=name, vertices_mm=piece.vertices_mm, faces=piece.faces)


def box_body(size_mm: tuple[float, float, float], name: str = "box") -> PackBody:
    """A plain box with a corner at the origin."""
    piece = block((0.0, 0.0, 0.0), size_mm)
    return make_body([(name, piece.vertices_mm, piece.faces)], [])


def l_body() -> PackBody:
    """An L of two boxes, 100 x 60 with a 60 x 40 corner missing, 30 high."""
    one, two = block((0, 0, 0), (100, 20, 30)), block((0, 0, 0), (40, 60, 30))
    return make_body(
        [("long arm", one.vertices_mm, one.faces), ("short arm", two.vertices_mm, two.faces)], []
    )


def hull_room(
    around: int = 200, along: int = 250, *, size_mm: tuple[float, float, float] = (420, 270, 190)
) -> Solid:
    """The free space in a pond rake robot's hull: rounded sections along x, waisted and bulged.

    2 * around * along triangles, about; closed at both ends.
    """
    length, wide, high = size_mm
    angle = np.arange(around) * (math.tau / around)
    power = 0.35  # sections are boxes with large rounds
    y = np.sign(np.cos(angle)) * np.abs(np.cos(angle)) ** power
    z = np.sign(np.sin(angle)) * np.abs(np.sin(angle)) ** power
    share = np.linspace(0.0, 1.0, along + 1)
    swell = 1.0 - 0.12 * np.cos(2 * math.tau * share) * np.sin(math.pi * share)
    rings = [
        np.column_stack([np.full(around, s * length), k * y * wide / 2, k * z * high / 2])
        for s, k in zip(share, swell, strict=True)
    ]
    middle = np.array([[0.0, 0.0, 0.0], [length, 0.0, 0.0]])
    vertices = np.vstack([*rings, middle])
    k = np.arange(around)
    after = (k + 1) % around
    faces = []
    for ring in range(along):
        a, b = ring * around, (ring + 1) * around
        faces += [
            np.column_stack([a + k, b + after, a + after]),
            np.column_stack([a + k, b + k, b + after]),
        ]
    first, last = len(vertices) - 2, len(vertices) - 1
    faces.append(np.column_stack([np.full(around, first), k, after]))
    top = along * around
    faces.append(np.column_stack([np.full(around, last), top + after, top + k]))
    made = np.vstack(faces).astype(np.int64)
    a, b, c = (vertices[made[:, i]] for i in range(3))
    if np.einsum("ij,ij->i", a, np.cross(b, c)).sum() < 0:
        made = made[:, ::-1]
    return Solid(name="hull", vertices_mm=vertices, faces=made)


def sledge(*, inner_mm: tuple[float, float, float] = (300.0, 240.0, 60.0)) -> Space:
    """A cargo sledge's frame of round bars: two rails, two cross bars, four posts."""
    x, y, z = inner_mm
    r = 12.0
    bars = {
        "left rail": ((-r, -r, 0), (x + r, -r, 0)),
        "right rail": ((-r, y + r, 0), (x + r, y + r, 0)),
        "front cross bar": ((x + r, -r, 0), (x + r, y + r, 0)),
        "rear cross bar": ((-r, -r, 0), (-r, y + r, 0)),
        "front left post": ((x + r, -r, 0), (x + r, -r, z)),
        "front right post": ((x + r, y + r, 0), (x + r, y + r, z)),
        "rear left post": ((-r, -r, 0), (-r, -r, z)),
        "rear right post": ((-r, y + r, 0), (-r, y + r, z)),
    }
    return Space(
        room=None,
        keep_out=tuple(solid(name, bar(a, b, r)) for name, (a, b) in bars.items()),
    )


def l_prism() -> Prism:
    """An L-shaped space 104 x 64, its corner of 60 x 40 missing, 40 high."""
    return Prism(
        outline_mm=((0, 0), (104, 0), (104, 24), (44, 24), (44, 64), (0, 64)), height_mm=40.0
    )
