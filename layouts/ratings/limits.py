"""Continuous rating of a pack: the lowest of everything that the current passes."""

from __future__ import annotations

from dataclasses import dataclass, fields

from layouts.checks import Check
from layouts.ratings.given import above_zero, at_most, counted
from layouts.ratings.windows import string_volts

__all__ = ["CurrentLimits", "Ratings", "load_current_check", "load_peak_check", "rate"]

# What would raise the rating, by what limits it
REMEDY = {
    "cells": "more cells in parallel, or cells with a higher continuous rating",
    "links": "thicker or wider strips, more layers, copper, or the main leads connected elsewhere",
    "welds": "more weld spots per cell end",
    "wire": "a thicker wire (leads.wire_mm2)",
    "connector": "a connector for more current",
    "bms": "a board for more current (bms.continuous_a)",
    "fuse": "a larger fuse, and main leads rated for it",
    "heat": "more cells in parallel, or more surface for cooling",
}


@dataclass(frozen=True, kw_only=True, slots=True)
class CurrentLimits:
    """Pack current that each component carries continuously [A]; None: no limit, or not known.

    ``links_a``, ``welds_a``: the pack's current at which the first link or weld is at its own
    limit. ``fuse_a``: the fuse's continuous current, not its rating. ``heat_a``: from which cells
    or plastic become too hot."""

    cells_a: float
    links_a: float | None = None
    welds_a: float | None = None
    wire_a: float | None = None
    connector_a: float | None = None
    bms_a: float | None = None
    fuse_a: float | None = None
    heat_a: float | None = None

    @property
    def known(self) -> dict[str, float]:
        """What limits and at how many amps, in the order of the fields."""
        every = {field.name.removesuffix("_a"): getattr(self, field.name) for field in fields(self)}
        return {name: float(value) for name, value in every.items() if value is not None}


@dataclass(frozen=True, kw_only=True, slots=True)
class Ratings:
    """What the pack is rated for.

    ``pack_continuous_a``: the least of ``limits``, ``limited_by`` its name (the first of equal
    ones). ``demand_a``, ``peak_a``: load demand; None without one. ``cells_peak_a``: peak rating of
    the cells; None where their data sheet gives none. Volts are those of the pack at rest."""

    limits: CurrentLimits
    pack_continuous_a: float
    limited_by: str
    demand_a: float | None
    peak_a: float | None
    cells_peak_a: float | None
    capacity_ah: float
    energy_wh: float
    empty_v: float
    nominal_v: float
    full_v: float

    @property
    def cells_a(self) -> float:
        """Current of all cells by their own rating."""
        return self.limits.cells_a

    @property
    def reference_a(self) -> float:
        """Current at which losses and heat are given: the load demand, else the continuous one."""
        return self.pack_continuous_a if self.demand_a is None else self.demand_a


def rate(
    *,
    series: int,
    parallel: int,
    capacity_ah: float,
    continuous_a: float,
    empty_v: float,
    nominal_v: float,
    full_v: float,
    cell_peak_a: float | None = None,
    links_a: float | None = None,
    welds_a: float | None = None,
    wire_a: float | None = None,
    connector_a: float | None = None,
    bms_a: float | None = None,
    fuse_a: float | None = None,
    heat_a: float | None = None,
    demand_a: float | None = None,
    peak_a: float | None = None,
) -> Ratings:
    """Ratings of a pack from one cell's data and what else limits the current.

    Ah: P cells; Wh at nominal volts. Raises ValueError for values not above zero, PlanError
    for volts that don't rise from empty to full.
    """
    counted(parallel, "parallel")
    volts = string_volts(series=series, empty_v=empty_v, nominal_v=nominal_v, full_v=full_v)
    limits = CurrentLimits(
        cells_a=parallel * above_zero(continuous_a, "continuous_a"),
        links_a=links_a,
        welds_a=welds_a,
        wire_a=wire_a,
        connector_a=connector_a,
        bms_a=bms_a,
        fuse_a=fuse_a,
        heat_a=heat_a,
    )
    for name, value in limits.known.items():
        above_zero(value, f"{name}_a")
    limited_by = min(limits.known, key=lambda name: limits.known[name])
    charge = parallel * above_zero(capacity_ah, "capacity_ah")
    peak = None if cell_peak_a is None else parallel * above_zero(cell_peak_a, "cell_peak_a")
    return Ratings(
        limits=limits,
        pack_continuous_a=limits.known[limited_by],
        limited_by=limited_by,
        demand_a=demand_a if demand_a is None else above_zero(demand_a, "demand_a"),
        peak_a=peak_a if peak_a is None else above_zero(peak_a, "peak_a"),
        cells_peak_a=peak,
        capacity_ah=charge,
        energy_wh=charge * volts.nominal_v,
        empty_v=volts.empty_v,
        nominal_v=volts.nominal_v,
        full_v=volts.full_v,
    )


def load_current_check(ratings: Ratings) -> Check | None:
    """The continuous rating covers the load; None without a load."""
    if ratings.demand_a is None:
        return None
    by = ratings.limited_by
    return Check(
        id="load_current_a",
        about=f"continuous rating covers the load (limited by: {by})",
        holds=at_most(ratings.demand_a, ratings.pack_continuous_a),
        value=ratings.demand_a,
        limit=ratings.pack_continuous_a,
        unit="A",
        source="the lowest of cells, links, welds, wire, connector, BMS, fuse and heat",
        remedy=f"{REMEDY[by]}; or less load",
        at_least=False,
        where=by,
    )


def load_peak_check(
    ratings: Ratings, *, peak_s: float | None = None, cell_peak_s: float | None = None
) -> Check | None:
    """The cells' peak rating covers the peak load and its duration; None without a peak.

    A peak longer than the data sheet allows, or of cells without one, counts as continuous.
    """
    if ratings.peak_a is None:
        return None
    told = ratings.cells_peak_a
    short = peak_s is None or cell_peak_s is None or at_most(peak_s, cell_peak_s)
    limit = told if told is not None and short else ratings.cells_a
    if told is None:
        why = "no peak current in the cell's data: its continuous current applies"
    elif not short:
        why = (
            f"{peak_s:g} s is longer than the cells' {cell_peak_s:g} s: the continuous current "
            "applies"
        )
    else:
        why = "the cell's peak current"
    return Check(
        id="load_peak_a",
        about=f"peak rating of the cells covers the peak load ({why})",
        holds=at_most(ratings.peak_a, limit),
        value=ratings.peak_a,
        limit=limit,
        unit="A",
        source="the cell's data sheet",
        remedy=(
            "more cells in parallel, cells with a higher peak rating, or a lower or shorter peak"
        ),
        at_least=False,
    )
