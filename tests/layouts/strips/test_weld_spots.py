"""Weld spots on strips of any width and length: on the strip, in the window, in pairs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layouts.pack import Face, Lattice
from layouts.strips.joining import StripKind
from layouts.strips.weld_spots import weld_spots
from tests.layouts.electrical.packs import strip
from tests.layouts.hand_made import in_rows
from tests.samples import sample_pack


@pytest.mark.parametrize("spots", [1, 2, 3, 4, 5, 6, 7, 8])
@pytest.mark.parametrize("width_mm", [1.5, 2.0, 2.6, 4.0, 8.0])
def test_spots_lie_on_the_strip_in_pairs(width_mm: float, spots: int) -> None:
    """On its middle where it is no wider than two spots, else beside it alike on both sides.

    1 mm of strip stays round each; an odd spot stands alone on the middle line."""
    pack = sample_pack(2, 3, lattice=Lattice.GRID)
    pack = replace(pack, strip=replace(pack.strip, weld_spots=spots))
    cells = in_rows(pack)
    laid = replace(strip(pack, cells, (0, 1, 2), Face.LOWER, StripKind.ROW), width_mm=width_mm)
    found = weld_spots(pack, cells, laid)
    assert found.shape == (3, spots, 2)
    off = found - cells.xy_mm[[0, 1, 2]][:, None]
    across, along = off[..., 1], off[..., 0]
    assert np.abs(across).max() <= max(width_mm / 2 - 1.0, 0.0) + 1e-9
    for one in across:
        assert one.sum() == pytest.approx(0.0, abs=1e-9)
        assert (np.abs(one) > 0.1).sum() == (2 * (spots // 2) if width_mm > 2.3 else 0)
    reach = pack.holder.window_mm / 2 - 1.0
    assert np.hypot(along, across).max() <= reach + 0.7
    # from the strip's own ends, which lie over the first and the last cell
    x = found[..., 0]
    assert x.min() >= laid.start_mm[0] - 1e-9 and x.max() <= laid.end_mm[0] + 1e-9
    pairs = np.unique(along[1].round(6))
    assert pairs.sum() == pytest.approx(0.0, abs=1e-6)
    assert len(pairs) == -(-spots // 2)
    if len(pairs) > 1:
        assert np.ptp(np.diff(pairs)) < 1e-6 and pairs[-1] == pytest.approx(4.0)
