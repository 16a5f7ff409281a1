"""Hold data of brackets for solver tests: an L, a stop, a strap, a pad, a cleat and a clamp, with
figures by beam formulas. Invented frames; the kinds of ``layouts.brackets`` are tested elsewhere.

Every bracket is a plain function of a box-shaped pack and one feature."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from layouts.brackets.frequency import angle_stiffness_n_mm
from layouts.brackets.holding import Box3, FrameHold, HeldBody, HoldPoint
from layouts.enclosures.pad_walls import block_modulus_mm3
from layouts.frame_spec import FramePlate, FrameTube
from tests.layouts.mounting.example_clamps import on_tube
from tests.layouts.mounting.example_values import (
    ACROSS_MPA,
    INSIDE_MPA,
    M4_INSERT_N,
    MODULUS_MPA,
    WAYS,
)


@dataclass(frozen=True, kw_only=True)
class Lugs:
    """Lugs of a tub: width along the wall, height, out of it; ribs up to the rim above."""

    wide_mm: float = 34.0
    high_mm: float = 26.0
    out_mm: float = 10.0
    wall_mm: float = 2.6
    ribs: int = 2
    rib_mm: float = 4.0
    deep_mm: float = 10.0

    @property
    def modulus_mm3(self) -> float:
        """Of the wall above with its ribs as a T, never more than five times the bare wall's."""
        beside = self.wide_mm + 2 * self.high_mm
        bare = beside * self.wall_mm**2 / 6
        ribs = self.ribs * self.rib_mm
        if not ribs:
            return bare
        areas = np.array([beside * self.wall_mm, ribs * self.deep_mm])
        mids = np.array([self.wall_mm / 2, self.wall_mm + self.deep_mm / 2])
        middle = float((areas * mids).sum() / areas.sum())
        second = (beside * self.wall_mm**3 + ribs * self.deep_mm**3) / 12
        second += float((areas * (mids - middle) ** 2).sum())
        return min(second / max(middle, self.wall_mm + self.deep_mm - middle), 5 * bare)


def plan_box(
    axis: int, along: tuple[float, float], across: tuple[float, float], z: tuple[float, float]
) -> Box3:
    """A box by its spans along one level axis, the other one and upright."""
    spans = [along, across] if axis == 0 else [across, along]
    (x0, x1), (y0, y1) = (sorted(one) for one in spans)
    return (x0, y0, z[0]), (x1, y1, z[1])


def at(axis: int, along: float, across: float, z: float) -> tuple[float, float, float]:
    """A point by its coordinate along one level axis and along the other one."""
    return (along, across, z) if axis == 0 else (across, along, z)


def points_of(
    place: tuple[float, float, float], springs: list[tuple[np.ndarray, float, float]]
) -> list[HoldPoint]:
    """Two-sided holds in one place: (way, stiffness, cap) each."""
    return [
        HoldPoint(at_mm=place, way=tuple(way.tolist()), stiffness_n_mm=k, along_n=c, against_n=c)
        for way, k, c in springs
    ]


def root_mpa(t: float, wide: float, near: float, up: float, force: str) -> float:
    """Bending of an L's corner for 1 N off the wall, along it or upright; gussets of 4 count in leg
    and foot as a T over 0.85 of 14 mm."""
    a, h = near - t, up - t
    rib = 0.85 * 14.0
    modulus = block_modulus_mm3(t, 8.0, rib, wide - 8.0)
    if force == "off":
        bare = max(0.0, h - 14.0) * 6 / wide / t**2
        return max((h + t / 2) / modulus, bare) + 1 / (wide * t)
    if force == "up":
        return (a + t / 2) / modulus + 1 / (wide * t)
    return 6 * math.hypot(h + t / 2, a + t / 2) / (t * wide**2)


