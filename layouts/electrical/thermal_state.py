"""Heat of a pack at its load, judged until it is empty: no battery runs longer in one discharge."""

from __future__ import annotations

from dataclasses import dataclass, replace

from layouts.cells.arrangement import CellLayout
from layouts.electrical.flows import Shares, losses
from layouts.electrical.inside_heat import InsideHeat, inside_heat
from layouts.electrical.leads import MainLeads
from layouts.heat.limit import HeatLimit, discharge_limit
from layouts.heat.model import HeatModel, at_load
from layouts.heat.of_pack import Walls, heat_model
from layouts.heat.rating import HeatRating, rate_heat
from layouts.heat.steady import soaked_c
from layouts.heat.temperature_limits import (
    TemperatureLimits,
    check_ambient,
    check_soaked,
    heat_limits,
)
from layouts.pack import Bay, Cooling, Pack, Sun
from layouts.strips.joining import Interconnect

__all__ = ["ThermalState", "rated_thermal_state", "thermal_state"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ThermalState:
    """Thermal model of a pack at some current, and the most that it gives from full to empty.

    ``inside``: what else than cells, strips and welds heats it; ``cooling``: what is round it.
    ``rms_over_mean``: of a duty cycle's current, which heats by the one and empties by the other; 1
    for a constant load."""

    model: HeatModel
    limits: TemperatureLimits
    charge_ah: float
    discharge: HeatLimit
    inside: InsideHeat
    cooling: Cooling
    rms_over_mean: float = 1.0


def thermal_state(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    walls: Walls | None,
    of: Shares,
    leads: MainLeads,
    *,
    load_a: float,
) -> ThermalState:
    """The model at ``load_a``, and what heat lets a full pack give until it is empty.

    Welds, strip ends, board, fuse and leads warm the inside as a whole, links the cells that they
    join. Raises PlanError where ambient air or the sun is enough for cells or plastic to be too
    warm, or a closed bay has no walls.
    """
    lost = losses(of, load_a)
    inside = inside_heat(pack, cell_layout, leads, load_a=load_a)
    model = heat_model(
        pack,
        cell_layout,
        interconnect,
        walls,
        load_a=load_a,
        cell_a=of.cell_a(load_a),
        link_w=of.link_w(load_a),
        other_w=lost.weld_w + lost.tail_w + inside.watts_at(load_a),
    )
    limits = heat_limits(pack)
    check_ambient(limits, ambient_c=model.ambient_c)
    check_soaked(limits, soaked_c=soaked_c(model))
    charge = pack.parallel * pack.cell.capacity_ah
    ratio = _rms_over_mean(pack)
    return ThermalState(
        model=model,
        limits=limits,
        charge_ah=charge,
        discharge=discharge_limit(model, limits, charge_ah=ratio * charge),
        inside=inside,
        cooling=pack.cooling,
        rms_over_mean=ratio,
    )


def _rms_over_mean(pack: Pack) -> float:
    """1 where the continuous load does not follow from a cycle."""
    load = pack.load
    if load is None or load.cycle is None or "continuous" not in (load.derived or ()):
        return 1.0
    return load.cycle.rms_a / load.cycle.mean_a


def rated_thermal_state(of: ThermalState, *, load_a: float, peak_a: float | None) -> HeatRating:
    """Temperatures and times at a load, steady state and until empty."""
    rating = rate_heat(
        at_load(of.model, load_a),
        of.limits,
        charge_ah=of.rms_over_mean * of.charge_ah,
        peak_a=peak_a,
        discharge=of.discharge,
    )
    return replace(rating, how_good=f"{rating.how_good}. {_around(of.cooling)}")


def _around(cooling: Cooling) -> str:
    """What the temperatures hold for, in words."""
    bay = "a closed bay of still air" if cooling.bay is Bay.CLOSED else "an open bay"
    below = "air below" if cooling.below_free else "something below that takes no heat"
    sun = "no sun" if cooling.sun is Sun.NONE else f"sun on a {cooling.sun.value} face"
    return f"For {bay}, {below}, {sun} (cooling)"
