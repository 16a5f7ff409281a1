"""Rejected and spare cells. All cells are invented."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from layouts.sorting.lot import LotBands, MeasuredLot, most_capacity, rejected_cells

# median 4.8 Ah, 20 mohm, 3.6 V
SOUND = MeasuredLot(
    labels=tuple("abcdefg"),
    capacity_ah=np.full(7, 4.8),
    resistance_mohm=np.full(7, 20.0),
    rested_v=np.full(7, 3.6),
    direct_current=True,
)


def with_cell(**changed: float) -> MeasuredLot:
    """The lot with other values of its fourth cell."""
    lot = SOUND
    for name, value in changed.items():
        values = getattr(SOUND, name).copy()
        values[3] = value
        lot = replace(lot, **{name: values})
    return lot


@pytest.mark.parametrize(
    ("changed", "reason"),
    [
        ({"capacity_ah": 4.3}, "capacity 4.300 Ah is 10.4 % below the median of 4.800: worn"),
        ({"capacity_ah": 0.0}, "capacity 0.000 Ah is 100.0 % below the median of 4.800: worn"),
        ({"resistance_mohm": 22.5},
         "resistance 22.50 mohm is 12.5 % above the median of 20.00: worn, or poor contact"),
        ({"resistance_mohm": 17.5},
         "resistance 17.50 mohm is 12.5 % below the median of 20.00: another kind of cell"),
        ({"rested_v": 3.575}, "rested at 3.575 V, 25 mV below the median: self-discharge"),
        ({"rested_v": 3.625}, "rested at 3.625 V, 25 mV above the median: not rested like "
         "the rest"),
        ({"rested_v": 2.1}, "rested at 2.100 V, below the cut-off voltage of 2.8: deep discharge"),
    ],
)  # fmt: skip
def test_a_cell_outside_of_a_band_is_rejected(changed: dict[str, float], reason: str) -> None:
    """Each band with its reason."""
    (found,) = rejected_cells(with_cell(**changed), LotBands(), empty_v=2.8)
    assert (found.cell, found.reasons) == (3, (reason,))


@pytest.mark.parametrize(
    "changed",
    [
        {"capacity_ah": 4.32}, {"capacity_ah": 5.5}, {"resistance_mohm": 22.0},
        {"resistance_mohm": 18.0}, {"rested_v": 3.58}, {"rested_v": 3.62},
    ],
)  # fmt: skip
def test_a_cell_on_a_limit_is_kept(changed: dict[str, float]) -> None:
    """Also one with more capacity than all others: it harms nothing."""
    assert rejected_cells(with_cell(**changed), LotBands(), empty_v=2.8) == ()


def test_several_reasons_are_all_told() -> None:
    """And wider bands take the same cell."""
    lot = with_cell(capacity_ah=4.2, resistance_mohm=23.0, rested_v=3.57)
    (found,) = rejected_cells(lot, LotBands(), empty_v=2.8)
    assert len(found.reasons) == 3
    wide = LotBands(capacity_below_ratio=0.2, resistance_off_ratio=0.2, volts_off_v=0.05)
    assert rejected_cells(lot, wide, empty_v=2.8) == ()


def test_an_empty_lot_rejects_nothing() -> None:
    """No cell, no median."""
    none = np.zeros(0)
    empty = replace(SOUND, labels=(), capacity_ah=none, resistance_mohm=none, rested_v=none)
    assert rejected_cells(empty, LotBands(), empty_v=2.8) == ()


def test_the_cells_with_the_most_capacity_are_used() -> None:
    """Among equals the lower resistance, then the place in the list; kept ones only."""
    lot = replace(
        SOUND,
        capacity_ah=np.array([4.8, 4.9, 4.7, 4.8, 4.8, 5.0, 4.6]),
        resistance_mohm=np.array([20.0, 20.0, 20.0, 19.0, 20.0, 20.0, 20.0]),
    )
    used, spare = most_capacity(lot, np.array([0, 1, 2, 3, 4, 6]), 3)
    assert used.tolist() == [0, 1, 3]
    assert spare.tolist() == [2, 4, 6]
    with pytest.raises(ValueError, match="6 cells, 7 are needed"):
        most_capacity(lot, np.array([0, 1, 2, 3, 4, 6]), 7)
