"""The report's electrical facts and its section on currents, fuse, wire and heat, from the plan."""

from __future__ import annotations

from generators.report.values import Table
from layouts.electrical.flows import Losses
from layouts.electrical.values import Electrical
from layouts.pack import Pack

__all__ = ["LIMITS", "electrical_facts", "electrical_tables"]

LIMITS = {
    "cells": "cells, continuous rating",
    "links": "strips",
    "welds": "welds",
    "wire": "main leads",
    "connector": "connector",
    "bms": "BMS",
    "fuse": "main fuse",
    "heat": "temperature, until the pack is empty",
}


def electrical_facts(of: Electrical) -> tuple[tuple[str, str], ...]:
    """Volts, charge and currents of the whole pack, name and value."""
    ratings = of.ratings
    volts = " / ".join(f"{v:.1f}" for v in (ratings.empty_v, ratings.nominal_v, ratings.full_v))
    asked = (
        () if ratings.demand_a is None else (("continuous, required", f"{ratings.demand_a:.1f} A"),)
    )
    return (
        ("voltage: cut-off / nominal / full charge", f"{volts} V"),
        ("capacity", f"{ratings.capacity_ah:.1f} Ah"),
        ("energy", f"{ratings.energy_wh:.0f} Wh"),
        *asked,
        (
            f"continuous, until empty (limited by {LIMITS[ratings.limited_by].split(',')[0]})",
            f"{ratings.pack_continuous_a:.1f} A",
        ),
        (
            "main fuse",
            f"{of.fuse_protection.fuse.rating_a:g} "
            f"A{'' if of.fuse_protection.given else ', proposed'}",
        ),
        ("prospective short-circuit current", f"{of.fuse_protection.short.current_a:.0f} A"),
    )


def electrical_tables(pack: Pack, of: Electrical) -> tuple[Table, ...]:
    """What limits the current, what is lost, fuse and wiring, main terminals, heat, run."""
    return (
        _limits(of),
        _currents(of),
        _protection(pack, of),
        *_landings(of),
        _heat(of),
        *_machine(of),
    )


def _limits(of: Electrical) -> Table:
    known = of.ratings.limits.known
    least = of.ratings.limited_by
    rows = [
        (words, f"{known[name]:.1f} A" if name in known else "not given or none",
         "lowest" if name == least else "")
        for name, words in LIMITS.items()
    ]  # fmt: skip
    return Table(
        title="Current rating until the pack is empty",
        headings=("limited by", "pack current", ""),
        rows=tuple(rows),
        note="The most loaded cell is at its own rating when the pack delivers "
        f"{of.first_cell_a:.1f} A. The steady-state thermal limit is "
        f"{of.heat.continuous.amps:.1f} A.",
    )


def _currents(of: Electrical) -> Table:
    cases = [(f"at {'load demand' if of.at == 'asked' else 'the continuous rating'}", of.reference)]
    if of.at == "asked":
        cases.append(("at the continuous rating", of.continuous))
    if of.peak is not None:
        cases.append(("at peak load", of.peak))
    charger = (
        "at the charger's current" if of.charging.charger_given else "at the cells' charge current"
    )
    cases.append((charger, of.charge))
    return Table(
        title="Currents and losses",
        headings=(
            "", "pack, A", "highest cell current, A", "highest link current, A",
            "highest weld current, A",
            "voltage drop", "cells, W", "strips, W", "welds and ends, W",
        ),
        rows=tuple(_loss_row(name, lost) for name, lost in cases),
        note=f"Between the main terminals {of.shares.ohm * 1000:.1f} "
             f"m\N{GREEK CAPITAL LETTER OMEGA} (direct current, strips at 20 "
             "\N{DEGREE SIGN}C); current imbalance within a group "
             f"{100 * of.shares.spread_ratio:.1f} % of the mean.{_rise(of)}",
    )  # fmt: skip


def _loss_row(name: str, lost: Losses) -> tuple[str, ...]:
    return (
        name,
        f"{lost.load_a:.1f}",
        f"{lost.most_cell_a:.2f}",
        f"{lost.most_link_a:.2f}",
        f"{lost.most_weld_a:.2f}",
        f"{lost.lost_v:.2f}",
        f"{lost.cell_w:.2f}",
        f"{lost.strip_w:.2f}",
        f"{lost.weld_w + lost.tail_w:.2f}",
    )


def _rise(of: Electrical) -> str:
    rise = of.strip_rise
    if rise is None:
        return ""
    return (
        f" Hottest strip: {rise.strip}, {rise.rise_k:.1f} K above the cans it is welded to "
        f"({rise.model})."
    )


