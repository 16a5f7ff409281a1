"""Heat of a pack at its load, judged until it is empty: no battery runs longer in one discharge."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.cells.arrangement import CellLayout
from layouts.electrical.flows import Shares, losses
from layouts.heat.limit import HeatLimit, discharge_limit
from layouts.heat.model import HeatModel, at_load
from layouts.heat.of_pack import Walls, heat_model
from layouts.heat.rating import HeatRating, rate_heat
from layouts.heat.temperature_limits import TemperatureLimits, check_ambient, heat_limits
from layouts.pack import Pack
from layouts.strips.joining import Interconnect

__all__ = ["ThermalState", "rated_thermal_state", "thermal_state"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ThermalState:
    """Thermal model of a pack at some current, and the most that it gives from full to empty."""

    model: HeatModel
    limits: TemperatureLimits
    charge_ah: float
    discharge: HeatLimit


def thermal_state(
    pack: Pack,
    cell_layout: CellLayout,
    interconnect: Interconnect,
    walls: Walls | None,
    of: Shares,
    *,
    load_a: float,
) -> ThermalState:
    """The model at ``load_a``, and what heat lets a full pack give until it is empty.

    Welds and strip ends warm the inside as a whole, links the cells that they join.
    Raises PlanError where the air itself is as warm as cells or plastic may get.
    """
    lost = losses(of, load_a)
    model = heat_model(
        pack,
        cell_layout,
        interconnect,
        walls,
        load_a=load_a,
        cell_a=of.cell_a(load_a),
        link_w=of.link_w(load_a),
        other_w=lost.weld_w + lost.tail_w,
    )
    limits = heat_limits(pack)
    check_ambient(limits, ambient_c=model.ambient_c)
    charge = pack.parallel * pack.cell.capacity_ah
    return ThermalState(
        model=model,
        limits=limits,
        charge_ah=charge,
        discharge=discharge_limit(model, limits, charge_ah=charge),
    )


def rated_thermal_state(of: ThermalState, *, load_a: float, peak_a: float | None) -> HeatRating:
    """Temperatures and times at a load, steady state and until empty."""
    return rate_heat(
        at_load(of.model, load_a),
        of.limits,
        charge_ah=of.charge_ah,
        peak_a=peak_a,
        discharge=of.discharge,
    )
