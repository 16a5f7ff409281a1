"""Measured cells in the electrical plan: each with its own resistance, the smallest group's charge.

Formulas of a whole pack take one cell for all: here it becomes the one that the measured cells
amount to. The network and the cells' heat take each cell's own resistance
(``Pack.each_cell_mohm``)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from layouts.pack import Pack
from layouts.ratings.short_circuit import AlternatingResistance

__all__ = ["alternating_mohm", "as_measured", "measured_words"]


def as_measured(pack: Pack) -> Pack:
    """The pack with the cell that its measured cells amount to; the pack itself without any.

    Capacity: the smallest group's, over P, since that group ends the discharge. Resistance: S
    groups of P such cells have that of the measured ones, P/S times the sum over groups of
    1 / sum(1/R); that at 1 kHz, where given, changes in proportion."""
    measured = pack.measured_cells
    if measured is None:
        return pack
    series, parallel, cell = pack.series, pack.parallel, pack.cell
    siemens = (1.0 / np.reshape(measured.resistance_mohm, (series, parallel))).sum(axis=1)
    mohm = float((1.0 / siemens).sum()) * parallel / series
    ac = cell.ac_resistance_mohm
    return replace(
        pack,
        cell=replace(
            cell,
            capacity_ah=min(_group_ah(pack)) / parallel,
            internal_resistance_mohm=mohm,
            ac_resistance_mohm=None if ac is None else ac * mohm / cell.internal_resistance_mohm,
        ),
    )


def alternating_mohm(pack: Pack, resistance: AlternatingResistance) -> float | NDArray[np.float64]:
    """The cells' resistance at 1 kHz, one for all or (N,); ``pack`` as ``as_measured`` gives it."""
    if pack.measured_cells is None:
        return resistance.mohm
    return pack.each_cell_mohm * (resistance.mohm / pack.cell.internal_resistance_mohm)


def measured_words(pack: Pack) -> tuple[str, ...]:
    """That measured values were used; nothing where there are none."""
    if pack.measured_cells is None:
        return ()
    totals = _group_ah(pack)
    return (
        f"Currents, heat and capacity follow from the measured cells: groups of {min(totals):.3f} "
        f"to {max(totals):.3f} Ah, of which the smallest ends the discharge.",
    )


def _group_ah(pack: Pack) -> list[float]:
    assert pack.measured_cells is not None  # asked before
    table = np.reshape(pack.measured_cells.capacity_ah, (pack.series, pack.parallel))
    totals: list[float] = table.sum(axis=1).tolist()
    return totals
