"""The best of some candidates: quick estimates first, outsides of those that may fit.

Candidates, estimate, plan and score are handed in; nothing here knows what they are of.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import chain
from typing import Generic, TypeVar

__all__ = ["MOST_PLANNED", "Found", "Score", "best_outside"]

MOST_PLANNED = 12  # outsides planned for one pack; judgement, no source

One = TypeVar("One")
Outside = TypeVar("Outside")


@dataclass(frozen=True, kw_only=True, slots=True)
class Score:
    """What decides between two outsides, in this order.

    ``failed``: outside checks that do not hold. ``pieces``: printed. ``imbalance_ratio``: spread
    of the cells' currents within the worst group.
    """

    fits: bool
    failed: int
    pieces: int
    imbalance_ratio: float
    mass_kg: float

    @property
    def good(self) -> bool:
        """It fits and all outside checks hold: no more candidates are planned."""
        return self.fits and not self.failed

    @property
    def key(self) -> tuple[float, ...]:
        """Least is best; float noise does not decide."""
        return (
            not self.fits,
            self.failed,
            self.pieces,
            round(self.imbalance_ratio, 6),
            round(self.mass_kg, 6),
        )


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Found(Generic[One, Outside]):
    """The best candidate and its outside.

    ``score``: None where there was no choice. ``nearest``: of the candidates left out by their
    estimate the one that misses by least, and by how much; None where none was. ``planned``:
    how many outsides were.
    """

    candidate: One
    outside: Outside
    score: Score | None
    nearest: tuple[One, float] | None
    planned: int


def best_outside(
    candidates: Iterable[One],
    *,
    miss_mm: Callable[[One], float],
    miss_off_mm: float,
    plan_outside: Callable[[One], Outside],
    score: Callable[[Outside], Score],
    most: int = MOST_PLANNED,
) -> Found[One, Outside]:
    """The first candidate that is good, else the best of the first ``most``.

    ``miss_mm``: by how much a candidate's estimate misses the space, at most ``miss_off_mm`` too
    much; what misses by more is not planned, unless nothing else is left: then the nearest is.
    A single candidate is planned without estimate or score. What ``plan_outside`` raises passes
    through. Raises ValueError without any candidate, and for ``most`` below 1.
    """
    if most < 1:
        raise ValueError(f"most is {most}: one outside at least must be planned")
    given = iter(candidates)
    first = next(given, None)
    if first is None:
        raise ValueError("there is no candidate to plan")
    second = next(given, None)
    if second is None:
        outside = plan_outside(first)
        return Found(candidate=first, outside=outside, score=None, nearest=None, planned=1)
    return _best(chain((first, second), given), miss_mm, miss_off_mm, plan_outside, score, most)


def _best(
    candidates: Iterator[One],
    miss_mm: Callable[[One], float],
    miss_off_mm: float,
    plan_outside: Callable[[One], Outside],
    score: Callable[[Outside], Score],
    most: int,
) -> Found[One, Outside]:
    best: tuple[Score, One, Outside] | None = None
    nearest: tuple[One, float] | None = None
    planned = 0
    for one in candidates:
        miss = miss_mm(one)
        if miss > miss_off_mm:
            if nearest is None or miss < nearest[1]:
                nearest = one, miss
            continue
        outside = plan_outside(one)
        planned += 1
        judged = score(outside)
        if best is None or judged.key < best[0].key:
            best = judged, one, outside
        if judged.good or planned == most:
            break
    if best is None:
        assert nearest is not None  # each candidate was either planned or left out
        outside = plan_outside(nearest[0])
        best, planned = (score(outside), nearest[0], outside), 1
    return Found(
        candidate=best[1], outside=best[2], score=best[0], nearest=nearest, planned=planned
    )
