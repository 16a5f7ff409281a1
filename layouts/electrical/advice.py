"""Advice to the builder in words: cautions, and what would be better."""

from __future__ import annotations

from layouts.electrical.charge_heat import charge_ambient_caution
from layouts.electrical.charging import Charging, board_of, charge_cautions
from layouts.electrical.flows import Losses, Shares
from layouts.electrical.fuse_protection import FuseProtection, fuse_protection_cautions
from layouts.electrical.leads import MainLeads, lead_cautions
from layouts.electrical.machine import Machine, machine_cautions
from layouts.electrical.main_terminals import Landing, landing_advice
from layouts.electrical.sections import StripLimit
from layouts.heat.rating import HeatRating, heat_cautions
from layouts.pack import Pack
from layouts.ratings.bms import bms_cautions
from layouts.ratings.charge import TemperatureWindow, temperature_words
from layouts.ratings.given import at_most
from layouts.ratings.limits import Ratings
from layouts.ratings.taps import BalanceLeadRating, balance_lead_caution
from layouts.ratings.touch_voltage import Touch, touch_cautions
from layouts.ratings.windows import chemistry_caution

__all__ = ["all_cautions", "strip_advice", "told_advice", "uneven_caution"]

UNEVEN_RATIO = 0.5  # spread within a group that is cautioned; judgement, no source


def uneven_caution(of: Shares, at: Losses) -> tuple[str, ...]:
    """Cells that share the load so unevenly that some do much more than their part."""
    if of.spread_ratio <= UNEVEN_RATIO:
        return ()
    return (
        f"strips: at {at.load_a:.0f} A the currents in one group differ by "
        f"{100 * of.spread_ratio:.0f} % of their mean, since the main leads are fed from one end "
        "of a row: lay more copper along the rows of the end groups, to their far ends",
    )


def strip_advice(pack: Pack, limit: StripLimit | None, ratings: Ratings) -> str | None:
    """Where the strips carry less than the load demand, or else than the cells' rating: how much.

    None where they carry it. What would do is tried only where a check fails by it.
    """
    wanted = ratings.cells_a if ratings.demand_a is None else ratings.demand_a
    if limit is None or at_most(wanted, limit.pack_a):
        return None
    whose = "the cells' rating" if ratings.demand_a is None else "the load"
    return (
        f"At {wanted:.0f} A, {whose}, {limit.strip} carries {wanted * limit.share_ratio:.1f} A "
        f"against a rating of {limit.continuous_rating_a:.1f} A ({limit.source}): the strips allow "
        f"the pack {limit.pack_a:.1f} A."
    )


def told_advice(
    pack: Pack,
    ratings: Ratings,
    landings: tuple[Landing, ...],
    limit: StripLimit | None,
    window: TemperatureWindow,
) -> tuple[str, ...]:
    """What would be better, and in which temperatures the pack may work."""
    words = temperature_words(window)
    found = (
        landing_advice(landings),
        strip_advice(pack, limit, ratings),
        f"{words[0].upper()}{words[1:]}.",
    )
    return tuple(text for text in found if text is not None)


def all_cautions(
    pack: Pack,
    ratings: Ratings,
    *,
    shares: Shares,
    reference: Losses,
    first_cell_a: float,
    leads: MainLeads,
    fuse_protection: FuseProtection,
    balance_leads: BalanceLeadRating,
    charging: Charging,
    machine: Machine,
    touch: Touch,
    heat: HeatRating,
) -> tuple[str, ...]:
    """Everything that may injure someone or wear the pack, in the order of the current path."""
    cell = pack.cell
    chemistry = chemistry_caution(chemistry=cell.chemistry, full_v=cell.full_v)
    balance_lead = balance_lead_caution(balance_leads, fused=pack.taps.fused)
    over: tuple[str, ...] = ()
    if ratings.demand_a is not None and first_cell_a < ratings.demand_a <= ratings.cells_a:
        over = (
            f"cells: at {ratings.demand_a:.0f} A the most loaded cell is above its own rating: "
            f"the current is shared unevenly, and {first_cell_a:.0f} A is the most at which all "
            "stay within it",
        )
    peak_s = None if pack.load is None else pack.load.peak_s
    hot_s = heat.warm_peak_to_limit_s
    short: tuple[str, ...] = ()
    if peak_s is not None and hot_s is not None and hot_s < peak_s:
        short = (
            f"heat: at the peak a pack that is just empty reaches its limit after {hot_s:.0f} s; "
            f"{peak_s:.0f} s are required",
        )
    board = bms_cautions(
        board_of(pack), disconnect=pack.disconnect, gives_back=charging.back is not None
    )
    return (
        *(() if chemistry is None else (f"cell: {chemistry}",)),
        *(f"voltage: {text}" for text in touch_cautions(touch)),
        *uneven_caution(shares, reference),
        *over,
        *lead_cautions(leads),
        *fuse_protection_cautions(fuse_protection),
        *(() if balance_lead is None else (f"taps: {balance_lead}",)),
        *(f"BMS: {text}" for text in board),
        *machine_cautions(machine),
        *charge_cautions(pack, charging),
        *heat_cautions(heat),
        *_charge_ambient(pack, charging),
        *short,
        *_not_given(pack),
    )


def _charge_ambient(pack: Pack, charging: Charging) -> tuple[str, ...]:
    if pack.load is None:
        return ()
    said = charge_ambient_caution(charging, ambient_c=pack.load.ambient_c)
    return () if said is None else (said,)


def _not_given(pack: Pack) -> tuple[str, ...]:
    """One line for all values that were not given."""
    lacking = {
        "controller (its voltage range)": pack.controller is None,
        "charger": pack.charger is None,
        "leads.connector_a": pack.leads.connector_a is None,
        "bms.continuous_a": pack.bms.continuous_a is None,
    }
    names = [name for name, absent in lacking.items() if absent]
    if not names:
        return ()
    return (f"not given, so not checked: {', '.join(names)}",)
