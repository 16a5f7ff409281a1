"""What lies open along the plastic: channels as wide as the strips and all of their play."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from layouts.pack import Face
from layouts.shorts.bare import channel_openings
from tests.layouts.enclosed import enclosed


@pytest.mark.parametrize("face", Face)
def test_a_channel_is_its_strip_and_half_its_play_on_each_side(face: Face) -> None:
    """Of strips that end within the holder; both ends too."""
    e = enclosed("5S1P")
    made = channel_openings(e.pack, e.cell_layout, e.interconnect, face, e.cell_block.outline)
    strips = [strip for strip in e.interconnect.strips if strip.face is face]
    play = e.pack.holder.channel_play_mm
    seen = 0
    for k, (strip, shape) in enumerate(zip(strips, made.shapes[: len(strips)], strict=True)):
        assert made.tile[k] == 0  # the one tile that there is
        if strip.runs_out:
            continue
        long = float(np.hypot(*(np.subtract(strip.end_mm, strip.start_mm))))
        assert shape.area == pytest.approx((long + play) * (strip.width_mm + play))
        assert shape.contains(shapely.Polygon(strip.outline_mm))
        seen += 1
    assert seen
