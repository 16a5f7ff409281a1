"""Mounting pads in the plan: blocks that fill the wall's hollows behind them."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from layouts.brackets.kind import MountingPad
from layouts.enclosures.fitted.loops import loop_polygon
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.fitted.stubs import thin_ends
from layouts.enclosures.printed import FIELD
from layouts.errors import PlanError
from layouts.parts.shell import Rect, box

__all__ = ["block_gaps", "bore_plans", "pad_block"]

BEHIND_MM = 30.0  # hollows are looked for so far behind a pad's face: deeper than any wall's
FILL_MM = 12.0  # past a corner nothing is filled farther back than this from the foremost wall
GAP_PLAY_MM = 0.6  # between a block and the lid's lip beside it
LEAST_LIP_LONG_MM = 6.0  # shorter pieces of the lip are left out
FACE_MM = 0.01  # air that comes so near to a pad's face lies before the wall


def pad_block(sizes: FittedSizes, pad: MountingPad, wide_mm: float | None = None) -> Rect:
    """From the pad's face to the bottom of the deepest hollow behind it, and half a wall further.

    The tub's inside is cut from it: it fills the hollows and ends in the wall's thickness.
    ``wide_mm``: of the block above it; None: the pad's. Raises PlanError where no wall is
    behind it."""
    half = (sizes.pad_width_mm if wide_mm is None else wide_mm) / 2
    strip, outer = _behind(pad, half, pad.face_mm - BEHIND_MM), sizes.shell.outer
    air = box(strip).difference(loop_polygon(outer))
    wall = box(strip).intersection(loop_polygon(outer))
    if wall.is_empty:
        raise PlanError(
            field=FIELD,
            why=f"leaves no wall behind the mounting pad at ({pad.middle_mm[0]:.1f}, "
            f"{pad.middle_mm[1]:.1f})",
            remedy="mount it on another side, or change the space round it",
        )
    reaches = [_reach_mm(part, pad) for part in shapely.get_parts(air)]
    before = [low for low, high in reaches if high > pad.face_mm - FACE_MM]
    crest = _reach_mm(wall, pad)[1]
    deepest = max(min(before, default=crest), crest - FILL_MM)
    return _behind(pad, half, deepest - sizes.shell.wall_mm / 2)


def block_gaps(sizes: FittedSizes) -> tuple[Rect, ...]:
    """Where the lid's lip is left out before blocks that go up behind it.

    Past a screw's boss beside a block as far as its middle: no stub of the lip is left between; and
    where the lip runs aslant out of a gap as far as it would end in a knife edge."""
    gaps = tuple(_block_gap(sizes, pad) for pad in sizes.pads if pad.block_mm)
    cut = shapely.union_all([box(gap) for gap in gaps])
    lip = loop_polygon(sizes.shell.lip_outer).difference(loop_polygon(sizes.shell.lip_inner))
    return (*gaps, *thin_ends(lip.difference(cut), cut))


def _block_gap(sizes: FittedSizes, pad: MountingPad) -> Rect:
    half = pad.block_mm / 2 + GAP_PLAY_MM
    low, high = pad.along_mm - half, pad.along_mm + half
    u, v = pad.normal
    for screw in sizes.shell.screws:
        if screw.x_mm * u + screw.y_mm * v < pad.face_mm - BEHIND_MM:
            continue
        at = screw.at_mm[pad.along_axis]
        near = screw.radius_mm + LEAST_LIP_LONG_MM
        low = min(low, at) if abs(at - low) < near else low
        high = max(high, at) if abs(at - high) < near else high
    behind = _reach_mm(box(pad_block(sizes, pad, pad.block_mm)), pad)[0]
    xa, ya = pad.at_mm(low, behind)
    xb, yb = pad.at_mm(high, pad.face_mm + GAP_PLAY_MM)
    return Rect(x0=min(xa, xb), x1=max(xa, xb), y0=min(ya, yb), y1=max(ya, yb))


def bore_plans(sizes: FittedSizes, pad: MountingPad) -> tuple[Rect, Rect]:
    """Both insert holes in the pad's face, in the plan."""
    first, second = (
        _behind(
            pad, sizes.pad_hole_radius_mm, pad.face_mm - sizes.pad_hole_deep_mm,
            off_mm=side * pad.apart_mm,
        )
        for side in (-0.5, 0.5)
    )  # fmt: skip
    return first, second


def _behind(pad: MountingPad, half_mm: float, to_mm: float, off_mm: float = 0.0) -> Rect:
    """From the pad's face to ``to_mm``, ``half_mm`` to both sides of a line off its middle."""
    middle = pad.along_mm + off_mm
    xa, ya = pad.at_mm(middle - half_mm, to_mm)
    xb, yb = pad.at_mm(middle + half_mm, pad.face_mm)
    return Rect(x0=min(xa, xb), x1=max(xa, xb), y0=min(ya, yb), y1=max(ya, yb))


def _reach_mm(shape: BaseGeometry, pad: MountingPad) -> tuple[float, float]:
    """Nearest and farthest point of a shape along the pad's outward direction."""
    x0, y0, x1, y1 = shape.bounds
    u, v = pad.normal
    low, high = sorted((x0 * u + y0 * v, x1 * u + y1 * v))
    return low, high
