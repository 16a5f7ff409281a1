"""Rows by estimate given to the planner that ``make`` asks, until enough of them are confirmed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from layouts.errors import PlanError
from layouts.pack import EnclosureStyle, Pack
from layouts.parts.outside import OutsidePiece, outside_pieces, outside_points
from layouts.placing.values import Effort
from layouts.planning.pack_plan import completed, plan_checks
from layouts.planning.parts_list import enclosure_set_parts
from layouts.planning.steps import OutsidePlan, outside_plan
from layouts.spaces.regions import free_region
from layouts.spaces.space import Space
from layouts.suggesting.judging import SAFE_MASS, checked, planned, posed
from layouts.suggesting.masses import planned_mass_g
from layouts.suggesting.ranking import Ranked
from layouts.suggesting.rows import Row
from layouts.suggesting.runner import Runner
from layouts.suggesting.setting import Combination, Setting

__all__ = ["Confirmed", "advised", "confirm", "confirmed"]

MOST_REFUSED = 24  # plans that do not stand before a search for one that does is given up
MOST_AFTER = 3  # the same where one is confirmed already
FIRST = 3  # the first that is planned has more cells than a third of its family
TOGETHER = 2  # planned at a time, for two cores


@dataclass(frozen=True, kw_only=True, slots=True)
class Confirmed:
    """``rows``: those that the planner confirms, and those by estimate that it has not refused.
    ``refused``: what it has, with its reasons; ``open``: how many rows it was not asked about."""

    rows: tuple[Row, ...]
    refused: tuple[Row, ...]
    open: int


@dataclass(kw_only=True)
class _Search:
    """The rows of one family that may still go in, best first, and the one to plan next."""

    left: list[Row]
    next: Row | None
    done: list[Row] = field(default_factory=list)

    def take(self, answer: Row) -> None:
        """A plan's verdict: where it does not stand, none with as many cells is tried again, and
        that in the middle of those with fewer is next."""
        asked = answer.candidate.parallel
        if answer.refused:
            self.left = [row for row in self.left if row.candidate.parallel < asked]
            fewer = sorted(self.left, key=lambda row: row.candidate.parallel)
            self.next = fewer[len(fewer) // 2] if fewer else None
        else:
            self.done.append(answer)
            self.drop(answer.candidate)

    def drop(self, pack: Combination) -> None:
        """A pack that stands already is not planned again, also where it would stand otherwise."""
        self.left = [row for row in self.left if row.candidate != pack]
        if self.next is None or self.next.candidate == pack:
            self.next = self.left[0] if self.left else None


def confirm(setting: Setting, rows: Sequence[Ranked], run: Runner, *, wanted: int) -> Confirmed:
    """Plans rows by estimate until ``wanted`` are confirmed.

    Of each family first one that is likely to stand, since a refusal takes several times as long as
    a plan: where something is required, of which all rows have enough, that with fewest cells, else
    one of fewer cells than most; then the best by rank."""
    asked = setting.asked
    sure = asked.energy_wh is not None or asked.current_a is not None
    found: dict[tuple[object, ...], _Search] = {}
    for one in rows:
        row, of = one.row, one.row.candidate
        key = of.offer, of.series, of.lattice, of.form, row.fit.way.axis
        found.setdefault(key, _Search(left=[], next=row)).left.append(row)
    searches = list(found.values())
    for search in searches:
        fewer = sorted(search.left, key=lambda row: row.candidate.parallel)
        search.next = fewer[0 if sure else len(fewer) // FIRST]
    refused: list[Row] = []
    stands = 0
    while stands < wanted and len(refused) < (MOST_AFTER if stands else MOST_REFUSED):
        open_ones = [search for search in searches if search.next is not None]
        batch = sorted(open_ones, key=lambda search: len(search.done))[:TOGETHER]
        jobs = [search.next for search in batch if search.next is not None]
        if not jobs:
            break
        answers: list[Row] = run(confirmed, setting, jobs, "confirming")
        for search, answer in zip(batch, answers, strict=True):
            search.take(answer)
            if answer.refused:
                refused.append(answer)
                continue
            stands += 1
            for other in searches:
                other.drop(answer.candidate)
    return Confirmed(
        rows=tuple(row for one in searches for row in (*one.done, *one.left)),
        refused=tuple(refused),
        open=sum(len(search.left) for search in searches),
    )


def confirmed(setting: Setting, row: Row) -> Row:
    """The row with what its whole plan gives, or with the planner's reason against it."""
    return _planned(setting, row, advise=False)


