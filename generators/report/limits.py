"""How much of its limit a check uses up, as a figure and as a bar."""

from __future__ import annotations

import math
from collections.abc import Iterable

from layouts.checks import Check

__all__ = ["bar_svg", "figure_text", "is_at_limit", "nearest", "percent_words", "share_used"]

FULL = 100.0  # units of the bar at the limit: four fifths of its length
LONGEST = 125.0  # where a bar ends, however far past its limit
HIGH = 10.0
AT_LIMIT = 1e-4  # a figure this near to its limit, as a share, was set to it


def share_used(check: Check) -> float | None:
    """Share of the limit that is used up: 1 at the limit, more fails.

    None where there is no such share: a yes or no, or a limit of zero. Temperatures count from
    0 degrees Celsius."""
    value, limit = check.value, check.limit
    if value is None or limit is None or limit <= 0:
        return None
    if not check.at_least:
        return max(value, 0.0) / limit
    return limit / value if value > 0 else math.inf


def is_at_limit(check: Check) -> bool:
    """Whether the figure was chosen to be the limit, or is a count of which all are asked: that
    says nothing of what is left."""
    used = share_used(check)
    return check.holds and used is not None and abs(used - 1.0) < AT_LIMIT


def nearest(checks: Iterable[Check], most: int) -> list[Check]:
    """The ``most`` checks with the least left of their limits, failing ones first; those set to
    their limit are passed over."""
    measured = [
        (check.holds, -used, k, check)
        for k, check in enumerate(checks)
        if (used := share_used(check)) is not None and not is_at_limit(check)
    ]
    return [check for *_, check in sorted(measured, key=lambda row: row[:3])[:most]]


def percent_words(check: Check) -> str:
    """What is used of the limit, in words."""
    used = share_used(check)
    if used is None:
        return "yes" if check.holds else "no"
    if is_at_limit(check):
        return "set to its limit" if check.unit else "all"
    if not check.holds:
        return (
            f"{max(math.ceil(FULL * used), FULL + 1):.0f} %" if math.isfinite(used) else "past it"
        )
    # rounded down, so that nothing that holds reads 100 %, and up where it fails
    return f"{int(FULL * used + 1e-9)} %"


def bar_svg(check: Check) -> str:
    """The share as a bar with a mark at the limit; hatched where it fails. Nothing where there is
    no share, or the figure was set to the limit. Words beside it tell the same."""
    used = share_used(check)
    if used is None or is_at_limit(check):
        return ""
    wide = min(FULL * used, LONGEST)
    kind = "used" if check.holds else "over"
    return (
        f'<svg class="bar" viewBox="0 0 {LONGEST:g} {HIGH:g}" aria-hidden="true">'
        f'<rect class="track" y="2" width="{LONGEST:g}" height="6"/>'
        f'<rect class="{kind}" y="2" width="{wide:.1f}" height="6"/>'
        f'<path class="mark" d="M{FULL:g} 0V{HIGH:g}"/></svg>'
    )


def figure_text(value: float) -> str:
    """A figure in four digits."""
    if value == 0 or 1e-3 <= abs(value) < 1e6:
        return f"{value:.4g}"
    return f"{value:.1e}"
