"""Less load, a lower peak, another gearing: what may be changed of the machine itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from generators.fixes.steps import Changes, down
from layouts.checks import Check
from layouts.heat.polymers import polymer_heats
from layouts.pack import Load
from layouts.planning.pack_plan import PackPlan
from layouts.ratings.fuse import RATINGS_A
from layouts.ratings.gearing import KM_H, Gearing, volts_a_m_s

__all__ = ["DRIVING", "less_load", "less_peak"]

Candidates = Callable[[Check, PackPlan], Iterator[Changes]]
SLOWER = (1.0, 0.9, 0.75, 0.6)  # of the speed that the watts alone would leave
LONGER = (1.5, 2.0, 3.0)  # times the time of the start


def less_load(limit_a: float, plan: PackPlan) -> Iterator[Changes]:
    """A load that what is there carries: the last resort, since the machine asks for it."""
    load, ratings = plan.pack.load, plan.electrical.ratings
    if load is None or ratings.demand_a is None:
        return
    if "continuous" in (load.derived or ()):
        yield from _slower(limit_a / ratings.demand_a, load)
    elif load.continuous_a is not None:
        amps = down(limit_a, 0.1)
        if 0 < amps < load.continuous_a:
            yield {"load.continuous_a": amps}
    elif load.continuous_w is not None:
        watts = down(load.continuous_w * limit_a / ratings.demand_a, 1.0)
        if 0 < watts < load.continuous_w:
            yield {"load.continuous_w": watts}


def _slower(ratio: float, load: Load) -> Iterator[Changes]:
    """A machine that goes slower: its watts fall at least as its speed does. Nothing else makes a
    duty cycle less than it was measured."""
    if load.machine is None or load.cycle is not None:
        return
    for share in SLOWER:
        speed = down(share * ratio * load.machine.speed_km_h, 0.1)
        if 0 < speed < load.machine.speed_km_h:
            yield {"load.machine.speed_km_h": speed}


def less_peak(limit_a: float, plan: PackPlan) -> Iterator[Changes]:
    """A lower peak, not below the continuous load."""
    load, ratings = plan.pack.load, plan.electrical.ratings
    if load is None or ratings.peak_a is None:
        return
    least = ratings.demand_a or 0.0
    if "peak" in (load.derived or ()):
        yield from _gentler(limit_a / ratings.peak_a, load)
    elif load.peak_a is not None and limit_a >= least:
        yield {"load.peak_a": down(limit_a, 0.1)}
    elif load.peak_w is not None and limit_a >= least:
        yield {"load.peak_w": down(load.peak_w * limit_a / ratings.peak_a, 1.0)}


def _gentler(ratio: float, load: Load) -> Iterator[Changes]:
    """A start that takes longer, or that ends at a lower speed."""
    if load.machine is None or load.cycle is not None:
        return
    yield from ({"load.machine.start_s": down(one * load.machine.start_s, 0.1)} for one in LONGER)
    for share in SLOWER:
        speed = down(share * ratio * load.machine.start_km_h, 0.1)
        if 0 < speed < load.machine.start_km_h:
            yield {"load.machine.start_km_h": speed}


def _speed(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Teeth for that speed; else the speed that is reached."""
    machine = None if plan.pack.load is None else plan.pack.load.machine
    if machine is None or machine.gearing is None or not check.limit:
        return
    yield from _teeth(machine.gearing, plan, wanted_km_h=check.limit)
    slower = down(check.value or 0.0, 0.1)
    if slower > 0:
        yield {"load.machine.speed_km_h": slower}


def _teeth(gearing: Gearing, plan: PackPlan, *, wanted_km_h: float) -> Iterator[Changes]:
    """Sprockets that are unloaded a little above the wanted speed: each tooth more on the motor."""
    volts = plan.electrical.ratings.nominal_v
    needed = gearing.motor_teeth * volts_a_m_s(gearing) * wanted_km_h / KM_H / volts
    first = int(max(needed, gearing.motor_teeth)) + 1
    if gearing.wheel_teeth > 1:  # there are sprockets
        yield from (
            {"load.machine.gearing.motor_teeth": float(count)} for count in range(first, first + 4)
        )


def _larger_fuse(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """The next ratings; what they protect is judged with them."""
    fuse = plan.pack.fuse
    if fuse is not None:
        larger = [one for one in RATINGS_A if one > fuse.rating_a]
        yield from ({"fuse.rating_a": one} for one in larger[:4])


def _cooler_cycle(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """More cells share the heat; a material that softens later where that is the limit."""
    if plan.electrical.heat.limits.polymer.most_c <= (check.limit or 0.0):
        known = sorted(polymer_heats().values(), key=lambda one: (one.most_c, one.material))
        yield from (
            {"printer.material": one.material}
            for one in known
            if check.value is not None and one.most_c >= check.value
        )
    yield from ({"parallel": plan.pack.parallel + more} for more in (1, 2, 3))


DRIVING: Mapping[str, Candidates] = {
    "machine_speed": _speed,
    "fuse_pulse_s": _larger_fuse,
    "cycle_temperature": _cooler_cycle,
}
