"""Cells as measured, which of them are rejected, and which are left over."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["LotBands", "MeasuredLot", "Rejected", "most_capacity", "rejected_cells"]

NOISE = 1e-9  # relative: a value on the limit is not beyond it


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class MeasuredLot:
    """Cells in the order of their list, n of them.

    ``capacity_ah``, ``resistance_mohm``, ``rested_v`` (n,). ``direct_current``: how resistance
    was measured; False: at 1 kHz."""

    labels: tuple[str, ...]
    capacity_ah: NDArray[np.float64]
    resistance_mohm: NDArray[np.float64]
    rested_v: NDArray[np.float64]
    direct_current: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class LotBands:
    """How far a cell may be from the median of the lot.

    All three: common practice, no source. Of capacity only what lacks counts; volts count both
    ways, since a cell above the others was not charged or rested like them."""

    capacity_below_ratio: float = 0.10
    resistance_off_ratio: float = 0.10
    volts_off_v: float = 0.020


@dataclass(frozen=True, kw_only=True, slots=True)
class Rejected:
    """A cell by its place in the list, and why it is not built in; each reason in words."""

    cell: int
    reasons: tuple[str, ...]


def rejected_cells(lot: MeasuredLot, bands: LotBands, *, empty_v: float) -> tuple[Rejected, ...]:
    """Cells outside of the bands round the medians, or below ``empty_v``, in the list's order."""
    if not lot.labels:
        return ()
    medians = [float(np.median(v)) for v in (lot.capacity_ah, lot.resistance_mohm, lot.rested_v)]
    found = []
    for cell in range(len(lot.labels)):
        reasons = (
            _capacity_reason(float(lot.capacity_ah[cell]), medians[0], bands),
            _resistance_reason(float(lot.resistance_mohm[cell]), medians[1], bands),
            _volts_reason(float(lot.rested_v[cell]), medians[2], bands, empty_v),
        )
        if any(reasons):
            found.append(Rejected(cell=cell, reasons=tuple(filter(None, reasons))))
    return tuple(found)


def _capacity_reason(ah: float, median: float, bands: LotBands) -> str:
    below = 1.0 - ah / median
    if below <= bands.capacity_below_ratio + NOISE:
        return ""
    return f"capacity {ah:.3f} Ah is {100 * below:.1f} % below the median of {median:.3f}: worn"


def _resistance_reason(mohm: float, median: float, bands: LotBands) -> str:
    off = mohm / median - 1.0
    if abs(off) <= bands.resistance_off_ratio + NOISE:
        return ""
    way, likely = (
        ("above", "worn, or poor contact") if off > 0 else ("below", "another kind of cell")
    )
    return (
        f"resistance {mohm:.2f} mohm is {100 * abs(off):.1f} % {way} the median of "
        f"{median:.2f}: {likely}"
    )


def _volts_reason(volts: float, median: float, bands: LotBands, empty_v: float) -> str:
    if volts < empty_v:
        return f"rested at {volts:.3f} V, below the cut-off voltage of {empty_v:g}: deep discharge"
    off = volts - median
    if abs(off) <= bands.volts_off_v + NOISE:
        return ""
    way, likely = ("below", "self-discharge") if off < 0 else ("above", "not rested like the rest")
    return f"rested at {volts:.3f} V, {1000 * abs(off):.0f} mV {way} the median: {likely}"


def most_capacity(
    lot: MeasuredLot, kept: NDArray[np.int64], count: int
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Of the cells ``kept`` the ``count`` with the most capacity, and the spare ones, each in the
    list's order; among equals the lower resistance, then the place in the list decides.

    Raises ValueError for fewer cells than ``count``."""
    if len(kept) < count:
        raise ValueError(f"{len(kept)} cells, {count} are needed")
    order = kept[np.lexsort((kept, lot.resistance_mohm[kept], -lot.capacity_ah[kept]))]
    return np.sort(order[:count]), np.sort(order[count:])