def ell(
    body: HeldBody,
    lugs: Lugs,
    plate: FramePlate,
    face: str,
    spots: list[tuple[float, float]],
    near: float,
    t: float,
) -> FrameHold:
    """One L with its foot's holes at ``spots`` of the plan."""
    sign, axis = (1.0 if face[0] == "+" else -1.0), "xy".index(face[1])
    across = np.array([spot[1 - axis] for spot in spots])
    gap = body.low_mm[2] - plate.at_mm[2]
    up, wide = 14.0 + gap, max(39.0, float(np.ptp(across)) + 20.0)
    springs = angle_stiffness_n_mm(
        thick_mm=t,
        wide_mm=wide,
        near_mm=near,
        up_mm=up,
        rib_mm=4.0,
        rib_reach_mm=14.0,
        modulus_mpa=MODULUS_MPA,
    )
    wall = ACROSS_MPA * lugs.modulus_mm3 / (near + lugs.out_mm + lugs.wall_mm / 2)
    caps = (
        min(INSIDE_MPA / root_mpa(t, wide, near, up, "off"), 2 * M4_INSERT_N),
        INSIDE_MPA / root_mpa(t, wide, near, up, "along"),
        min(INSIDE_MPA / root_mpa(t, wide, near, up, "up"), wall),
    )
    ways, n, z = (WAYS[axis] * sign, WAYS[1 - axis], WAYS[2]), len(spots), plate.at_mm[2]
    points = [
        point
        for spot in spots
        for point in points_of(
            (*spot, z), [(w, k / n, c / n) for w, k, c in zip(ways, springs, caps, strict=True)]
        )
    ]
    start = (body.high_mm if sign > 0 else body.low_mm)[axis] + sign * lugs.out_mm
    foot, middle = near + 7.0, float(across.mean())
    taken = plan_box(
        axis,
        (start, start + sign * foot),
        (middle - wide / 2, middle + wide / 2),
        (z, z + up + 6.5),
    )
    grams = 1.27e-3 * (wide * t * (foot + up + 6.5 - t) + 8.0 * 14.0**2 / 2)
    return FrameHold(
        kind="L",
        feature=plate.name,
        face=face,
        points=tuple(points),
        grams=grams,
        drilled=n if plate.drill else 0,
        screws=n + 2,
        takes_mm=(taken,),
        thick_mm=t,
        holes_mm=tuple((*spot, z) for spot in spots),
    )


def on_floor(
    body: HeldBody, lugs: Lugs, f: FramePlate, t: float, stay_out: shapely.Geometry
) -> Iterator[FrameHold]:
    """Ls, low stops and straps on a plate under the pack."""
    outline = shapely.Polygon(f.outline_mm)
    inner = outline.buffer(-6.0)
    pack = shapely.box(*body.low_mm[:2], *body.high_mm[:2]).buffer(0.2)
    region = outline.difference(pack).difference(stay_out).buffer(0.3)
    low, high, gap = body.low_mm, body.high_mm, body.low_mm[2] - f.at_mm[2]
    least = t + 14.5
    for face in (one for one in body.faces if one[1] != "z"):
        sign, axis = (1.0 if face[0] == "+" else -1.0), "xy".index(face[1])
        other = 1 - axis
        wall = (high if sign > 0 else low)[axis]
        edge, inset = wall + sign * lugs.out_mm, lugs.wide_mm / 2 + lugs.wall_mm + 5
        if f.drill:
            spots = [
                ([at(axis, edge + sign * least, y + d, 0.0)[:2] for d in (-10.0, 10.0)], least)
                for y in np.linspace(low[other] + inset, high[other] - inset, 5).tolist()
            ]
        else:
            able = [
                (h.at_mm, sign * (h.at_mm[axis] - edge))
                for h in f.holes
                if low[other] + inset - 12 <= h.at_mm[other] <= high[other] - inset + 12
            ]
            able = [(h, d) for h, d in able if least <= d <= 45.0]
            spots = [([h], d) for h, d in able] + [
                ([g, h], max(d, e))
                for (g, d), (h, e) in itertools.combinations(able, 2)
                if abs(d - e) < 2.5 and 12.0 <= abs(g[other] - h[other]) <= 45.0
            ]
        for places, near in spots:
            one = ell(body, lugs, f, face, places, near, t)
            (x0, y0, _), (x1, y1, _) = one.takes_mm[0]
            if region.contains(shapely.box(x0, y0, x1, y1)) and all(
                inner.covers(shapely.Point(p)) for p in places
            ):
                yield one
        if not f.drill or gap > 5.0:
            continue
        for y in np.linspace(low[other] + 18, high[other] - 18, 5).tolist():
            taken = plan_box(
                axis,
                (wall + sign * 0.3, wall + sign * 18),
                (y - 15, y + 15),
                (low[2] - gap, low[2] + 30),
            )
            (x0, y0, _), (x1, y1, _) = taken
            if region.contains(shapely.box(x0, y0, x1, y1)):
                push = HoldPoint(
                    at_mm=at(axis, wall, y, low[2] + 8),
                    way=tuple((-sign * WAYS[axis]).tolist()),
                    stiffness_n_mm=1500.0,
                    along_n=INSIDE_MPA * 30 * 8 / 6,
                    against_n=0.0,
                )
                yield FrameHold(
                    kind="stop",
                    feature=f.name,
                    face=face,
                    points=(push,),
                    grams=9.0,
                    drilled=2,
                    screws=2,
                    takes_mm=(taken,),
                )
    if f.drill and gap <= 5.0 and "+z" in body.faces:
        yield from straps(body, f, region)


