"""Heights of pockets' mouths: with and without a lead-in, and with a barrier's groove."""

from __future__ import annotations

import numpy as np
import pytest

from layouts.holders.levels import holder_heights
from tests.holder_samples import sample_tile

GROOVE = np.zeros((1, 4, 2))


def test_a_pocket_without_a_lead_in_is_open_at_its_top() -> None:
    """Its mouth lies at the top; with one it lies as far below as that is deep."""
    plain = holder_heights(sample_tile(lead_in_mm=0.0))
    assert plain.mouth_mm == plain.top_mm
    wide = holder_heights(sample_tile(lead_in_mm=0.5, lead_in_deep_mm=0.8))
    assert wide.top_mm - wide.mouth_mm == pytest.approx(0.8)


def test_a_lead_in_may_be_as_deep_as_a_groove() -> None:
    """Grooves are 1 mm deep: a lead-in of just that is fine, a deeper one is refused."""
    same = holder_heights(sample_tile(lead_in_mm=0.5, lead_in_deep_mm=1.0, grooves=GROOVE))
    assert same.groove_mm == pytest.approx(same.mouth_mm)
    with pytest.raises(ValueError, match="barrier's groove"):
        holder_heights(sample_tile(lead_in_mm=0.5, lead_in_deep_mm=1.1, grooves=GROOVE))