def _protection(pack: Pack, of: Electrical) -> Table:
    fuse_protection, leads, balance_leads = of.fuse_protection, of.leads, of.balance_leads
    assumed = " (cells' 1 kHz resistance assumed)" if fuse_protection.short.assumed else ""
    why = "as given" if fuse_protection.given else fuse_protection.reason
    rows = [
        ("main fuse", f"{fuse_protection.fuse.rating_a:g} A", why),
        ("required", "", fuse_protection.needs),
        (
            "prospective short-circuit current at the pack",
            f"{fuse_protection.short.current_a:.0f} A",
            f"full charge{assumed}",
        ),
        (
            "minimum fault current",
            f"{fuse_protection.least.current_a:.0f} A",
            "empty, cold, at the far end of the leads",
        ),
        (
            "main leads",
            f"{leads.area_mm2:g} mm\N{SUPERSCRIPT TWO}, AWG {_gauge(leads.awg)}",
            f"rated {leads.continuous_rating_a:.1f} A at {leads.ambient_c:g} \N{DEGREE SIGN}C "
            f"({leads.source}); {leads.ohm * 1000:.1f} m\N{GREEK CAPITAL LETTER OMEGA} both "
            f"conductors; withstand the short circuit for {fuse_protection.withstands_s:.2g} s",
        ),
        (
            "balance leads",
            f"AWG {balance_leads.awg}",
            f"each with a {balance_leads.choice.fuse.rating_a:g} A fuse at its source end"
            + (" (given)" if pack.taps.fused else ", not stated to be fitted"),
        ),
    ]
    if of.charging.fuse is not None:
        fuse = of.charging.fuse
        rows.append(("charge port fuse", f"{fuse.fuse.rating_a:g} A", fuse.reason))
    return Table(
        title="Fuse and wiring", headings=("what", "size", "why"), rows=tuple(rows), note=""
    )


def _gauge(awg: int) -> str:
    return f"{1 - awg}/0" if awg <= 0 else f"{awg}"


def _landings(of: Electrical) -> tuple[Table, ...]:
    if len(of.landings) == 1:
        return ()
    return (
        Table(
            title="Main terminal options compared",
            headings=(
                "main leads",
                "current imbalance within a group, %",
                "highest link current, A",
                "strips, W",
            ),
            rows=tuple(
                (
                    one.way.words,
                    f"{100 * one.spread_ratio:.1f}",
                    f"{one.hottest_link_a:.1f}",
                    f"{one.strip_loss_w:.2f}",
                )
                for one in of.landings
            ),
            note=f"All at {of.reference.load_a:.1f} A.",
        ),
    )


def _heat(of: Electrical) -> Table:
    heat, steady, empty = of.heat, of.heat.steady, of.heat.empty
    rows = [
        ("maximum cell temperature at end of discharge",
         f"{empty.hottest_c:.0f} \N{DEGREE SIGN}C", f"after {empty.seconds / 60:.0f} min"),
        ("maximum cell temperature, steady state", f"{steady.hottest_c:.0f} \N{DEGREE SIGN}C",
         f"{steady.rise_k:.0f} K above ambient"),
        ("enclosure, steady state", f"{steady.outside_c:.0f} \N{DEGREE SIGN}C",
         f"dissipates {steady.watts_out:.1f} W"),
        ("board, fuse and leads inside", f"{of.inside_heat.watts_at(heat.load_a):.1f} W",
         "by their data sheets, else by a voltage drop of 0.1 V at their rated current"),
        ("limit", f"{heat.limits.lowest_c:.0f} \N{DEGREE SIGN}C", f"of {heat.limits.named}"),
        ("time to limit from ambient", _minutes(heat.to_limit_s), f"at {heat.load_a:.1f} A"),
    ]  # fmt: skip
    if heat.peak_a is not None:
        rows.append(
            (
                "time to limit at peak, warm",
                _minutes(heat.warm_peak_to_limit_s),
                (
                    f"at {heat.peak_a:.1f} A, starting at the end of a discharge at "
                    f"{heat.load_a:.1f} A"
                ),
            )
        )
    how = heat.how_good
    return Table(
        title=f"Temperatures at {heat.load_a:.1f} A",
        headings=("what", "figure", ""),
        rows=tuple(rows),
        note=f"{how[0].upper()}{how[1:]}.",
    )


def _minutes(seconds: float | None) -> str:
    if seconds is None:
        return "never"
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"


def _machine(of: Electrical) -> tuple[Table, ...]:
    rows: list[tuple[str, str, str]] = []
    run, charge = of.machine.run, of.machine.precharge
    if run is not None:
        far = "" if run.distance_km is None else f", {run.distance_km:.1f} km"
        rows.append(
            (
                "run time on the load profile",
                f"{_minutes(run.seconds)}{far}",
                f"{run.ended_by}; {run.given_wh:.0f} Wh delivered, {run.lost_wh:.0f} Wh lost",
            )
        )
    if charge is not None:
        rows.append(
            (
                "precharge resistor",
                f"{charge.ohm:g} \N{GREEK CAPITAL LETTER OMEGA}",
                f"{charge.joules:.1f} J per cycle, {charge.seconds_99:.2g} s to 99 %, "
                f"{charge.peak_w:.0f} W peak",
            )
        )
    if of.charging.back is not None:
        back = of.charging.back
        rows.append(
            (
                "regenerative braking into a full pack",
                f"{back.full_pack_v:.1f} V",
                f"{back.current_a:g} A; disable regeneration from {back.stop_v:.1f} V up",
            )
        )
    if not rows:
        return ()
    return (Table(title="Machine", headings=("what", "figure", ""), rows=tuple(rows), note=""),)
