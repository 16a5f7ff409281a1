"""Whether the second holder goes on by hand, over all cells at once: its chance, the clearance that
raises it, and what else does."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.pack import Cell, Pack
from layouts.printer_spec import Printer, PrintSpread
from layouts.printing.stack import (
    FitSpread,
    TileJoints,
    chance_of,
    clearance_for,
    clearances_needed_mm,
    farthest_mm,
    rss_clearance_mm,
    worst_clearance_mm,
)

__all__ = [
    "ENOUGH",
    "SURE",
    "WIDEST_CLEARANCE_MM",
    "FitCase",
    "HolderFit",
    "fit_spread",
    "holder_fit",
    "needed_mm",
    "second_holder_check",
    "tiles_radius_mm",
]

WIDEST_CLEARANCE_MM = 1.0  # that the pack file permits
ENOUGH = 0.95  # chance below which a pack fails: judged
SURE = 0.99  # chance that a clearance is recommended for: judged
CELLS_DRAWN = 400_000  # of all trials of a check: a fraction of a second
TRIALS = 2_000, 10_000  # fewest and most of them
CASE_TRIALS = 4_000  # for a table: within 0.8 % of a chance
TABLE_MM = 0.05  # steps of clearance in the table
TABLE_ROWS = 5
# Errors that a printer which was never measured may have; judged
UNDER_MM, TURNED, OUT_OF_SQUARE, SCALE_TWICE = 0.15, 0.002, 0.001, 2.0


@dataclass(frozen=True, kw_only=True, slots=True)
class FitCase:
    """The same holders under another condition; ``clearance_mm``: recommended then."""

    what: str
    chance: float
    clearance_mm: float


@dataclass(frozen=True, kw_only=True, slots=True)
class HolderFit:
    """``chance``, 0 to 1, at the pockets' ``clearance_mm``; ``recommended_mm``: clearance for a
    chance of ``SURE``; ``rss_mm``, ``worst_mm``: by formula, of the largest piece, whose farthest
    cell lies ``radius_mm`` off its middle. ``by_clearance``: (clearance, chance)."""

    clearance_mm: float
    chance: float
    recommended_mm: float
    rss_mm: float
    worst_mm: float
    radius_mm: float
    cells: int
    tiles: int
    measured: tuple[str, ...]
    by_clearance: tuple[tuple[float, float], ...]
    cases: tuple[FitCase, ...]


def fit_spread(spread: PrintSpread, cell: Cell) -> FitSpread:
    """Spreads of the pack file, percent as ratios."""
    return FitSpread(
        scale=spread.scale_percent / 100.0,
        skew=spread.skew_percent / 100.0,
        place_mm=spread.place_mm,
        pocket_mm=spread.pocket_mm,
        can_mm=cell.diameter_spread_mm,
        can_below_mm=cell.mean_below_mm,
        out_of_square=spread.out_of_square_percent / 100.0,
    )


def needed_mm(
    pack: Pack,
    cell_layout: CellLayout,
    *,
    spread: FitSpread | None = None,
    trials: int | None = None,
) -> NDArray[np.float64]:
    """(trials,) clearance that each drawn pair of holders needs; None: spreads of the pack file,
    and as many trials as a check draws."""
    xy = cell_layout.xy_mm
    least, most = TRIALS
    return clearances_needed_mm(
        xy,
        fit_spread(pack.printer.spread, pack.cell) if spread is None else spread,
        trials=min(max(CELLS_DRAWN // len(xy), least), most) if trials is None else trials,
        tile=cell_layout.tile,
        joints=_joints(cell_layout),
    )


def tiles_radius_mm(cell_layout: CellLayout) -> float:
    """Distance of the farthest cell from the middle of its holder, or of its tile of one."""
    tile = cell_layout.tile
    return max(farthest_mm(cell_layout.xy_mm[tile == one]) for one in range(int(tile.max()) + 1))


def holder_fit(pack: Pack, cell_layout: CellLayout) -> HolderFit:
    """All that the report tells of it."""
    now = pack.holder.clearance_mm
    needed = needed_mm(pack, cell_layout)
    spread = fit_spread(pack.printer.spread, pack.cell)
    radius = tiles_radius_mm(cell_layout)
    middle = TABLE_ROWS // 2
    rows = [round(now + TABLE_MM * (k - middle), 3) for k in range(TABLE_ROWS)]
    return HolderFit(
        clearance_mm=now,
        chance=chance_of(needed, now),
        recommended_mm=clearance_for(needed, SURE),
        rss_mm=rss_clearance_mm(radius, spread),
        worst_mm=worst_clearance_mm(radius, spread),
        radius_mm=radius,
        cells=len(cell_layout.xy_mm),
        tiles=int(cell_layout.tile.max()) + 1,
        measured=pack.printer.spread.measured,
        by_clearance=tuple((one, chance_of(needed, one)) for one in rows if one > 0.0),
        cases=tuple(
            _case(pack, cell_layout, what, changed)
            for what, changed in _other_cases(pack.printer, spread)
        ),
    )


def _other_cases(printer: Printer, spread: FitSpread) -> tuple[tuple[str, FitSpread], ...]:
    """What lowers the chance where it is not known of a printer, most frequent first. Where the
    pack file tells how small its holes come out, the files to print are drawn for that."""
    under, why = UNDER_MM, "as printed holes do that were neither measured nor compensated"
    if printer.hole_mm > 0.0:
        under, why = (
            printer.hole_mm,
            "as on this printer from STEP files, which are not drawn for it",
        )
    x, y, _ = printer.shrink_percent
    turned = TURNED if x == y else abs(x - y) / 100.0
    return (
        (f"pockets come out {under:g} mm too small, {why}", replace(spread, under_mm=under)),
        (
            f"the holders lie a quarter turn apart on the bed, x and y {100 * turned:g} % apart in "
            "scale",
            replace(spread, turned=turned),
        ),
        (
            f"the printer is {100 * OUT_OF_SQUARE:g} % out of square (1 mm in a metre): one holder "
            "is turned over, so it counts twice",
            replace(spread, out_of_square=spread.out_of_square + OUT_OF_SQUARE),
        ),
        (
            "two prints differ twice as much in scale, as after a change of filament or of "
            "temperature",
            replace(spread, scale=spread.scale * SCALE_TWICE),
        ),
    )


def _case(pack: Pack, cell_layout: CellLayout, what: str, spread: FitSpread) -> FitCase:
    trials = min(max(CELLS_DRAWN // len(cell_layout.xy_mm), TRIALS[0]), CASE_TRIALS)
    needed = needed_mm(pack, cell_layout, spread=spread, trials=trials)
    return FitCase(
        what=what,
        chance=chance_of(needed, pack.holder.clearance_mm),
        clearance_mm=clearance_for(needed, SURE),
    )


def second_holder_check(pack: Pack, cell_layout: CellLayout) -> Check:
    """The chance, against ``ENOUGH``."""
    needed = needed_mm(pack, cell_layout)
    chance = chance_of(needed, pack.holder.clearance_mm)
    holds = chance >= ENOUGH
    wanted = clearance_for(needed, SURE)
    return Check(
        id="second_holder_goes_on",
        about="chance that the second holder goes on by hand, over all cells at once",
        holds=holds,
        value=100.0 * chance,
        limit=100.0 * ENOUGH,
        unit="%",
        source="tolerance stack by chance; limit and spreads judged where not measured",
        remedy="" if holds else _remedy(wanted),
        where=f"{len(cell_layout.xy_mm)} cells, clearance {pack.holder.clearance_mm:g} mm",
    )


def _remedy(wanted_mm: float) -> str:
    if wanted_mm <= WIDEST_CLEARANCE_MM:
        return f"holder.clearance_mm {wanted_mm:.2f} or more"
    return (
        f"prints that differ less: no clearance up to {WIDEST_CLEARANCE_MM:g} does; print both "
        "holders one after the other, the same way round"
    )


def _joints(cell_layout: CellLayout) -> TileJoints | None:
    """Where neighbouring tiles are joined: at both ends of each seam, the worst places."""
    pairs, tile, xy = cell_layout.neighbours, cell_layout.tile, cell_layout.xy_mm
    if not tile.any():
        return None
    across = pairs[tile[pairs[:, 0]] != tile[pairs[:, 1]]]
    both = np.sort(tile[across], axis=1)
    middles = xy[across].mean(axis=1)
    tiles, places = [], []
    for seam in np.unique(both, axis=0):
        on = middles[(both == seam).all(axis=1)]
        first = on[np.argmax(np.hypot(*(on - on.mean(axis=0)).T))]
        last = on[np.argmax(np.hypot(*(on - first).T))]
        tiles += [seam, seam]
        places += [first, last]
    return TileJoints(
        tiles=np.array(tiles), at_mm=np.array(places), play_mm=cell_layout.tile_play_mm
    )
