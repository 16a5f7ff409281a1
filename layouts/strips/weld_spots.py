"""Where a strip is spot-welded: pairs of spots along it over every can end that it crosses.

The first strip over a can end is welded onto the can, each later one onto what lies beneath.
Every strip gets its own pairs along its own axis; two of them stand on both sides of the can's
middle, so that spots of strips that cross do not fall on each other.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.pack import Pack
from layouts.strips.joining import BUS_SLOT_MM, Strip

__all__ = ["PROBES_MM", "weld_spots"]

PROBES_MM = 2.6  # between both spots of a pair; they fit the slot of a bus; common practice
OFF_CENTRE_MM = 4.0  # of a pair along the strip; common practice, no source
SPOT_MM = 1.0  # of strip round a spot's middle; common practice, no source

assert PROBES_MM < BUS_SLOT_MM


def weld_spots(pack: Pack, cell_layout: CellLayout, strip: Strip) -> NDArray[np.float64]:
    """(cells, spots, 2) middles of the spots over each cell of a strip, in the pack's x and y.

    ``pack.strip.weld_spots`` to a can end, in pairs: an odd one stands alone between its pair's
    places. Pairs are spread evenly between the two farthest places, which lie ``OFF_CENTRE_MM``
    from the can's middle or as far as strip and window reach.
    """
    start, end = np.asarray(strip.start_mm), np.asarray(strip.end_mm)
    along = (end - start) / np.hypot(*(end - start))
    across = np.array([-along[1], along[0]])
    centres = cell_layout.xy_mm[list(strip.cells)]
    at = (centres - start) @ along
    length = float(np.hypot(*(end - start)))
    reach = np.minimum(OFF_CENTRE_MM, pack.holder.window_mm / 2 - SPOT_MM)
    back = -np.clip(at - SPOT_MM, 0.0, reach)
    ahead = np.clip(length - at - SPOT_MM, 0.0, reach)
    count = pack.strip.weld_spots
    pairs = -(-count // 2)
    share = np.linspace(0.0, 1.0, pairs) if pairs > 1 else np.array([0.5])
    places = back[:, None] + (ahead - back)[:, None] * share
    beside = np.minimum(PROBES_MM, max(strip.width_mm - 2 * SPOT_MM, 0.0)) / 2
    spots = []
    for k in range(count):
        alone = count % 2 == 1 and k == count - 1
        side = 0.0 if alone else beside * (1 if k % 2 else -1)
        spots.append(
            centres + places[:, k // 2, None] * along + side * across,
        )
    return np.stack(spots, axis=1)
