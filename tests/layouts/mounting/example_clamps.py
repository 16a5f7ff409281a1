"""Hold data of a split clamp for solver tests."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely

from layouts.brackets.holding import FrameHold, HeldBody, HoldPoint
from layouts.frame_spec import FrameTube
from tests.layouts.mounting.example_values import INSIDE_MPA, M5_INSERT_N, MODULUS_MPA, WAYS


def on_tube(body: HeldBody, f: FrameTube, t: float, wide: float = 25.0) -> Iterator[FrameHold]:
    """Split clamps round a level tube under the pack; along it they hold by friction, or by a bolt
    through it."""
    a, b = np.array(f.from_mm), np.array(f.to_mm)
    way = (b - a) / np.linalg.norm(b - a)
    size, thick = f.size_mm[0], t + 2.0
    gap = body.low_mm[2] - (a[2] + size / 2)
    line = shapely.LineString([a[:2], b[:2]]).intersection(
        shapely.box(*body.low_mm[:2], *body.high_mm[:2])
    )
    if line.is_empty or not -0.5 <= gap <= 40.0 or "-z" not in body.faces:
        return
    cross = np.cross(WAYS[2], way)
    lift = min(2 * INSIDE_MPA * wide * thick**2 / 6 / 6.0, 2 * M5_INSERT_N)
    side = INSIDE_MPA * wide * (size + 2 * thick) ** 2 / 6 / (gap + size / 2 + 4)
    slip = 2 * 0.2 * 2 * 400.0 * 0.3 / 1.5
    along = side if f.drill else min(side, slip)
    up = 0.5 * MODULUS_MPA * wide * thick / (gap + size)
    for part in np.linspace(0.12, 0.88, 4).tolist():
        x, y = line.interpolate(part, normalized=True).coords[0]
        place = (x, y, float(a[2]))
        reach = np.abs(way) * wide / 2 + np.abs(cross) * (size / 2 + thick + 12)
        s = float(np.dot(np.array(place) - a, way))
        if f.free_mm and not any(u <= s - wide / 2 and s + wide / 2 <= v for u, v in f.free_mm):
            continue
        points = (
            HoldPoint(
                at_mm=place,
                way=(0.0, 0.0, 1.0),
                stiffness_n_mm=up,
                along_n=4 * lift,
                against_n=lift,
            ),
            HoldPoint(
                at_mm=place,
                way=tuple(cross.tolist()),
                stiffness_n_mm=up / 3,
                along_n=side,
                against_n=side,
            ),
            HoldPoint(
                at_mm=place,
                way=tuple(way.tolist()),
                stiffness_n_mm=up / 3,
                along_n=along,
                against_n=along,
                slips=not f.drill,
            ),
        )
        taken = (
            (x - reach[0], y - reach[1], place[2] - size),
            (x + reach[0], y + reach[1], place[2] + size),
        )
        grams = (
            1.27e-3 * wide * (math.pi * (size + thick) * thick + 56 * thick + max(gap, 0.0) * size)
        )
        yield FrameHold(
            kind="clamp",
            feature=f.name,
            face="-z",
            points=points,
            grams=grams,
            drilled=int(f.drill),
            screws=2,
            takes_mm=(taken,),
        )
