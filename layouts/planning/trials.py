"""What a finished pack is tried with before it is used: pulls on its mounting, runs under load."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from layouts.brackets.loads import bracket_loads, hold_a_body
from layouts.electrical.values import Electrical
from layouts.heat.model import at_load
from layouts.heat.warming import warmed
from layouts.physics import GRAVITY_M_S2
from layouts.planning.steps import OutsidePlan

__all__ = [
    "PROOF_RATIO",
    "BracketProof",
    "ProofPulls",
    "TrialRun",
    "proof_pulls",
    "trial_runs",
]

# of the load that brackets are sized for: finds a bad print or a loose insert, and takes less than
# a third of the strength where they are just allowed; common practice, no source
PROOF_RATIO = 1.25
SHORT_S, LONG_S = 600.0, 3600.0  # at half and at full load; common practice, no source
MOST_OF_CHARGE = 0.8  # of the charge that a run may take


@dataclass(frozen=True, kw_only=True, slots=True)
class BracketProof:
    """What one bracket bears at the proof load: kilograms on a spring scale off its wall, along it
    and up or down, each alone. ``at_mm``: middle of its pad in the pack's plan."""

    at_mm: tuple[float, float]
    off_kg: float
    along_kg: float
    upright_kg: float


@dataclass(frozen=True, kw_only=True, slots=True)
class ProofPulls:
    """Pulls on the whole enclosure at the height of the cells' middle, kilograms on a spring scale:
    ``level_kg`` in any level direction, ``upright_kg`` up and down. ``mass_kg``: of the pack."""

    mass_kg: float
    level_kg: float
    upright_kg: float
    brackets: tuple[BracketProof, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class TrialRun:
    """A run at a constant current from ambient: ``sag_v`` lost in pack and main leads,
    ``group_sag_v`` in one group; the hottest cell and the enclosure's outside over the air."""

    current_a: float
    seconds: float
    sag_v: float
    group_sag_v: float
    cell_rise_k: float
    outside_rise_k: float


def proof_pulls(plan: OutsidePlan, *, mass_kg: float) -> ProofPulls | None:
    """From the loads of the brackets' checks; None without a load, or where they hold nothing.

    ``mass_kg``: of the finished pack."""
    pack, pads = plan.pack, plan.enclosure.pads
    if pack.load is None or not hold_a_body(pads, plan.bracket.hold):
        return None
    loads = bracket_loads(pack, pads, plan.bracket.hold, mass_kg=mass_kg)

    def kilograms(newtons: float) -> float:
        return PROOF_RATIO * newtons / GRAVITY_M_S2

    return ProofPulls(
        mass_kg=mass_kg,
        level_kg=PROOF_RATIO * mass_kg * loads[0].level_g,
        upright_kg=PROOF_RATIO * mass_kg * loads[0].upright_g,
        brackets=tuple(
            BracketProof(
                at_mm=one.pad.middle_mm,
                off_kg=kilograms(one.most(off=1.0)),
                along_kg=kilograms(one.most(along=1.0)),
                upright_kg=kilograms(one.most(up=1.0)),
            )
            for one in loads
        ),
    )


def trial_runs(of: Electrical, *, series: int) -> tuple[TrialRun, TrialRun]:
    """Ten minutes at half of the load, an hour at the whole one, or as long as its charge allows.

    The load, else the continuous rating. Resistances at 20 C; direct current."""
    load_a = of.heat.load_a
    longest_s = MOST_OF_CHARGE * 3600.0 * of.ratings.capacity_ah / load_a
    plans: Sequence[tuple[float, float]] = (
        (load_a / 2.0, min(SHORT_S, longest_s)),
        (load_a, min(LONG_S, longest_s)),
    )
    short, full = (_run(of, amps, seconds, series) for amps, seconds in plans)
    return short, full


def _run(of: Electrical, current_a: float, seconds: float, series: int) -> TrialRun:
    model = at_load(of.heat.model, current_a)
    warm = warmed(model, seconds)
    return TrialRun(
        current_a=current_a,
        seconds=seconds,
        sag_v=(of.shares.ohm + of.leads.ohm) * current_a,
        group_sag_v=of.shares.ohm / series * current_a,
        cell_rise_k=warm.hottest_c - model.ambient_c,
        outside_rise_k=warm.outside_c - model.ambient_c,
    )
