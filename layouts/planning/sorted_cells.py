"""Measured cells sorted for one pack: into its groups, and onto the sites of its plan."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.currents.strips import strip_network
from layouts.electrical.flows import shares
from layouts.pack import MeasuredCells, Pack
from layouts.placing.values import Effort
from layouts.planning.candidates import candidates_of, pack_with
from layouts.planning.steps import CellPlan, interconnected, laid_out
from layouts.ratings.short_circuit import alternating_resistance
from layouts.sorting.even_groups import even_groups
from layouts.sorting.lot import MeasuredLot, most_capacity
from layouts.sorting.places import on_sites
from layouts.sorting.spread import GroupSpread, mean_of_random, spread_of

__all__ = ["CurrentSpread", "SortedCells", "direct_mohm", "measured_cells", "sort_cells"]

# Strips of larger packs take longer to lay than all the rest; their sites follow the list
MOST_SOLVED = 1_000


@dataclass(frozen=True, kw_only=True, slots=True)
class CurrentSpread:
    """(largest - smallest) / mean current within the worst group, by the strips as laid.

    ``alike``: with cells that are all alike; ``listed``: with the cells as they came;
    ``sorted``: as they are sorted."""

    alike: float
    listed: float
    sorted: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SortedCells:
    """Every site's cell, and how even that is.

    ``cell`` (N,): the cell of each site, by its place in the lot; ``spare``: those left over.
    ``listed``: S x P cells in the order of the list; ``random``: mean of random orders of the
    cells used; ``sorted``: what was found. ``currents``: None above ``MOST_SOLVED`` cells."""

    cell_layout: CellLayout
    cell: NDArray[np.int64]
    spare: NDArray[np.int64]
    listed: GroupSpread
    random: GroupSpread
    sorted: GroupSpread
    currents: CurrentSpread | None


def direct_mohm(pack: Pack, lot: MeasuredLot) -> NDArray[np.float64]:
    """(n,) direct-current resistance of each cell: what was measured at 1 kHz times the ratio of
    the two that the pack file has, or assumes, for its cell."""
    if lot.direct_current:
        return lot.resistance_mohm
    dc = pack.cell.internal_resistance_mohm
    ac = alternating_resistance(ac_mohm=pack.cell.ac_resistance_mohm, dc_mohm=dc)
    return lot.resistance_mohm * (dc / ac.mohm)


def sort_cells(
    pack: Pack, lot: MeasuredLot, kept: NDArray[np.int64], *, effort: Effort = Effort.BEST
) -> SortedCells:
    """Sort the cells ``kept`` of a lot, by their places in it, for a pack.

    Those with the most capacity are used. Raises ValueError where they are fewer than S x P,
    PlanError where the pack's cells have no places."""
    series, parallel = pack.series, pack.parallel
    count = series * parallel
    used, spare = most_capacity(lot, kept, count)
    # one candidate today; once there are several, what stands round the cells decides too
    (candidate,) = candidates_of(pack)
    plan = laid_out(pack_with(pack, candidate), effort=effort, shape=candidate.layout)
    ah, mohm = lot.capacity_ah, lot.resistance_mohm
    groups = used[even_groups(ah[used], mohm[used], series=series, parallel=parallel)]
    listed = kept[:count].reshape(series, parallel)
    cell, currents = _onto_sites(plan, groups, listed, direct_mohm(pack, lot))
    return SortedCells(
        cell_layout=plan.cell_layout,
        cell=cell,
        spare=spare,
        listed=spread_of(listed, ah, mohm),
        random=mean_of_random(used, ah, mohm, series=series, parallel=parallel),
        sorted=spread_of(groups, ah, mohm),
        currents=currents,
    )


def _onto_sites(
    plan: CellPlan,
    groups: NDArray[np.int64],
    listed: NDArray[np.int64],
    mohm: NDArray[np.float64],
) -> tuple[NDArray[np.int64], CurrentSpread | None]:
    """The cell of each site: by the currents that strips bring to each, or as listed where that
    is no worse; ``mohm`` (n,) for direct current."""
    in_order = np.sort(groups, axis=1).ravel()
    if groups.size > MOST_SOLVED:
        return in_order, None
    laid = interconnected(plan)

    def shared(cell_mohm: float | NDArray[np.float64]) -> tuple[NDArray[np.float64], float]:
        network = strip_network(laid.pack, laid.cell_layout, laid.interconnect, cell_mohm=cell_mohm)
        of = shares(network, laid.cell_layout.group)
        return of.cell, of.spread_ratio

    share, alike = shared(float(mohm[groups].mean()))
    placed = on_sites(groups, mohm, share)
    ratio, cell = min(
        ((shared(mohm[cells])[1], cells) for cells in (placed, in_order)), key=lambda one: one[0]
    )
    spread = CurrentSpread(alike=alike, listed=shared(mohm[listed.ravel()])[1], sorted=ratio)
    return cell, spread


def measured_cells(pack: Pack, lot: MeasuredLot, found: SortedCells) -> MeasuredCells:
    """What a plan reads of sorted cells, in the order of its sites."""
    cell, mohm = found.cell.tolist(), direct_mohm(pack, lot)
    return MeasuredCells(
        labels=tuple(lot.labels[k] for k in cell),
        xy_mm=tuple((x, y) for x, y in found.cell_layout.xy_mm.tolist()),
        capacity_ah=tuple(lot.capacity_ah[cell].tolist()),
        resistance_mohm=tuple(mohm[cell].tolist()),
    )
