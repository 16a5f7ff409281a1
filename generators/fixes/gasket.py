"""What may be changed where a check of a gasket or its vent fails, best first."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from generators.fixes.steps import Changes, down, up
from layouts.checks import Check
from layouts.pack import Side
from layouts.planning.pack_plan import PackPlan

__all__ = ["GASKET"]

Candidates = Callable[[Check, PackPlan], Iterator[Changes]]

LIDS_MM = (3.0, 4.0, 5.0, 6.0)  # that a usual length of screw suits
OPENS_RATIOS = (0.8, 0.6, 0.4)  # of the opening pressure
WIDEST_MM, HIGHEST_MM = 12.0, 36.0  # of a vent's opening


def _stiffer(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """A thicker lid, then a vent that opens sooner."""
    lid = plan.pack.enclosure.lid_mm
    yield from ({"enclosure.lid_mm": one} for one in LIDS_MM if one > lid)
    yield from _sooner(check, plan)


def _sooner(check: Check, plan: PackPlan) -> Iterator[Changes]:
    gasket = plan.pack.enclosure.gasket
    if gasket is not None:
        for ratio in OPENS_RATIOS:
            opens = down(ratio * gasket.opens_at_kpa, 0.1)
            if opens > 0:
                yield {"enclosure.gasket.opens_at_kpa": opens}


def _softer_cord(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """A cord that takes the bends that are drawn."""
    if check.value is not None:
        yield {"enclosure.gasket.bend_radius_mm": down(check.value, 0.1)}


def _wider_flange(check: Check, plan: PackPlan) -> Iterator[Changes]:
    gasket = plan.pack.enclosure.gasket
    if gasket is None or gasket.flange_mm is None or check.value is None or check.limit is None:
        return
    for more in (0.0, 0.3):
        yield {"enclosure.gasket.flange_mm": up(gasket.flange_mm + check.limit - check.value, 0.1)
               + more}  # fmt: skip


def _thicker_cable(check: Check, plan: PackPlan) -> Iterator[Changes]:
    if check.limit is not None:
        yield {"leads.outside_mm": up(check.limit, 0.1)}


def _larger_vent(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Higher, then as wide as can be; then one that opens later."""
    gasket = plan.pack.enclosure.gasket
    if gasket is None or check.limit is None:
        return
    if gasket.vent_mm is not None:
        for wide in (gasket.vent_mm[0], WIDEST_MM):
            high = up(check.limit / wide, 0.4)
            if high <= HIGHEST_MM:
                yield {"enclosure.gasket.vent_mm": [wide, high]}


def _other_side(check: Check, plan: PackPlan) -> Iterator[Changes]:
    """Another way round in the space, by the side of the leads."""
    for side in Side:
        if side is not plan.pack.leads.side:
            yield {"leads.side": side.value}


GASKET: Mapping[str, Candidates] = {
    "gasket_squeeze": _stiffer,
    "gasket_bend": _softer_cord,
    "gasket_screws": _wider_flange,
    "gasket_pull": _sooner,
    "gasket_outlets": _thicker_cable,
    "gas_out": _other_side,
    "vent_area": _larger_vent,
    "vent_pressure": _stiffer,
}
