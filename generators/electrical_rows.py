"""The electrical side in result.json: ratings, losses, currents of cells and links, heat."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from layouts.currents.shapes import shape_sharing
from layouts.electrical.flows import Losses
from layouts.electrical.values import Electrical
from layouts.pack import Pack
from layouts.strips.joining import Interconnect

__all__ = ["cell_rows", "electrical_row", "link_rows", "thermal_row"]

Plain = Callable[[Any], Any]  # the result's own way to make values of JSON's kinds
DIGITS = 12  # of watts and amps: milliwatts of single links add up to the whole


def _fine(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")


def electrical_row(pack: Pack, of: Electrical, plain: Plain) -> dict[str, Any]:
    """Ratings and losses of the whole pack; ``at`` says at which current losses are given.

    What was not required or isn't known is left out."""
    limits = of.ratings.limits
    limits_a = {
        name: getattr(limits, f"{name}_a")
        for name in ("cells", "links", "welds", "wire", "connector", "bms", "fuse", "heat")
    }
    row = _known(_ratings_row(of) | _losses_at_row(of), plain) | {
        "limits_a": _known(limits_a, plain),
        "continuous": _losses_row(of.continuous),
        "peak": None if of.peak is None else _losses_row(of.peak),
        "charge": _losses_row(of.charge) | {"charger_given": of.charging.charger_given},
        "strip_limit": plain(of.strip_limit),
        "strip_rise": plain(of.strip_rise),
        "cell_fuse": plain(of.cell_fuses),
        "taps": {
            "awg": of.balance_leads.awg,
            "fused": pack.taps.fused,
            "fuse_a": of.balance_leads.choice.fuse.rating_a,
            "melts_a": plain(of.balance_leads.melts_a),
        },
        "asked_load": plain(of.machine.asked),
        "precharge": plain(of.machine.precharge),
        "run_time": plain(of.machine.run),
        "machine": plain(of.machine.driven),
        "cycle": plain(of.cycle),
        "regeneration": plain(of.charging.back),
        "landings": plain(of.landings),
        "shapes_at_best": plain(_shapes(pack)),
        "advice": list(of.advice),
    }
    return {name: value for name, value in row.items() if value is not None}


def _ratings_row(of: Electrical) -> dict[str, Any]:
    """Ratings of the pack, and its load demand."""
    ratings = of.ratings
    return {
        "empty_v": ratings.empty_v,
        "nominal_v": ratings.nominal_v,
        "full_v": ratings.full_v,
        "capacity_ah": ratings.capacity_ah,
        "energy_wh": ratings.energy_wh,
        "cells_a": ratings.cells_a,
        "pack_continuous_a": ratings.pack_continuous_a,
        "limited_by": ratings.limited_by,
        "asked_a": ratings.demand_a,
        "peak_a": ratings.peak_a,
        "cells_peak_a": ratings.cells_peak_a,
        "first_cell_a": of.first_cell_a,
    }


def _losses_at_row(of: Electrical) -> dict[str, Any]:
    """Resistances, short circuit, fuse, wire and losses at the given current."""
    at = of.reference
    return {
        "at": of.at,
        "at_a": at.load_a,
        "resistance_mohm": of.shares.ohm * 1000.0,
        "wire_mohm": of.leads.ohm * 1000.0,
        "short_circuit_a": of.fuse_protection.short.current_a,
        "short_circuit_assumed": of.fuse_protection.short.assumed,
        "least_fault_a": of.fuse_protection.least.current_a,
        "fuse_a": of.fuse_protection.fuse.rating_a,
        "fuse_dc_v": of.fuse_protection.fuse.dc_v,
        "fuse_breaking_a": of.fuse_protection.fuse.breaking_a,
        "fuse_given": of.fuse_protection.given,
        "fuse_reason": of.fuse_protection.reason,
        "fuse_needs": of.fuse_protection.needs,
        "charge_fuse_a": None if of.charging.fuse is None else of.charging.fuse.fuse.rating_a,
        "charge_wire_a": of.charging.wire_a,
        "wire_mm2": of.leads.area_mm2,
        "wire_awg": of.leads.awg,
        "wire_a": of.leads.continuous_rating_a,
        "wire_table": of.leads.table,
        "spread_ratio": of.shares.spread_ratio,
        "hottest_link_a": at.most_link_a,
        "lost_v": at.lost_v,
        "lost_w": at.lost_w,
        "cell_loss_w": at.cell_w,
        "strip_loss_w": at.strip_w,
        "weld_loss_w": at.weld_w,
        "tail_loss_w": at.tail_w,
    }