def straps(
    body: HeldBody, f: FramePlate, region: shapely.Geometry, pull_n: float = 200.0
) -> Iterator[FrameHold]:
    """A strap over the pack through slots in the plate; the floor's contact stays shut up to its
    preload."""
    low, high = np.array(body.low_mm), np.array(body.high_mm)
    for over, part in itertools.product((0, 1), (0.2, 0.5, 0.8)):
        y = float(low[1 - over] + part * (high - low)[1 - over])
        ends = [
            plan_box(over, span, (y - 14, y + 14), (low[2] - 5, high[2] + 3))
            for span in ((low[over] - 8, low[over] - 3), (high[over] + 3, high[over] + 8))
        ]
        if not all(region.contains(shapely.box(*a[:2], *b[:2])) for a, b in ends):
            continue
        long = 2 * (high - low)[2] + (high - low)[over]
        points = [
            HoldPoint(
                at_mm=at(over, float(body.centre_mm[over]), y, float(high[2])),
                way=(0.0, 0.0, -1.0),
                stiffness_n_mm=2 * 2500 / (0.07 * long),
                along_n=2 * (1000 - pull_n),
                against_n=2 * pull_n,
            )
        ]
        for end in (low, high):
            foot, slip = at(over, float(end[over]), y, float(low[2])), 0.25 * pull_n
            points += [
                HoldPoint(
                    at_mm=foot,
                    way=(0.0, 0.0, 1.0),
                    stiffness_n_mm=2000.0,
                    along_n=2000.0,
                    against_n=pull_n,
                ),
                *(
                    HoldPoint(
                        at_mm=foot,
                        way=way,
                        stiffness_n_mm=300.0,
                        along_n=slip,
                        against_n=slip,
                        slips=True,
                    )
                    for way in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
                ),
            ]
        yield FrameHold(
            kind="strap",
            feature=f.name,
            face="+z",
            points=tuple(points),
            grams=12.0,
            drilled=4,
            takes_mm=tuple(ends),
        )


def on_wall(body: HeldBody, f: FramePlate) -> Iterator[FrameHold]:
    """Foam pads, which only push, and hooked cleats on an upright plate."""
    low, high = np.array(body.low_mm), np.array(body.high_mm)
    sign, axis = (1.0 if f.normal[0] == "+" else -1.0), f.axis
    other, wall = 1 - axis, f.at_mm[axis]
    distance = sign * ((low if sign > 0 else high)[axis] - wall)
    face = ("-" if sign > 0 else "+") + f.normal[1]
    if face not in body.faces or not 0 <= distance <= 12:
        return
    off = tuple((WAYS[axis] * sign).tolist())
    if distance <= 3:
        for y in (low[other] + 25, high[other] - 25):
            pad = HoldPoint(
                at_mm=at(axis, wall, float(y), float(low[2]) + 10),
                way=off,
                stiffness_n_mm=600.0,
                along_n=800.0,
                against_n=0.0,
            )
            yield FrameHold(
                kind="pad", feature=f.name, face=face, points=(pad,), grams=1.0, free=True
            )
    hook = INSIDE_MPA * 60 * 6.0**2 / 6 / 9.0
    for y in (low[other] + 35, (low + high)[other] / 2, high[other] - 35):
        place = at(axis, wall, float(y), float(low[2] + 0.6 * (high - low)[2]))
        points = (
            HoldPoint(at_mm=place, way=off, stiffness_n_mm=800.0, along_n=4 * hook, against_n=hook),
            HoldPoint(
                at_mm=place,
                way=(0.0, 0.0, 1.0),
                stiffness_n_mm=800.0,
                along_n=2 * hook,
                against_n=0.0,
            ),
        )
        taken = plan_box(
            axis,
            (wall - 0.1, wall + 0.1),
            (float(y) - 30, float(y) + 30),
            (float(low[2]) + 20, float(high[2])),
        )
        yield FrameHold(
            kind="cleat",
            feature=f.name,
            face=face,
            points=points,
            grams=28.0,
            drilled=2 * f.drill,
            screws=4,
            takes_mm=(taken,),
        )


def offers(
    body: HeldBody,
    features: list,
    t: float,
    *,
    lugs: Lugs = Lugs(),
    stay_out: shapely.Geometry | None = None,
) -> list[FrameHold]:
    """Every bracket of these kinds on every feature."""
    found: list[FrameHold] = []
    for f in features:
        if isinstance(f, FrameTube):
            found += on_tube(body, f, t)
        elif f.axis != 2:
            found += on_wall(body, f)
        elif f.normal == "+z" and 2.0 <= body.low_mm[2] - f.at_mm[2] <= 40.0:
            found += on_floor(body, lugs, f, t, stay_out or shapely.Polygon())
    return found


def body(
    low: tuple[float, float, float],
    high: tuple[float, float, float],
    mass_kg: float,
    load_g: tuple[float, float, float] = (4.0, 4.0, 6.0),
) -> HeldBody:
    """A box-shaped pack of printed parts in warm air."""
    middle = tuple(((np.array(low) + high) / 2).tolist())
    return HeldBody(
        low_mm=low,
        high_mm=high,
        centre_mm=middle,
        mass_kg=mass_kg,
        load_g=load_g,
        faces=("-x", "+x", "-y", "+y", "-z"),
        limit_mpa=INSIDE_MPA,
        modulus_mpa=MODULUS_MPA,
    )
