"""Balance leads (taps): thin wires on strong cells, and why each needs its own fuse."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.ratings.fuse import FuseChoice, FusePlace, choose_fuse, fuse_needs
from layouts.ratings.given import above_zero
from layouts.ratings.melting import preece_a
from layouts.ratings.wire import AmpacityTable, ampacity_a, awg_area_mm2, awg_diameter_mm

__all__ = ["BALANCE_LEAD_AWG", "BalanceLeadRating", "balance_lead_caution", "rate_balance_leads"]

BALANCE_LEAD_AWG = 22  # what most balance plugs take is 22 to 26; common practice, no source
BALANCE_A = 0.2  # what boards balance with at most; common practice, no source


@dataclass(frozen=True, kw_only=True, slots=True)
class BalanceLeadRating:
    """Balance leads of one gauge.

    ``melts_a``: current that melts the bare wire in the long run (Preece); ``group_a``: what one
    group drives into a short between two taps; ``choice``: the fuse for each, ``needs``: its
    other required ratings, since two taps far apart meet with the whole pack.
    """

    awg: int
    ampacity_a: float
    melts_a: float
    group_a: float
    choice: FuseChoice
    needs: str


def rate_balance_leads(
    *,
    group_short_a: float,
    pack_short_a: float,
    highest_v: float,
    awg: int = BALANCE_LEAD_AWG,
    ambient_c: float = 30.0,
) -> BalanceLeadRating:
    """Ampacity, melting current and fuse of a balance lead.

    ``group_short_a``, ``pack_short_a``: prospective short-circuit current of one group and of the
    pack; ``highest_v``: of the pack. Raises PlanError for
    gauges that the table of wires in free air doesn't have.
    """
    bears = ampacity_a(awg_area_mm2(awg), table=AmpacityTable.FREE_AIR, ambient_c=ambient_c)
    return BalanceLeadRating(
        awg=awg,
        ampacity_a=bears,
        melts_a=preece_a(diameter_mm=awg_diameter_mm(awg)),
        group_a=above_zero(group_short_a, "group_short_a"),
        choice=choose_fuse(continuous_a=BALANCE_A, wire_a=bears, place=FusePlace.BALANCE_LEAD),
        needs=fuse_needs(highest_v=highest_v, short_circuit_a=pack_short_a),
    )


def balance_lead_caution(found: BalanceLeadRating, *, fused: bool) -> str | None:
    """Caution for balance leads without fuses of their own; None where each has one."""
    if fused:
        return None
    burns = "more than enough to melt it" if found.group_a > found.melts_a else "enough to burn it"
    return (
        f"balance leads have no fuses: one group drives up to {found.group_a:.0f} A through a "
        f"wire of AWG {found.awg}, {burns} ({found.melts_a:.0f} A melts it bare, by Preece); fit "
        f"a fuse of {found.choice.fuse.rating_a:g} A in each, close to the strip, {found.needs}"
    )
