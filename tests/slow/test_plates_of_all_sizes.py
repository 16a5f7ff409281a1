"""Plates of packs drawn at random from all sizes: every check of their joints holds."""

from __future__ import annotations

from itertools import product
from random import Random

import pytest

from tests.layouts.plates.joined import block_of, failing

SIZES = tuple(
    product(range(1, 15), range(1, 9), ("honeycomb", "grid"), ("18650", "21700", "26650", "32700"))
)
DRAWN = 40


@pytest.mark.slow
@pytest.mark.parametrize(
    ("series", "parallel", "lattice", "cell_format"), Random(0).sample(SIZES, DRAWN)
)
def test_joints_hold(series: int, parallel: int, lattice: str, cell_format: str) -> None:
    """One sheet a joint, straight strips for single strings; lip, gas, gaps, leads and posts."""
    block = block_of(series, parallel, lattice, cell_format)
    assert len(block.interconnect.plates) == (series + 1 if parallel > 1 else 0)
    assert failing(block) == []
