"""The electrical side of a pack, each step from the ones before it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from layouts.cells.arrangement import CellLayout
from layouts.checks import Check
from layouts.currents.strips import strip_network
from layouts.electrical.advice import all_cautions, told_advice
from layouts.electrical.cell_fuses import (
    cell_fuse_cautions,
    cell_fuse_checks,
    cell_fuse_rating,
    cell_fuse_words,
)
from layouts.electrical.charge_heat import charge_temperature_check
from layouts.electrical.charging import Charging, board_of, charge_checks, charging
from layouts.electrical.cycled import (
    at_worst,
    cycle_cautions,
    cycle_checks,
    cycled,
    peaks_of,
)
from layouts.electrical.flows import Shares, losses, shares
from layouts.electrical.fuse_protection import (
    FuseProtection,
    choose_fuse_protection,
    fuse_protection_checks,
)
from layouts.electrical.leads import (
    MainLeads,
    lead_checks,
    lead_inside_checks,
    lead_peak_check,
    main_leads,
)
from layouts.electrical.machine import Machine, machine, machine_checks
from layouts.electrical.main_terminals import compare_landings
from layouts.electrical.measured import alternating_mohm, as_measured, measured_words
from layouts.electrical.sections import StripLimit, strip_limit
from layouts.electrical.strip_heat import strip_rise
from layouts.electrical.thermal_state import ThermalState, rated_thermal_state, thermal_state
from layouts.electrical.values import Electrical
from layouts.heat.model import at_load
from layouts.heat.of_pack import Walls
from layouts.heat.rating import HeatRating, heat_checks
from layouts.heat.steady import steady
from layouts.pack import Load, Pack, Surroundings
from layouts.plates.labour import even_spots
from layouts.ratings.bms import bms_current_check, bms_peak_check, bms_series_check
from layouts.ratings.limits import Ratings, load_current_check, load_peak_check, rate
from layouts.ratings.peaks import as_continuous_check
from layouts.ratings.short_circuit import AlternatingResistance, alternating_resistance
from layouts.ratings.taps import BalanceLeadRating, rate_balance_leads
from layouts.ratings.touch_voltage import Touch, touch
from layouts.ratings.windows import StringVolts, string_volts
from layouts.ratings.wire import BASE_C
from layouts.strips.joining import Interconnect

__all__ = ["electrical_plan"]


def electrical_plan(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    walls: Walls | None = None,
) -> Electrical:
    """Currents, ratings, fuse, wire, charge and heat of a pack as laid.

    ``walls`` None: the held cells in still air. Heat is judged until the pack is empty: its
    ``discharge`` current is one of the ratings' limits, the steady-state one is given beside it.
    Raises PlanError, naming the field, where something can't work at all."""
    pack = as_measured(pack)
    volts = _volts(pack)
    network = strip_network(pack, cell_layout, interconnect, cell_mohm=pack.each_cell_mohm)
    of = shares(network, cell_layout.group)
    leads, resistance = main_leads(pack), _alternating(pack)
    quick = _quick(pack, cell_layout, interconnect, resistance)
    asked = machine(pack, volts, ohm=of.ohm + leads.ohm, quick_ohm=quick.ohm + leads.ohm)
    limit, spots = strip_limit(pack, cell_layout, interconnect, of), even_spots(pack, interconnect)
    cool_a = _rated(pack, of, leads, asked, limit, spots).reference_a
    warm = thermal_state(pack, cell_layout, interconnect, walls, of, leads, load_a=cool_a)
    unfused = _rated(pack, of, leads, asked, limit, spots, heat_a=warm.discharge.amps)
    charge = charging(pack, ohm=of.ohm + leads.ohm)
    bare = _touched(pack, volts, charge)
    fuse = _guarded(pack, of, quick, leads, unfused, resistance, highest_v=bare.highest_v)
    heat_a, fuse_a = warm.discharge.amps, fuse.continuous_rating_a
    ratings = _rated(pack, of, leads, asked, limit, spots, heat_a=heat_a, fuse_a=fuse_a)
    at = ratings.reference_a
    heat = rated_thermal_state(warm, load_a=at, peak_a=ratings.peak_a)
    most_a, can_c = max(at, ratings.peak_a or 0.0, charge.charge_a), heat.empty.hottest_c
    necks = cell_fuse_rating(pack, interconnect, of, most_a=most_a)
    landings = compare_landings(cell_layout, interconnect, network, of, load_a=at)
    plan = Electrical(
        ratings=ratings,
        shares=of,
        reference=losses(of, at),
        continuous=losses(of, ratings.pack_continuous_a),
        peak=None if ratings.peak_a is None else losses(of, ratings.peak_a),
        charge=losses(of, charge.charge_a),
        landings=landings,
        strip_limit=limit,
        strip_rise=strip_rise(pack, cell_layout, interconnect, of, load_a=at, can_c=can_c),
        cell_fuses=necks,
        first_cell_a=pack.cell.continuous_a / float(np.abs(of.cell).max()),
        leads=leads,
        fuse_protection=fuse,
        balance_leads=_balance_leads(pack, resistance, fuse),
        charging=charge,
        machine=asked,
        cycle=cycled(pack, volts, warm, ohm=of.ohm + leads.ohm),
        touch=bare,
        heat=heat,
        inside_heat=warm.inside,
        heat_continuous=steady(at_load(warm.model, ratings.pack_continuous_a)),
        checks=(),
        cautions=(),
        advice=told_advice(pack, ratings, landings, limit, charge.window),
    )
    plan = replace(plan, advice=(*plan.advice, *cell_fuse_words(necks), *measured_words(pack)))
    return replace(plan, checks=_checks(pack, volts, plan, warm), cautions=_cautions(pack, plan))


