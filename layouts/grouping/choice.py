"""Judging groupings against each other and against what was wished."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from layouts.grouping.contacts import (
    CellContacts,
    IntArray,
    group_contacts,
    pieces_of,
    steps_of,
)
from layouts.grouping.values import Wishes

__all__ = [
    "ASKED_SIDE_WEIGHT",
    "FREE_SIDE_WEIGHT",
    "Aim",
    "GroupingScore",
    "aim_of",
    "facing",
    "judge",
    "value_of",
]

# Share of the boundary's bound that may be given up for the ends' places: a required side counts
# more than the tool's own wish of +x. Judgement, common practice, no source.
ASKED_SIDE_WEIGHT = 0.15
FREE_SIDE_WEIGHT = 0.02


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Aim:
    """What a search works towards, in plain numbers.

    ``pin`` (n,): group of each pinned cell, 0 elsewhere. ``most_step``: largest difference in
    group number allowed between touching cells. ``first_pull``, ``last_pull`` (n,): 0..1 along
    the wished direction, times its weight.
    """

    series: int
    parallel: int
    bound: int
    voltage_weight: float
    pin: IntArray
    most_step: int
    first_pull: np.ndarray
    last_pull: np.ndarray
    first_asked: bool = False
    last_asked: bool = False

    @property
    def most_for_ends(self) -> float:
        """The most that the places of the ends can add to a value."""
        return float(self.first_pull.max(initial=0.0) + self.last_pull.max(initial=0.0))


@dataclass(frozen=True, kw_only=True, slots=True)
class GroupingScore:
    """How sound and how good a grouping is.

    ``faults``: extra pieces, consecutive groups that do not touch, pins missed, pairs above the
    volts allowed, groups of a wrong size. ``fewest_contacts``: the smallest; ``worst_step``;
    ``value``: share of the boundary's bound reached, less what the volts and the ends' places cost.
    ``mean``: mean boundary, breaks ties."""

    faults: int
    fewest_contacts: int
    worst_step: int
    value: float
    mean: float

    @property
    def rank(self) -> tuple[float, ...]:
        """Larger is better."""
        return (-float(self.faults), round(self.value, 9), round(self.mean, 9))


def aim_of(
    field: CellContacts,
    *,
    series: int,
    parallel: int,
    bound: int,
    wishes: Wishes,
    pinned: Mapping[int, int],
) -> Aim:
    """Wishes as arrays over the field's cells; ``pinned``: group by cell of this field."""
    pin = np.zeros(field.count, dtype=np.int64)
    for cell, group in pinned.items():
        pin[cell] = group
    most = series - 1
    if wishes.volts_limit is not None:
        most = min(most, math.floor(wishes.volts_limit / wishes.full_v + 1e-9))
    return Aim(
        series=series,
        parallel=parallel,
        bound=bound,
        voltage_weight=wishes.voltage_weight,
        pin=pin,
        most_step=most,
        first_pull=_pull(field, wishes.minus_side),
        last_pull=_pull(field, wishes.plus_side),
        first_asked=wishes.minus_side is not None,
        last_asked=wishes.plus_side is not None,
    )


def judge(field: CellContacts, group: IntArray, aim: Aim) -> GroupingScore:
    """What a grouping (n,) of the field amounts to."""
    between = group_contacts(field, group, aim.series)
    pieces = pieces_of(field, group, aim.series)
    steps = steps_of(field, group)
    sizes = np.bincount(group, minlength=aim.series + 1)[1 : aim.series + 1]
    pinned = aim.pin > 0
    faults = (
        int(np.abs(pieces - 1).sum())
        + int((between == 0).sum())
        + int((group[pinned] != aim.pin[pinned]).sum())
        + int((steps > aim.most_step).sum())
        + int((sizes != aim.parallel).sum())
    )
    fewest_contacts = int(between.min()) if len(between) else 0
    worst = int(steps.max(initial=0))
    return GroupingScore(
        faults=faults,
        fewest_contacts=fewest_contacts,
        worst_step=worst,
        value=value_of(group, aim, fewest_contacts, worst),
        mean=float(between.mean()) if len(between) else 0.0,
    )


def value_of(group: IntArray, aim: Aim, fewest_contacts: int, worst_step: int) -> float:
    """Share of the boundary's bound reached, less what the volts and the ends' places cost."""
    volts = aim.voltage_weight * max(0, worst_step - 1) / max(1, aim.series - 2)
    return fewest_contacts / max(1, aim.bound) - volts + _ends(group, aim)


def facing(group: IntArray, aim: Aim) -> IntArray:
    """The grouping counted from the end that suits the wished sides better."""
    turned = np.where(group > 0, aim.series + 1 - group, 0)
    return turned if _ends(turned, aim) > _ends(group, aim) + 1e-12 else group


def _ends(group: IntArray, aim: Aim) -> float:
    first = aim.first_pull[group == 1]
    last = aim.last_pull[group == aim.series]
    return (float(first.mean()) if len(first) else 0.0) + (float(last.mean()) if len(last) else 0.0)


def _pull(field: CellContacts, side: tuple[float, float] | None) -> np.ndarray:
    weight = FREE_SIDE_WEIGHT if side is None else ASKED_SIDE_WEIGHT
    if not field.count:
        return np.zeros(0)
    way = np.array((1.0, 0.0) if side is None else side, dtype=np.float64)
    along = field.xy_mm @ (way / max(float(np.hypot(*way)), 1e-12))
    span = float(np.ptp(along))
    return weight * (along - along.min()) / span if span > 0 else np.zeros(field.count)
