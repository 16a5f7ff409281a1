"""Mounting pads of the rectangular tub: where they stand, and blocks that stiffen its walls."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from layouts.brackets.kind import MountingPad
from layouts.brackets.registry import kind_of
from layouts.enclosures.box.bosses import EMBED_MM
from layouts.enclosures.pad_walls import PadWall, pad_wall, pads_for_load
from layouts.pack import Pack, Side
from layouts.parts.shell import Rect

__all__ = [
    "MOUNTING_PAD_HIGH_MM",
    "MOUNTING_PAD_MM",
    "mounting_pads",
    "pads_shape",
    "wall_at",
]

# All of these are common practice, no source
MOUNTING_PAD_MM = 34.0
MOUNTING_PAD_HIGH_MM = 26.0
MOUNTING_PAD_OUT_MM = 10.0
TWO_MOUNTING_PADS_MM = 120.0  # sides from here on carry two mounting pads
SHIFT_STEP_MM = 6.0  # of pads beside glands
BETWEEN_MM = 10.0  # two brackets on one wall


def mounting_pads(
    pack: Pack, underside_mm: float, cavity: Rect
) -> Iterator[tuple[MountingPad, ...]]:
    """Two on each of the +x and -x walls, near their ends; one in the middle of a short wall.

    Where the load asks for blocks above them, glands have no place there: those on the +x wall are
    then also given nearer to its middle, step by step, one alone farther from it."""
    if pack.mount.hold.none:
        yield ()
        return
    wall, half = pack.enclosure.wall_mm, kind_of(pack).wall_mm(pack) / 2
    low, high = cavity.y0 - wall, cavity.y1 + wall
    two = high - low >= max(TWO_MOUNTING_PADS_MM, 4 * half + BETWEEN_MM)
    inset = max(MOUNTING_PAD_MM / 2 + wall + EMBED_MM + 1.0, half)
    places = (low + inset, high - inset) if two else ((low + high) / 2,)

    def made(side: Side, inside: float, at: Sequence[float]) -> list[MountingPad]:
        return [
            MountingPad(
                side=side, along_mm=y, underside_mm=underside_mm, high_mm=MOUNTING_PAD_HIGH_MM,
                face_mm=inside + wall + MOUNTING_PAD_OUT_MM,
            )
            for y in at
        ]  # fmt: skip

    left = made(Side.MINUS_X, -cavity.x0, places)
    for at in _places(places, low + inset, high - inset, half):
        pads = pads_for_load(
            pack, (*left, *made(Side.PLUS_X, cavity.x1, at)), lambda pad: wall_at(pad, wall),
            deep_mm=MOUNTING_PAD_OUT_MM,
        )  # fmt: skip
        yield pads
        if not pads[0].block_mm:
            return


def _places(
    usual: Sequence[float], low: float, high: float, half: float
) -> Iterator[tuple[float, ...]]:
    """The usual places, then others: two move towards the middle, one moves either way."""
    yield tuple(usual)
    if len(usual) == 2:
        most = (high - low) / 2 - half - BETWEEN_MM / 2
        for by in np.arange(SHIFT_STEP_MM, most, SHIFT_STEP_MM).tolist():
            yield low + by, high - by
        return
    for by in np.arange(SHIFT_STEP_MM, (high - low) / 2, SHIFT_STEP_MM).tolist():
        yield (usual[0] - by,)
        yield (usual[0] + by,)


def wall_at(pad: MountingPad, wall_mm: float) -> PadWall:
    """The wall of the tub at a pad."""
    return pad_wall(pad, wall_mm=wall_mm, pad_mm=MOUNTING_PAD_MM, out_mm=MOUNTING_PAD_OUT_MM)


def pads_shape(pads: Sequence[MountingPad]) -> BaseGeometry:
    """Pads and the blocks above them in the plan, as far as they stand out of the wall."""
    shapes = []
    for pad in pads:
        half = max(MOUNTING_PAD_MM, pad.block_mm) / 2
        ends = [
            pad.at_mm(pad.along_mm + side * half, out)
            for side, out in ((-1.0, pad.face_mm - MOUNTING_PAD_OUT_MM), (1.0, pad.face_mm))
        ]
        shapes.append(shapely.MultiPoint(ends).envelope)
    return shapely.union_all(shapes)
