"""Does a candidate fit: first by its envelope, then planned for real.

``estimated`` is quick and never final: it leaves out what misses by more than envelopes are ever
too large. ``planned`` plans the pack and judges the outside that its parts will have;
``checked`` plans the inside too and runs all checks that need no solid.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from layouts.cells.choice import LaidBlock, choose_block
from layouts.cells.envelope import Envelope
from layouts.cells.fields import BlockShape
from layouts.errors import PlanError
from layouts.fitting.box_fit import fit_in_box
from layouts.pack import Pack, Side
from layouts.parts.outside import OutsidePiece, outside_pieces, outside_points
from layouts.planning.estimate import ENVELOPE_OFF_MM, envelope, miss_mm
from layouts.planning.pack_plan import completed, plan_checks
from layouts.planning.steps import OutsidePlan, outside_plan
from layouts.spaces.space import Space
from layouts.suggesting.candidates import energy_wh, most_cells, ways_of
from layouts.suggesting.in_prism import fit_in_region
from layouts.suggesting.masses import planned_mass_g
from layouts.suggesting.rows import Estimate, Fit, Row, Task
from layouts.suggesting.setting import Axis, Combination, Setting, Way, pack_of
from layouts.suggesting.turning import boxed, seen_along

__all__ = [
    "SAFE_MASS",
    "PackOutside",
    "checked",
    "estimated",
    "fit_of",
    "missing",
    "planned",
    "planned_outside",
    "posed",
]

SAFE_MASS = 1.08  # checks are given no less mass than the finished parts have, see ``masses``


def estimated(setting: Setting, candidate: Combination) -> Estimate:
    """Which orientations are worth planning, those that give one plan together."""
    by_shape: dict[BlockShape, list[tuple[float, Way]]] = {}
    best: tuple[float, int, Way] | None = None
    ways = ways_of(setting)
    likely = [way for way in ways if most_cells(candidate, way, setting) >= candidate.cells]
    chosen: dict[tuple[Axis, bool], tuple[LaidBlock, Envelope]] = {}
    for number, way in enumerate(likely or ways):
        space = boxed(seen_along(setting.space, way.axis))
        across = (way.axis, way.side in (Side.PLUS_Y, Side.MINUS_Y))
        if across not in chosen:  # a field is the same for leads to either end
            pack = pack_of(candidate, setting, space=space, side=way.side)
            chosen[across] = choose_block(pack, estimate=envelope)
        laid, sizes = chosen[across]
        miss = miss_mm(sizes.outside_mm, space, way.side)
        if best is None or (miss, number) < best[:2]:
            best = (miss, number, way)
        if miss <= ENVELOPE_OFF_MM:
            by_shape.setdefault(laid.shape, []).append((miss, way))
    assert best is not None  # there is one way at least
    tasks = tuple(
        Task(
            candidate=candidate,
            ways=tuple(way for _, way in ways),
            miss_mm=min(miss for miss, _ in ways),
        )
        for ways in by_shape.values()
    )
    nearest = Task(candidate=candidate, ways=(best[2],), miss_mm=best[0])
    return Estimate(tasks=tasks, nearest=None if tasks else nearest)


def planned(setting: Setting, task: Task) -> tuple[Row, ...]:
    """The pack planned as far as its outside needs, a row for each way; also where none fits."""
    return _planned(setting, task, measure_miss=False)


def missing(setting: Setting, task: Task) -> tuple[Row, ...]:
    """The same where nothing fits: how much is missing is measured in any space."""
    return _planned(setting, task, measure_miss=True)


def _planned(setting: Setting, task: Task, *, measure_miss: bool) -> tuple[Row, ...]:
    pack = posed(setting, task)
    if pack.space is not None:  # the outside follows from the space's box alone
        pack = replace(pack, space=boxed(pack.space))
    try:
        outside = planned_outside(pack)
    except PlanError as error:
        none = (0.0, 0.0, 0.0)
        fit = Fit(way=task.ways[0], gap_mm=-task.miss_mm, spare_mm=none)
        return (_row(setting, task, fit, size_mm=none, mass_kg=0.0, refused=str(error)),)
    x, y, z = np.ptp(outside_points(outside.pieces), axis=0).tolist()
    found = (
        fit_of(outside.pieces, seen_along(setting.space, way.axis), way, measure_miss=measure_miss)
        for way in task.ways
    )
    return tuple(
        _row(
            setting,
            task,
            fit,
            size_mm=(x, y, z),
            mass_kg=outside.mass_kg,
            outside=outside.plan if fit.fits else None,
        )
        for fit in found
    )


def checked(setting: Setting, row: Row) -> tuple[str, ...]:
    """Ids of the checks of the whole plan that do not hold; nothing where all do."""
    pack = posed(setting, row.task)
    outside = outside_plan(pack) if row.outside is None else replace(row.outside, pack=pack)
    plan = completed(outside)
    checks = plan_checks(plan, mass_kg=row.mass_kg * SAFE_MASS)
    return tuple(dict.fromkeys(check.id for check in checks if not check.holds))


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PackOutside:
    """The outside of a pack, and its mass: cells, strips, printed parts at full infill."""

    plan: OutsidePlan
    pieces: tuple[OutsidePiece, ...]
    mass_kg: float


def planned_outside(pack: Pack) -> PackOutside:
    """The first half of ``plan_pack``: the steps that decide the outside.

    Raises PlanError where no valid plan exists."""
    plan = outside_plan(pack)
    enclosure = plan.enclosure
    parts = (*enclosure.parts, *plan.bracket.parts)
    mass_g = planned_mass_g(plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block, parts)
    pieces = outside_pieces(enclosure.shell, parts, enclosure.screws)
    return PackOutside(plan=plan, pieces=pieces, mass_kg=mass_g / 1000.0)


def posed(setting: Setting, task: Task) -> Pack:
    """The pack as its file would have it, standing the task's first way."""
    way = task.ways[0]
    space = seen_along(setting.space, way.axis)
    return pack_of(task.candidate, setting, space=space, side=way.side)


def fit_of(
    pieces: Sequence[OutsidePiece], space: Space, way: Way, *, measure_miss: bool = False
) -> Fit:
    """How a pack's outside stands in a space (as seen along the cells), leads towards a side.

    ``measure_miss``: see ``fit_in_region``; in a box it costs nothing and is always reported."""
    if not space.is_box:
        return fit_in_region(pieces, space, way, measure_miss=measure_miss)
    found = fit_in_box(outside_points(pieces), space, way.side)
    x, y, z = (float(a - b) for a, b in zip(space.box_mm, found.size_mm, strict=True))
    return Fit(way=way, gap_mm=found.smallest_gap_mm, spare_mm=(x, y, z))


def _row(
    setting: Setting,
    task: Task,
    fit: Fit,
    *,
    size_mm: tuple[float, float, float],
    mass_kg: float,
    outside: OutsidePlan | None = None,
    refused: str = "",
) -> Row:
    candidate = task.candidate
    offer = setting.offers[candidate.offer]
    cell, series, parallel = offer.cell, candidate.series, candidate.parallel
    return Row(
        task=task,
        fit=fit,
        energy_wh=energy_wh(offer, series, parallel),
        nominal_v=series * cell.nominal_v,
        empty_v=series * cell.empty_v,
        full_v=series * cell.full_v,
        current_a=parallel * cell.continuous_a,
        mass_kg=mass_kg,
        size_mm=size_mm,
        cost=None if offer.price is None else offer.price * candidate.cells,
        outside=outside,
        refused=refused,
    )