def _volts(pack: Pack) -> StringVolts:
    cell = pack.cell
    return string_volts(
        series=pack.series, empty_v=cell.empty_v, nominal_v=cell.nominal_v, full_v=cell.full_v
    )


def _alternating(pack: Pack) -> AlternatingResistance:
    cell = pack.cell
    return alternating_resistance(
        ac_mohm=cell.ac_resistance_mohm, dc_mohm=cell.internal_resistance_mohm
    )


def _quick(
    pack: Pack, cell_layout: CellLayout, interconnect: Interconnect, of: AlternatingResistance
) -> Shares:
    """The pack at once, with its cells' 1 kHz resistance."""
    network = strip_network(pack, cell_layout, interconnect, cell_mohm=alternating_mohm(pack, of))
    return shares(network, cell_layout.group)


def _checks(
    pack: Pack, volts: StringVolts, of: Electrical, warm: ThermalState
) -> tuple[Check, ...]:
    """Every check of the electrical side, in the report's order."""
    ratings, fuse = of.ratings, of.fuse_protection
    charged = charge_temperature_check(warm, of.charging)
    return (
        *machine_checks(pack, of.machine, volts),
        *_load_checks(pack, ratings, of.leads, of.heat),
        *_board_checks(pack),
        *fuse_protection_checks(fuse, of.leads, ratings, pack.load),
        *charge_checks(pack, of.charging),
        *cell_fuse_checks(of.cell_fuses),
        *(() if charged is None else (charged,)),
        *cycle_checks(of.cycle, warm),
    )


def _cautions(pack: Pack, of: Electrical) -> tuple[str, ...]:
    told = all_cautions(
        pack,
        of.ratings,
        shares=of.shares,
        reference=of.reference,
        first_cell_a=of.first_cell_a,
        leads=of.leads,
        fuse_protection=of.fuse_protection,
        balance_leads=of.balance_leads,
        charging=of.charging,
        machine=of.machine,
        touch=of.touch,
        heat=of.heat,
    )
    over = cycle_cautions(of.cycle, pack.load, of.machine.asked)
    return (*told, *cell_fuse_cautions(pack, of.cell_fuses), *over)


def _guarded(
    pack: Pack,
    of: Shares,
    quick: Shares,
    leads: MainLeads,
    ratings: Ratings,
    resistance: AlternatingResistance,
    *,
    highest_v: float,
) -> FuseProtection:
    """The fuse, by what cells, strips and welds leave of a short circuit.

    ``quick``: with the cells' 1 kHz resistance."""
    # cells alone, sharing evenly: what strips, welds and unevenness add to them
    cells_ohm = pack.series * pack.cell.internal_resistance_mohm / 1000.0 / pack.parallel
    quick_ohm = pack.series * resistance.mohm / 1000.0 / pack.parallel
    return choose_fuse_protection(
        pack,
        leads,
        resistance=resistance,
        strips_ac_ohm=max(quick.ohm - quick_ohm, 0.0),
        strips_ohm=max(of.ohm - cells_ohm, 0.0),
        ratings=ratings,
        highest_v=highest_v,
    )


