"""A peak on parts whose data give no rating for a short time: it counts as continuous."""

from __future__ import annotations

from layouts.checks import Check
from layouts.ratings.given import above_zero, at_most
from layouts.ratings.limits import REMEDY

__all__ = ["as_continuous_check"]

WORDS = {"connector": "the main leads' connector", "links": "the strips", "welds": "the welds"}


def as_continuous_check(part: str, limit_a: float | None, *, peak_a: float) -> Check | None:
    """The continuous rating of a part covers the peak; None where it has none.

    ``part``: as in ``CurrentLimits``. Heat needs time, so this is on the safe side."""
    if limit_a is None:
        return None
    return Check(
        id=f"{part}_peak_a",
        about=f"continuous rating of {WORDS[part]} covers the peak load, whatever its duration",
        holds=at_most(above_zero(peak_a, "peak_a"), above_zero(limit_a, "limit_a")),
        value=peak_a,
        limit=limit_a,
        unit="A",
        source="no rating for a peak is known of it: its continuous one applies",
        remedy=f"{REMEDY[part]}; or a lower peak",
        at_least=False,
    )
