"""Strips as pieces to cut: each strip for itself, or the strips of one potential out of one sheet.

A net is all that has one potential on one face: groups k and k + 1, or an end group alone. As
single strips every layer of every strip is a piece. As sheets the strips of a net are cut in
one, layer by layer: the first layer from the outline round all of them, the next from the outline
round those of two layers or more, so that copper and nickel lie where single strips would have
them and the holders' channels fit either way.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.pack import Face
from layouts.strips.joining import Interconnect, Strip, StripKind
from layouts.strips.joints import net_of_group

__all__ = ["CutPiece", "SheetShape", "WeldSlot", "cut_pieces", "welding_order"]

CRUMB_MM2 = 1e-6  # smaller pieces of a union are float noise


class SheetShape(Enum):
    """How the strips of a net are cut."""

    SINGLE = "single"  # every strip for itself
    LADDER = "ladder"  # rows and links of a net in one, rows to a main lead for themselves
    SHEET = "sheet"  # all strips of a net in one


@dataclass(frozen=True, kw_only=True, slots=True)
class WeldSlot:
    """A slot between the two electrodes of a weld, along the first strip over each can end [mm].

    It sends more of the weld's current through the can; common practice, no source. The strip's
    own section is smaller there by ``wide_mm``, which no network counts.
    """

    long_mm: float
    wide_mm: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CutPiece:
    """One flat piece as it is cut, in the pack's x and y.

    ``strips``: which of the joining's strips it is made of, counted from 0; ``layer``: 1 lies on
    the cans. ``outline_mm`` (n, 2) counter-clockwise; ``openings_mm``: holes in it, clockwise,
    weld slots among them. ``groups``: those of the net.
    """

    name: str
    face: Face
    groups: tuple[int, ...]
    strips: tuple[int, ...]
    layer: int
    thickness_mm: float
    outline_mm: NDArray[np.float64]
    openings_mm: tuple[NDArray[np.float64], ...] = ()

    @property
    def polygon(self) -> shapely.Polygon:
        """What is left of the sheet [mm]."""
        return shapely.Polygon(self.outline_mm, self.openings_mm)


def welding_order(interconnect: Interconnect) -> tuple[int, ...]:
    """Indices of the strips as they are welded: number k of the drawings is the k-th of these.

    Lower face first; on a face net by net from pack minus on; in a net rows, then what
    crosses them, then the rows to a main lead, so that no strip has to go under another.
    """
    kinds = list(StripKind)

    def place(k: int) -> tuple[bool, int, int, int]:
        strip = interconnect.strips[k]
        of_net = int(_net(strip))
        return strip.face is Face.UPPER, of_net, kinds.index(strip.kind), k

    return tuple(sorted(range(len(interconnect.strips)), key=place))


def cut_pieces(
    cell_layout: CellLayout,
    interconnect: Interconnect,
    shape: SheetShape = SheetShape.SINGLE,
    *,
    slot: WeldSlot | None = None,
) -> tuple[CutPiece, ...]:
    """Every piece to cut, in the order of welding, the layers of a strip after each other."""
    order = welding_order(interconnect)
    pieces: list[CutPiece] = []
    for net in _nets(interconnect, order):
        together = [k for k in net if _in_one(interconnect.strips[k], shape)]
        # what lies under comes first: rows and links before rows to a main lead
        if together:
            pieces += _sheets(cell_layout, interconnect, together, slot)
        for k in net:
            if k not in together:
                pieces += _layers(cell_layout, interconnect, k, slot)
    return tuple(pieces)


def _net(strip: Strip) -> int:
    """Number of the net on its face, by any one of its groups."""
    return int(net_of_group(np.array([strip.groups[0]]), strip.face)[0])


def _nets(interconnect: Interconnect, order: Iterable[int]) -> list[list[int]]:
    """Strips of each net, in order."""
    found: dict[tuple[Face, int], list[int]] = {}
    for k in order:
        strip = interconnect.strips[k]
        found.setdefault((strip.face, _net(strip)), []).append(k)
    return list(found.values())


def _in_one(strip: Strip, shape: SheetShape) -> bool:
    if shape is SheetShape.SINGLE:
        return False
    return shape is SheetShape.SHEET or strip.kind is not StripKind.LEAD


def _layers(
    cell_layout: CellLayout, interconnect: Interconnect, k: int, slot: WeldSlot | None
) -> list[CutPiece]:
    """The layers of one strip, its outline to the last digit that of the joining."""
    strip = interconnect.strips[k]
    outline = strip.outline_mm
    openings = [
        np.asarray(hole.exterior.coords)[:-1]
        for hole in _slots(cell_layout, [strip], slot)
        if shapely.Polygon(outline).contains(hole)
    ]
    return [
        CutPiece(
            name=strip.name if strip.layers == 1 else f"{strip.name}-layer-{layer}",
            face=strip.face,
            groups=strip.groups,
            strips=(k,),
            layer=layer,
            thickness_mm=strip.thickness_mm,
            outline_mm=outline,
            openings_mm=tuple(_turned(hole, clockwise=True) for hole in openings),
        )
        for layer in range(1, strip.layers + 1)
    ]


def _sheets(
    cell_layout: CellLayout,
    interconnect: Interconnect,
    together: Sequence[int],
    slot: WeldSlot | None,
) -> list[CutPiece]:
    """One outline for each layer of the strips of a net; several where they don't touch."""
    strips = [interconnect.strips[k] for k in together]
    groups = tuple(sorted({group for strip in strips for group in strip.groups}))
    face = strips[0].face
    pieces: list[CutPiece] = []
    for layer in range(1, max(strip.layers for strip in strips) + 1):
        there = [k for k in together if interconnect.strips[k].layers >= layer]
        boxes = [shapely.Polygon(interconnect.strips[k].outline_mm) for k in there]
        holes = _slots(cell_layout, [interconnect.strips[k] for k in there], slot)
        whole = shapely.union_all(boxes)
        if holes:
            whole = whole.difference(shapely.union_all(holes))
        parts = [
            part
            for part in shapely.get_parts(shapely.normalize(whole)).tolist()
            if part.area > CRUMB_MM2
        ]
        parts.sort(key=lambda part: (round(part.bounds[1], 6), round(part.bounds[0], 6)))
        for number, part in enumerate(parts, start=1):
            words = [face.value, *map(str, groups), "sheet", str(layer)]
            mine = tuple(
                k
                for k, box in zip(there, boxes, strict=True)
                if part.intersection(box).area > CRUMB_MM2
            )
            pieces.append(
                CutPiece(
                    name="-".join([*words, *([str(number)] if len(parts) > 1 else [])]),
                    face=face,
                    groups=groups,
                    strips=mine,
                    layer=layer,
                    thickness_mm=strips[0].thickness_mm,
                    outline_mm=_turned(np.asarray(part.exterior.coords)[:-1], clockwise=False),
                    openings_mm=tuple(
                        _turned(np.asarray(ring.coords)[:-1], clockwise=True)
                        for ring in part.interiors
                    ),
                )
            )
    return pieces


def _slots(
    cell_layout: CellLayout, strips: Sequence[Strip], slot: WeldSlot | None
) -> list[shapely.Polygon]:
    """One slot over each can end under these strips, along the first strip there."""
    if slot is None:
        return []
    half = np.array([slot.long_mm, slot.wide_mm]) / 2
    corners = np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]) * half
    holes: dict[int, shapely.Polygon] = {}
    for strip in strips:
        along = np.subtract(strip.end_mm, strip.start_mm)
        along = along / np.hypot(*along)
        axes = np.array([along, (-along[1], along[0])])
        for cell in strip.cells:
            if cell not in holes:
                holes[cell] = shapely.Polygon(cell_layout.xy_mm[cell] + corners @ axes)
    return list(holes.values())


def _turned(ring: NDArray[np.float64], *, clockwise: bool) -> NDArray[np.float64]:
    """A ring in the required direction."""
    x, y = ring.T
    area = float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
    return ring[::-1] if (area > 0) == clockwise else ring