def _balance_leads(
    pack: Pack, resistance: AlternatingResistance, fuse: FuseProtection
) -> BalanceLeadRating:
    return rate_balance_leads(
        group_short_a=pack.parallel * pack.cell.full_v / (resistance.mohm / 1000.0),
        pack_short_a=fuse.short.current_a,
        highest_v=fuse.needs_dc_v,
        awg=pack.taps.awg,
        ambient_c=BASE_C if pack.load is None else pack.load.ambient_c,
    )


def _touched(pack: Pack, volts: StringVolts, charge: Charging) -> Touch:
    back_v = 0.0 if charge.back is None else charge.back.full_pack_v
    return touch(
        highest_v=max(volts.full_v, back_v),
        wet=pack.enclosure.surroundings is Surroundings.SPLASHED,
    )


def _rated(
    pack: Pack,
    of: Shares,
    leads: MainLeads,
    asked: Machine,
    limit: StripLimit | None,
    even_spots: float,
    *,
    heat_a: float | None = None,
    fuse_a: float | None = None,
) -> Ratings:
    """Ratings by all that limits the current. ``even_spots``: on each can end, as if they shared
    evenly; ``fuse_a``, ``heat_a`` as far as they are known."""
    cell = pack.cell
    currents = asked.asked
    weld = float(np.abs(of.weld).max())
    return rate(
        series=pack.series,
        parallel=pack.parallel,
        capacity_ah=cell.capacity_ah,
        continuous_a=cell.continuous_a,
        empty_v=cell.empty_v,
        nominal_v=cell.nominal_v,
        full_v=cell.full_v,
        cell_peak_a=cell.peak_a,
        links_a=None if limit is None else limit.pack_a,
        welds_a=even_spots * pack.strip.weld_spot_a / weld,
        wire_a=leads.continuous_rating_a,
        connector_a=pack.leads.connector_a,
        bms_a=pack.bms.continuous_a,
        fuse_a=fuse_a,
        heat_a=heat_a,
        demand_a=None if currents is None else currents.continuous_a,
        peak_a=None if currents is None else currents.peak_a,
    )


def _load_checks(
    pack: Pack, ratings: Ratings, leads: MainLeads, heat: HeatRating
) -> tuple[Check, ...]:
    """Demand of the load on pack, leads, board and cell temperatures; nothing without a load."""
    if ratings.demand_a is None or pack.load is None:
        return ()
    found: list[Check | None] = [
        load_current_check(ratings),
        at_worst(
            peaks_of(pack.load, peak_a=ratings.peak_a),
            lambda amps, seconds: load_peak_check(
                replace(ratings, peak_a=amps), peak_s=seconds, cell_peak_s=pack.cell.peak_s
            ),
        ),
        *_peak_checks(pack, ratings, leads, pack.load),
        bms_current_check(board_of(pack), demand_a=ratings.demand_a),
        *lead_checks(leads, demand_a=ratings.demand_a, nominal_v=ratings.nominal_v),
        *lead_inside_checks(
            leads,
            demand_a=ratings.demand_a,
            inside_c=heat.empty.enclosure_c,
            plastic=heat.limits.polymer,
        ),
        *heat_checks(heat, for_ever=False),
    ]
    return tuple(check for check in found if check is not None)


def _peak_checks(
    pack: Pack, ratings: Ratings, leads: MainLeads, load: Load
) -> tuple[Check | None, ...]:
    """The peak on every part in its way but cells and fuse, which have checks of their own."""
    peak_a, demand_a = ratings.peak_a, ratings.demand_a
    if peak_a is None or demand_a is None:
        return ()
    limits, peaks = ratings.limits, peaks_of(load, peak_a=peak_a)
    return (
        at_worst(peaks, lambda a, s: bms_peak_check(board_of(pack), peak_a=a, peak_s=s)),
        as_continuous_check("connector", limits.connector_a, peak_a=peak_a),
        as_continuous_check("links", limits.links_a, peak_a=peak_a),
        as_continuous_check("welds", limits.welds_a, peak_a=peak_a),
        at_worst(peaks, lambda a, s: lead_peak_check(leads, demand_a=demand_a, peak_a=a, peak_s=s)),
    )


def _board_checks(pack: Pack) -> tuple[Check, ...]:
    found = bms_series_check(board_of(pack), series=pack.series)
    return () if found is None else (found,)
