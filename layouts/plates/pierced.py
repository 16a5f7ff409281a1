"""Copper beneath nickel: its own outline, with a hole at each can end.

Nickel is welded onto the cans through these holes. Both sheets are joined on the bench before, by a
shot beside each hole. Where a hole leaves but a narrow strip of copper, that is cut off, and what
is then apart from the rest is left out: nickel alone carries the current there.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.plates.outline import CURVE, largest_part
from layouts.plates.sizes import SPOTS_REACH_MM
from layouts.strips.plate import BusPlate
from layouts.strips.weld_spots import PROBES_MM

__all__ = ["COPPER_HOLE_MM", "COPPER_LEAST_MM", "bench_spots", "with_pierced_layers"]

# diameter of the hole at each can end: round all spots there, and a probe's tip; judgement
COPPER_HOLE_MM = 2.0 * (SPOTS_REACH_MM + 1.2)
COPPER_LEAST_MM = 2.0  # no copper is narrower; judgement
LAP_MM = 0.02  # by which what is left goes under the holes, so that none keeps a rag
HOLE_CURVE = 32  # chords a quarter turn of a round hole: 0.001 mm off
BENCH_MM = 1.2  # from a hole's edge to the nearest shot that joins both sheets
BENCH_FAR_MM = 6.0  # and to the farthest place that is tried
WAYS, STEP_MM = 24, 0.4  # of the places tried


def with_pierced_layers(cell_layout: CellLayout, plate: BusPlate) -> BusPlate:
    """The plate with the outline of the copper beneath its nickel; without one where there is none
    of either."""
    if not any(plate.is_pierced(layer) for layer in range(len(plate.layers))):
        return replace(plate, pierced=None)
    centres = shapely.points(cell_layout.xy_mm[list(plate.cells)])
    holes = shapely.buffer(centres, COPPER_HOLE_MM / 2.0, quad_segs=HOLE_CURVE)
    half = COPPER_LEAST_MM / 2.0
    wide = shapely.buffer(centres, COPPER_HOLE_MM / 2.0 + half, quad_segs=HOLE_CURVE)
    parts = []
    for sheet in plate.parts:
        core = sheet.buffer(-half, quad_segs=CURVE).difference(shapely.union_all(wide))
        largest = largest_part(core)
        # the holes as punched, where arcs of the sheet that is left are a hair off them
        left = shapely.intersection(largest.buffer(half + LAP_MM, quad_segs=2 * CURVE), sheet)
        punched = left.difference(shapely.union_all(holes))
        parts.append(largest_part(punched))
    pierced = parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)
    return replace(plate, pierced=pierced)


def bench_spots(cell_layout: CellLayout, plate: BusPlate) -> NDArray[np.float64]:
    """(cells, 1, 2, 2) one shot beside each hole, nickel onto copper: in the nearest copper that
    is wide enough for both spots, else in the nearest that there is."""
    assert plate.pierced is not None
    sound = plate.pierced.buffer(-COPPER_LEAST_MM / 4.0)
    if plate.bar is not None:
        sound = sound.difference(plate.bar.shape)
    shapely.prepare(sound)
    offsets = _bench_places()
    found = []
    for cell in plate.cells:
        places = cell_layout.xy_mm[cell] + offsets
        both = shapely.contains_xy(sound, places[..., 0], places[..., 1]).all(axis=1)
        far = shapely.distance(shapely.points(places.mean(axis=1)), plate.pierced)
        found.append(places[int(np.argmax(both)) if both.any() else int(np.argmin(far))])
    return np.array(found)[:, None]


def _bench_places() -> NDArray[np.float64]:
    """(n, 2, 2) shots across the way from a hole's middle, near ones first."""
    first = COPPER_HOLE_MM / 2.0 + BENCH_MM
    places = []
    for far in np.arange(first, first + BENCH_FAR_MM, STEP_MM):
        for angle in 2.0 * np.pi * np.arange(WAYS) / WAYS:
            way = np.array([np.cos(angle), np.sin(angle)])
            side = np.array([-way[1], way[0]]) * PROBES_MM / 2.0
            places.append([way * far - side, way * far + side])
    return np.array(places)
