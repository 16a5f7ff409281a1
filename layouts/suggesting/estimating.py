"""What may go in with an enclosure that follows the space, or with none: by estimate.

Nothing is planned here. An estimate leaves out what the planner would refuse for sure: held cells
of which no layout finds room in the plan of the space, cells and rooms with more area than it has,
more cells than a lattice takes. ``layouts.suggesting.confirming`` plans what it leaves.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product

from layouts.cells.placed import most_placed
from layouts.errors import PlanError
from layouts.pack import EnclosureStyle, Lattice, Pack, Side
from layouts.planning.estimate import enclosed_least_mm2
from layouts.planning.layout_search import finds_room
from layouts.spaces.regions import free_region
from layouts.spaces.space import Space
from layouts.suggesting.candidates import (
    ALL_STEPS,
    MOST_CELLS,
    STEPS,
    energy_wh,
    least_parallel,
    series_choices,
    steps,
)
from layouts.suggesting.rows import Fit, Row, Task
from layouts.suggesting.setting import Axis, Combination, Setting, Way, pack_of
from layouts.suggesting.turning import seen_along

__all__ = ["Family", "by_estimate", "families", "row_by_estimate"]

# Mass of a pack over its bare cells' in trials of 20 packs; only the order of rows follows from it
PACK_OVER_CELLS = 1.35
KEPT = 64  # spaces, pitches and lattices whose number of cells is kept: a sweep asks again


@dataclass(frozen=True, kw_only=True, slots=True)
class Family:
    """Packs that differ in their cells in parallel alone: ``least`` up to ``most`` of them."""

    least: Combination
    most: int
    axis: Axis

    @property
    def key(self) -> tuple[object, ...]:
        """What all of them have in common."""
        one = self.least
        return one.offer, one.series, one.lattice, one.form, self.axis


def families(setting: Setting, form: EnclosureStyle, fitting: Iterable[Row]) -> list[Family]:
    """All of a form that meet the requirements, above those numbers in parallel that fit already:
    ``fitting``."""
    if form not in setting.forms:
        return []
    fit_already: dict[tuple[int, int, Lattice], int] = {}
    for row in fitting:
        one = row.candidate
        key = one.offer, one.series, one.lattice
        fit_already[key] = max(fit_already.get(key, 0), one.parallel)
    return [
        family
        for number, offer in enumerate(setting.offers)
        for series, lattice in product(series_choices(offer, setting.asked), Lattice)
        for family in _of_one(
            setting,
            Combination(
                offer=number,
                series=series,
                parallel=max(
                    least_parallel(offer, series, setting.asked),
                    fit_already.get((number, series, lattice), 0) + 1,
                ),
                lattice=lattice,
                form=form,
            ),
        )
    ]


def _of_one(setting: Setting, least: Combination) -> Iterator[Family]:
    """One for each axis along which the space looks otherwise; none where the area is too small."""
    seen: set[tuple[float, ...]] = set()
    for axis in setting.axes:
        space = seen_along(setting.space, axis)
        across, along, high = space.box_mm
        if space.is_box:
            size = (*sorted((across, along)), high)
            if size in seen:
                continue
            seen.add(size)
        pack = pack_of(least, setting)
        most = min(MOST_CELLS, int(across * along / _site_mm2(pack))) // least.series
        if most >= least.parallel:
            yield Family(least=least, most=most, axis=axis)


def _site_mm2(pack: Pack) -> float:
    """Plan area of one cell within a wide lattice."""
    honeycomb = pack.lattice is Lattice.HONEYCOMB
    return float(pack.pitch_mm**2 * (3**0.5 / 2 if honeycomb else 1.0))


def by_estimate(setting: Setting, family: Family) -> tuple[Row, ...]:
    """A row for each pack of a family that may go in, the least first.

    One with more cells goes in no easier than one with fewer: the largest is searched for by
    halving."""
    least = family.least
    numbers = steps(least.parallel, family.most, most=ALL_STEPS, few=STEPS)
    low, high = 0, len(numbers)  # so many go in; from here on none does
    probe = 0
    while low < high:
        if _may_go_in(setting, replace(least, parallel=numbers[probe]), family.axis):
            low = probe + 1
        else:
            high = probe
        probe = (low + high) // 2
    way = Way(axis=family.axis, side=Side.PLUS_X)
    return tuple(
        row_by_estimate(
            setting,
            Task(candidate=replace(least, parallel=number), ways=(way,), miss_mm=0.0),
        )
        for number in numbers[:low]
    )


def _may_go_in(setting: Setting, candidate: Combination, axis: Axis) -> bool:
    space = seen_along(setting.space, axis)
    pack = pack_of(candidate, setting, space=space, side=Side.PLUS_X)
    try:
        if candidate.form is EnclosureStyle.NONE:
            return _most_cells(pack) >= candidate.cells
        room_mm2 = free_mm2(space, pack.lip_to_lip_mm + 2 * pack.holder.lip_mm)
        return room_mm2 >= enclosed_least_mm2(pack) and finds_room(pack)
    except PlanError:  # the space is too low for any number
        return False


@lru_cache(maxsize=KEPT)
def free_mm2(space: Space, high_mm: float) -> float:
    """Area of the plan that is free over a height above the lowest point; 0 where that is more than
    the space has."""
    low = space.low_mm[2]
    return float(free_region(space, low, low + high_mm).area)


def _most_cells(pack: Pack) -> int:
    """The most that a lattice takes, of whatever number in series and parallel."""
    return _most_of(replace(pack, name="any", series=1, parallel=1))


@lru_cache(maxsize=KEPT)
def _most_of(pack: Pack) -> int:
    return most_placed(pack).count


def row_by_estimate(setting: Setting, task: Task) -> Row:
    """The row of a pack before anything of it is planned."""
    candidate = task.candidate
    offer = setting.offers[candidate.offer]
    cell, series, parallel = offer.cell, candidate.series, candidate.parallel
    none = (0.0, 0.0, 0.0)
    return Row(
        task=task,
        fit=Fit(way=task.ways[0], gap_mm=0.0, spare_mm=none),
        energy_wh=energy_wh(offer, series, parallel),
        nominal_v=series * cell.nominal_v,
        empty_v=series * cell.empty_v,
        full_v=series * cell.full_v,
        current_a=parallel * cell.continuous_a,
        mass_kg=candidate.cells * cell.mass_g * PACK_OVER_CELLS / 1000.0,
        size_mm=none,
        cost=None if offer.price is None else offer.price * candidate.cells,
        by_estimate=True,
    )
