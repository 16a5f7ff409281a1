"""Demand of the machine: current or power, voltage, capacitance and load profile."""

from __future__ import annotations

from dataclasses import dataclass

from layouts.checks import Check
from layouts.electrical.driven import Driven, driven, driven_cautions, driven_checks
from layouts.pack import Pack
from layouts.ratings.load import AskedCurrents, asked_currents, load_check
from layouts.ratings.precharge import Precharge, inrush_a, precharge, precharge_caution
from layouts.ratings.run_time import RunTime, run_time
from layouts.ratings.windows import (
    StringVolts,
    controller_cutoff_check,
    controller_high_check,
    controller_low_check,
)

__all__ = ["Machine", "machine", "machine_cautions", "machine_checks"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Machine:
    """Load demand on a pack.

    ``asked``: None without a load. ``precharge``: None where the controller's capacitance isn't
    given; ``inrush_a`` without it. ``run``: None without a profile; ``driven``: without
    ``load.machine``.
    """

    asked: AskedCurrents | None
    precharge: Precharge | None
    inrush_a: float | None
    run: RunTime | None
    driven: Driven | None = None


def machine(pack: Pack, volts: StringVolts, *, ohm: float, quick_ohm: float) -> Machine:
    """The load demand; ``ohm``: of cells, strips and main leads together, ``quick_ohm``
    with the cells' 1 kHz resistance, which is what a spark meets.

    Watts draw most at the empty pack's resting volts. Raises PlanError as ``run_time`` does.
    """
    load, controller = pack.load, pack.controller
    asked = None
    run = moved = None
    capacity_ah = pack.parallel * pack.cell.capacity_ah
    if load is not None:
        stops = None if controller is None else controller.cutoff_v
        cutoff_v = stops if load.discharge_cutoff_v is None else load.discharge_cutoff_v
        asked = asked_currents(
            open_v=volts.empty_v,
            ohm=ohm,
            continuous_a=load.continuous_a,
            peak_a=load.peak_a,
            continuous_w=load.continuous_w,
            peak_w=load.peak_w,
        )
        if load.profile is not None:
            run = run_time(
                load.profile, volts=volts, capacity_ah=capacity_ah, ohm=ohm, cutoff_v=cutoff_v
            )
        if load.machine is not None:
            moved = driven(load.machine, volts, ohm=ohm, capacity_ah=capacity_ah, cutoff_v=cutoff_v)
    charging = inrush = None
    if controller is not None and controller.capacitance_f is not None:
        charging = precharge(capacitance_f=controller.capacitance_f, full_v=volts.full_v)
        inrush = inrush_a(full_v=volts.full_v, ohm=quick_ohm)
    return Machine(asked=asked, precharge=charging, inrush_a=inrush, run=run, driven=moved)


def machine_checks(pack: Pack, of: Machine, volts: StringVolts) -> tuple[Check, ...]:
    """Power that the pack can deliver and voltage that the controller accepts, where given."""
    found: list[Check | None] = []
    if of.asked is not None:
        found.append(load_check(of.asked))
    if of.driven is not None:
        found += driven_checks(of.driven)
    controller = pack.controller
    if controller is not None:
        if controller.highest_v is not None:
            found.append(controller_high_check(volts, highest_v=controller.highest_v))
        if controller.lowest_v is not None:
            found.append(controller_low_check(volts, lowest_v=controller.lowest_v))
    stops = None if controller is None else controller.cutoff_v
    if stops is None and pack.load is not None:
        stops = pack.load.discharge_cutoff_v
    if stops is not None:
        found.append(controller_cutoff_check(volts, cutoff_v=stops))
    return tuple(check for check in found if check is not None)


def machine_cautions(of: Machine) -> tuple[str, ...]:
    """Inrush at the plug, power out of reach, and a load profile that ends too soon."""
    said = []
    if of.asked is not None and not of.asked.operates:
        said.append(
            "load: the required power has no operating point; the empty pack delivers at most "
            f"{of.asked.largest_w:.0f} W. Currents, losses and temperatures are given at the "
            "continuous current instead"
        )
    if of.precharge is not None and of.inrush_a is not None:
        spark = precharge_caution(of.precharge, without_a=of.inrush_a)
        if spark is not None:
            said.append(f"controller: {spark}")
    if of.run is not None and of.run.ended_by == "no operating point":
        said.append(
            "load: the profile requires power that the pack can't deliver after "
            f"{of.run.seconds / 60:.0f} min"
        )
    if of.driven is not None:
        said += driven_cautions(of.driven, of.asked)
    return tuple(said)