def _known(row: dict[str, Any], plain: Plain) -> dict[str, Any]:
    """The entries that have a value, floats with all their digits."""
    return {
        name: _fine(value) if isinstance(value, float) else plain(value)
        for name, value in row.items()
        if value is not None
    }


def _shapes(pack: Pack) -> dict[str, Any]:
    """What whole rows and zigzag columns of groups could do at best."""
    shapes = shape_sharing(pack)
    return {"whole_rows": shapes.rows, "zigzag_columns": shapes.zigzag}


def _losses_row(lost: Losses) -> dict[str, Any]:
    return {
        "load_a": _fine(lost.load_a),
        "lost_v": _fine(lost.lost_v),
        "lost_w": _fine(lost.lost_w),
        "strip_loss_w": _fine(lost.strip_w),
        "weld_loss_w": _fine(lost.weld_w),
        "hottest_link_a": _fine(lost.most_link_a),
        "most_cell_a": _fine(lost.most_cell_a),
    }


def thermal_row(of: Electrical, plain: Plain) -> dict[str, Any]:
    """Heat at the same current as the losses: steady state, and when the pack has run empty.

    ``watts_in`` is what is made inside, ``watts_out`` what leaves at these temperatures.
    """
    heat = of.heat
    steady, empty = heat.steady, heat.empty
    ambient = float(steady.cell_c.max()) - steady.rise_k
    return {
        "at": of.at,
        "at_a": plain(heat.load_a),
        "ambient_c": plain(ambient),
        "rise_k": plain(steady.rise_k),
        "hottest_c": plain(steady.hottest_c),
        "hottest_core_c": plain(float(steady.core_c.max())),
        "enclosure_c": plain(steady.enclosure_c),
        "outside_c": plain(steady.outside_c),
        "watts_in": _fine(steady.watts_in),
        "watts_out": _fine(steady.watts_out),
        "bms_w": _fine(of.inside_heat.bms_ohm * heat.load_a**2),
        "fuse_w": _fine(of.inside_heat.fuse_ohm * heat.load_a**2),
        "leads_w": _fine(of.inside_heat.leads_ohm * heat.load_a**2),
        "empty": {
            "after_s": plain(empty.seconds),
            "hottest_c": plain(empty.hottest_c),
            "rise_k": plain(empty.hottest_c - ambient),
        },
        "continuous": {
            "at_a": _fine(of.ratings.pack_continuous_a),
            "rise_k": plain(of.heat_continuous.rise_k),
            "hottest_c": plain(of.heat_continuous.hottest_c),
            "watts_out": _fine(of.heat_continuous.watts_out),
        },
        "limit_c": plain(heat.limits.lowest_c),
        "limited_by": heat.limits.named,
        "for_ever_a": plain(heat.continuous.amps),
        "until_empty_a": plain(heat.discharge.amps),
        "how_good": heat.how_good,
        **_known(
            {
                "to_limit_s": heat.to_limit_s,
                "peak_to_limit_s": heat.peak_to_limit_s,
                "warm_peak_to_limit_s": heat.warm_peak_to_limit_s,
            },
            plain,
        ),
    }


def cell_rows(of: Electrical, plain: Plain) -> list[dict[str, Any]]:
    """What each cell does at that current: its amps, steady can, and can when it has run empty."""
    return [
        {"current_a": _fine(a), "temperature_c": steady, "temperature_empty_c": empty}
        for a, steady, empty in zip(
            of.cell_a.tolist(), plain(of.heat.steady.cell_c), plain(of.empty_c), strict=True
        )
    ]


def link_rows(interconnect: Interconnect, of: Electrical) -> list[list[dict[str, Any]]]:
    """Links of each strip or plate, in their order: amps from the first cell on, watts."""
    flows = iter(zip(of.link_a.tolist(), of.link_w.tolist(), strict=True))
    laid = [
        *(strip.links for strip in interconnect.strips),
        *(plate.conducts.pairs.tolist() for plate in interconnect.plates),
    ]
    return [
        [
            {"cells": [int(i), int(j)], "current_a": _fine(amps), "loss_w": _fine(watts)}
            for (i, j), (amps, watts) in zip(links, flows, strict=False)
        ]
        for links in laid
    ]
