"""One result of one check, the same shape for all of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Check:
    """What was checked, whether it holds, the figure, its limit and the remedy.

    ``value`` and ``limit`` are in ``unit`` ("" for counts and yes/no);
    ``at_least``: the value must be at least (else at most) the limit.
    ``source`` names the published source, "common practice, no source", or
    "geometry" where it follows from the drawing itself.
    """

    id: str
    about: str
    holds: bool
    value: float | None
    limit: float | None
    unit: str
    source: str
    remedy: str
    at_least: bool = True
    where: str = ""


def worst_of(checks: Iterable[Check]) -> tuple[Check, ...]:
    """One check an id: a failing one where there is any, else the nearest to its limit.

    The order is that of the first check of each id.
    """
    groups: dict[str, list[Check]] = {}
    for check in checks:
        groups.setdefault(check.id, []).append(check)
    return tuple(max(group, key=_strain) for group in groups.values())


def _strain(check: Check) -> tuple[bool, float]:
    """Failing first, then by how far the figure has gone towards its limit."""
    if check.value is None or check.limit is None:
        return not check.holds, 0.0
    beyond = check.value - check.limit
    return not check.holds, -beyond if check.at_least else beyond