def advised(setting: Setting, row: Row) -> Row:
    """The same; the reason against it says what would do."""
    return _planned(setting, row, advise=True)


def _planned(setting: Setting, row: Row, *, advise: bool) -> Row:
    if row.candidate.form is EnclosureStyle.TUB:
        return _tub(setting, row)
    pack = posed(setting, row.task)
    try:
        # a quick search places no more cells than a long one, so what it finds is there
        outside = outside_plan(pack, effort=Effort.QUICK, advise=advise)
        plan = completed(outside)
    except PlanError as error:
        return replace(row, refused=f"{error.why}, {error.remedy}")
    parts = tuple(enclosure_set_parts(plan))
    mass_g = planned_mass_g(plan.pack, plan.cell_layout, plan.interconnect, plan.cell_block, parts)
    checks = plan_checks(plan, mass_kg=mass_g / 1000.0 * SAFE_MASS)
    gap, size = _stands(pack, outside)
    return replace(
        row,
        fit=replace(row.fit, gap_mm=gap),
        size_mm=size,
        mass_kg=mass_g / 1000.0,
        by_estimate=False,
        failed=tuple(dict.fromkeys(check.id for check in checks if not check.holds)),
    )


def _tub(setting: Setting, row: Row) -> Row:
    """The same of a tub, which is planned first and then stood in the space."""
    best = max(planned(setting, row.task), key=lambda one: one.fit.gap_mm)
    if best.refused:
        return best
    if not best.fit.fits:
        return replace(row, refused=f"is too large by {-best.fit.gap_mm:.1f} mm")
    return replace(best, failed=checked(setting, best), outside=None)


def _stands(pack: Pack, plan: OutsidePlan) -> tuple[float, tuple[float, float, float]]:
    """The gap of the outside to the space as the plan stands in it, and its size; cells without an
    enclosure touch the space by its side gap."""
    space = pack.space
    assert space is not None
    pose = None if plan.enclosure_set is None else plan.enclosure.pose
    if pose is None:
        x0, y0, x1, y1 = (
            shapely.MultiPoint(plan.cell_layout.xy_mm).buffer(pack.pocket_mm / 2).bounds
        )
        high = pack.lip_to_lip_mm + 2 * (pack.holder.lip_mm + pack.enclosure.gas_gap_mm)
        return pack.enclosure.side_gap_mm, (x1 - x0, y1 - y0, high)
    enclosure = plan.enclosure
    pieces = outside_pieces(enclosure.shell, enclosure_set_parts(plan), enclosure.screws)
    x, y, z = np.ptp(outside_points(pieces), axis=0).tolist()
    return _gap_mm(pieces, space, pose), (x, y, z)


def _gap_mm(pieces: Sequence[OutsidePiece], space: Space, pose: NDArray[np.float64]) -> float:
    """Least distance in the plan to walls and bodies, and above to the top; the plan is taken over
    the whole height, so that it is told too small where a body is low."""
    low = min(piece.z0_mm for piece in pieces) + float(pose[2, 3])
    high = max(piece.z1_mm for piece in pieces) + float(pose[2, 3])
    plan: BaseGeometry = shapely.union_all(
        [shapely.Polygon(piece.corners_mm @ pose[:2, :2].T + pose[:2, 3]) for piece in pieces]
    )
    free = free_region(space, low, high)
    aside = shapely.distance(free.boundary, plan)
    return float(min(aside, space.low_mm[2] + space.box_mm[2] - high))
