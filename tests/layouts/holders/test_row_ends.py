"""Which cells of a large pack are numbered, whatever the order in which they are listed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layouts.holders.design import number_cells
from tests.layouts.hand_made import in_rows
from tests.samples import sample_pack


@pytest.mark.parametrize("rows", [1, 2])
def test_both_ends_of_every_row_of_a_group_are_numbered(rows: int) -> None:
    """Above 200 cells; with fewer all are."""
    whole = in_rows(sample_pack(11, 20), rows)
    mixed = np.random.default_rng(5).permutation(len(whole.xy_mm))
    shuffled = replace(
        whole, xy_mm=whole.xy_mm[mixed], sites=whole.sites[mixed], group=whole.group[mixed]
    )
    wanted = set()
    for group, row in {(g, y) for g, y in zip(shuffled.group, shuffled.sites[:, 1], strict=True)}:
        of_row = np.flatnonzero((shuffled.group == group) & (shuffled.sites[:, 1] == row))
        x = shuffled.xy_mm[of_row, 0]
        wanted |= {int(of_row[x.argmin()]), int(of_row[x.argmax()])}
    assert set(np.flatnonzero(number_cells(shuffled)).tolist()) == wanted
    assert len(wanted) == 2 * 11 * rows
    assert number_cells(in_rows(sample_pack(10, 20))).all()
