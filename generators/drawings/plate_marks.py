"""Signs on the weld plan of a face with plates: shots of each layer, and what rework asks for."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from generators.drawings.linework import (
    Circles,
    Layer,
    Lines,
    Mark,
    Words,
    boxed_words,
    crosses,
)
from layouts.cells.arrangement import CellLayout
from layouts.pack import Pack
from layouts.plates.bridge import bridged_joint
from layouts.plates.rework import group_seam, peel_edge, rework_cuts, spare_shots
from layouts.plates.spots import layer_spots
from layouts.strips.plate import BusPlate

__all__ = [
    "SEAM_TEXT",
    "peel_marks",
    "plate_legend",
    "plate_shots",
    "rework_marks",
    "seam_marks",
]

NUMBER_MM = 3.0
LEGEND_MM = 3.0
ROW_MM = 5.0  # from one line of the legend to the next
SPOT_MM = 0.6  # half as wide as a sign
SPARE_RADIUS_MM = 0.5
PEEL_MM, PEEL_WIDE_MM = 2.0, 1.5  # a triangle's height and base: between two spare places
SEAM_TEXT = "bridge"

# corners of the sign of each layer's spots, from the second: square, triangle, diamond
SIGNS = tuple(
    SPOT_MM * np.array(corners)
    for corners in (
        [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)],
        [(-1.2, -0.8), (1.2, -0.8), (0.0, 1.3)],
        [(-1.4, 0.0), (0.0, -1.4), (1.4, 0.0), (0.0, 1.4)],
    )
)


def plate_shots(
    cell_layout: CellLayout, plate: BusPlate, place: tuple[NDArray[np.float64], NDArray[np.float64]]
) -> list[Mark]:
    """All shots of a plate, a sign for each layer; ``place``: factors (2,) and shift (2,) from the
    pack's x and y to the drawing's."""
    marks: list[Mark] = []
    for layer in range(max(1, len(plate.layers))):
        marks += _shots(layer_spots(cell_layout, plate, layer) * place[0] + place[1], layer)
    return marks


def _shots(places: NDArray[np.float64], layer: int) -> list[Mark]:
    """Signs on all spots (cells, shots, 2, 2), a line between the two of each shot."""
    pairs = places.reshape(-1, 2, 2)
    marks: list[Mark] = [Lines(layer=Layer.WELD, lines=tuple(pairs))]
    if layer == 0:
        return [*marks, crosses(pairs.reshape(-1, 2))]
    corners = SIGNS[min(layer, len(SIGNS)) - 1]
    sides = np.stack([corners, np.roll(corners, -1, axis=0)], axis=1)
    lines = (pairs.reshape(-1, 1, 1, 2) + sides).reshape(-1, 2, 2)
    return [*marks, Lines(layer=Layer.WELD, lines=tuple(lines))]


def rework_marks(
    pack: Pack, cell_layout: CellLayout, plates: Sequence[BusPlate], flip: NDArray[np.float64]
) -> list[Mark]:
    """Lines to cut along and spare weld places."""
    marks: list[Mark] = []
    for plate, cuts in zip(plates, rework_cuts(cell_layout, plates), strict=True):
        if cuts:
            marks.append(Lines(layer=Layer.REWORK, lines=tuple(line * flip for line in cuts)))
        for shots in spare_shots(pack, cell_layout, plate):
            marks += [_spare((float(x), float(y))) for x, y in shots.reshape(-1, 2) * flip]
    return marks


def peel_marks(
    cell_layout: CellLayout, plates: Sequence[BusPlate], flip: NDArray[np.float64]
) -> list[Mark]:
    """A triangle at the edge that each plate is peeled from."""
    marks = []
    for plate in plates:
        edge = peel_edge(cell_layout, plate)
        at, inward = np.array(edge.at_mm) * flip, np.array(edge.inward) * flip
        # beside the edge, not where the group's number stands
        marks.append(_peel(at, inward) if plate.is_end else _peel(at + inward * 0.2, -inward))
    return marks


def seam_marks(
    pack: Pack,
    cell_layout: CellLayout,
    plates: Sequence[BusPlate],
    shown: Sequence[int],
    flip: NDArray[np.float64],
) -> list[Mark]:
    """Where the plate that is made as two sheets is parted, if it is among those ``shown``."""
    bridged = bridged_joint(pack, plates)
    if bridged is None or bridged.plate not in shown:
        return []
    seam = group_seam(cell_layout, plates[bridged.plate])
    return [Lines(layer=Layer.SEAM, lines=tuple(line * flip for line in seam))] if seam else []


def _spare(at_mm: tuple[float, float]) -> Mark:
    return Circles(layer=Layer.SPARE, at_mm=at_mm, radius_mm=SPARE_RADIUS_MM)


def _peel(tip_mm: NDArray[np.float64], way: NDArray[np.float64]) -> Mark:
    """A triangle that points along ``way``."""
    across = np.array([-way[1], way[0]])
    base = tip_mm - way * PEEL_MM
    corners = np.array([tip_mm, base + across * PEEL_WIDE_MM / 2, base - across * PEEL_WIDE_MM / 2])
    return Lines(layer=Layer.BOX, lines=(corners,), closed=True)


def plate_legend(
    plates: Sequence[BusPlate], low: tuple[float, float], *, bridged: bool
) -> list[Mark]:
    """What the signs mean, below the drawing; ``plates``: of the face, ``low``: its corner."""
    x, y = low[0] + 2.0, low[1] - 5.0
    rows: list[tuple[Sequence[Mark], str]] = []

    def at() -> tuple[float, float]:
        return x, y - ROW_MM * len(rows)

    def line(layer: Layer) -> Mark:
        height = at()[1]
        return Lines(layer=layer, lines=(np.array([(x - 2.0, height), (x + 2.5, height)]),))

    most = max(plates, key=lambda plate: len(plate.layers))
    for layer in range(max(1, len(most.layers))):
        pair = np.array([[[(at()[0] - 1.3, at()[1]), (at()[0] + 1.3, at()[1])]]])
        rows.append((_shots(pair[None], layer), _shot_text(most, layer)))
    rows += [(boxed_words("7", at(), NUMBER_MM), "plate 7 in the order of welding")]
    rows += [
        (
            boxed_words("B2", at(), NUMBER_MM, Layer.FLAG),
            "balance lead 2, soldered on before the plate is welded",
        )
    ]
    ring = Circles(layer=Layer.RING, at_mm=at(), radius_mm=1.8)
    rows += [((ring,), "insulating ring: a positive end; the number is the group")]
    rows += [((_spare(at()),), "spare place for a second weld, used once")]
    rows += [((line(Layer.REWORK),), "rework: cut the plate here only")]
    tip = np.array([at()[0], at()[1] - PEEL_MM / 2])
    rows += [((_peel(tip, np.array([0.0, -1.0])),), "edge from which a cut plate is peeled")]
    if any(plate.pierced is not None for plate in plates):
        rows += [((line(Layer.CUT),), "edge of the copper beneath, a hole at each can end")]
    if bridged:
        rows += [((line(Layer.SEAM),), "two sheets with a screwed bridge, opened for any work")]
    marks: list[Mark] = []
    for k, (signs, text) in enumerate(rows):
        marks += signs
        place = (x + 5.0, y - ROW_MM * k - LEGEND_MM * 0.36)
        marks.append(Words(at_mm=place, text=text, size_mm=LEGEND_MM))
    return marks


def _shot_text(plate: BusPlate, layer: int) -> str:
    """One shot of a layer: which layer it welds, and onto what."""
    if len(plate.layers) <= 1:
        return "one shot: two spots, onto the can"
    metal = f"{plate.layers[layer].material} {plate.layers[layer].thickness_mm:g} mm"
    if plate.pierced is not None and plate.is_pierced(layer):
        return f"one shot of layer {layer + 2} onto layer {layer + 1}, {metal}, on the bench"
    beneath = sum(plate.is_pierced(k) for k in range(layer))
    if plate.pierced is not None and layer == beneath:
        return f"one shot of layer {layer + 1}, {metal}, through the hole onto the can"
    onto = "the can" if layer == 0 else f"layer {layer}"
    return f"one shot of layer {layer + 1}, {metal}, onto {onto}"
