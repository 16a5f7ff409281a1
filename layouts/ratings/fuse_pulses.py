"""How long a fuse carries a pulse: time against current, and how much of it pulses may use up."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from math import exp, inf, log

from layouts.checks import Check, worst_of
from layouts.ratings.cycle import Pulse
from layouts.ratings.fuse import BEARS_RATIO, Fuse, FusePlace, fuse_continuous_a
from layouts.ratings.given import MEMORY, above_zero, at_most
from layouts.ratings.tables import table_rows

__all__ = ["PULSE_SHARE", "carries_s", "carries_times_rating", "fuse_pulse_checks", "rating_for"]

# of the least opening time: pulses that come back wear the element; common practice, from
# memory, no source (0.2 to 0.5 for 100,000 to 100 pulses)
PULSE_SHARE = 0.3


@cache
def _points() -> tuple[tuple[float, float], ...]:
    """(log of times the rating, log of seconds), falling."""
    rows = table_rows("fuse_times")
    return tuple((log(float(row["times_rating"])), log(float(row["seconds"]))) for row in rows)


def carries_s(times_rating: float) -> float:
    """Seconds for which pulses of that many times the rating may last.

    Endless up to what it carries continuously, as long as at the first point up to there, 0 beyond
    the last."""
    if at_most(above_zero(times_rating, "times_rating"), BEARS_RATIO):
        return inf
    points = _points()
    at = log(times_rating)
    if at <= points[0][0]:
        return PULSE_SHARE * exp(points[0][1])
    for (x0, y0), (x1, y1) in zip(points, points[1:], strict=False):
        if at_most(at, x1):
            return PULSE_SHARE * exp(y0 + (at - x0) / (x1 - x0) * (y1 - y0))
    return 0.0


def carries_times_rating(seconds: float) -> float:
    """The reverse: how many times its rating a fuse carries in pulses of that length."""
    points = _points()
    longest, shortest = (PULSE_SHARE * exp(points[k][1]) for k in (0, -1))
    if not at_most(seconds, longest):
        return BEARS_RATIO
    at = log(max(seconds, shortest) / PULSE_SHARE)
    for (x0, y0), (x1, y1) in zip(points, points[1:], strict=False):
        if at_most(y1, at):
            return exp(x0 + (at - y0) / (y1 - y0) * (x1 - x0))
    return exp(points[-1][0])


def rating_for(pulses: Sequence[Pulse]) -> tuple[float, Pulse] | None:
    """The least rating that carries all pulses [A], and which of them asks for it; None of none."""
    asked = [(one.amps / carries_times_rating(one.seconds), one) for one in pulses]
    return max(asked, key=lambda pair: pair[0]) if asked else None


def fuse_pulse_checks(
    fuse: Fuse, pulses: Sequence[Pulse], *, place: FusePlace = FusePlace.MAIN
) -> tuple[Check, ...]:
    """The fuse carries each pulse of a duty cycle; one check, of the pulse nearest to its limit.

    Pulses within what it carries continuously need no time; nothing where all are."""
    checks = []
    for one in pulses:
        if at_most(one.amps, fuse_continuous_a(fuse.rating_a)):
            continue
        limit = carries_s(one.amps / fuse.rating_a)
        checks.append(
            Check(
                id=f"{place.value}_pulse_s",
                about=f"{place.words} carries the pulses of {one.amps:g} A of the duty cycle "
                f"({PULSE_SHARE:.0%} of its least opening time)",
                holds=at_most(one.seconds, limit),
                value=one.seconds,
                limit=limit,
                unit="s",
                source=f"table fuse_times, {MEMORY}; the fuse's own curve takes precedence",
                remedy=f"a larger fuse, and {place.wire} rated for it; or shorter or lower pulses",
                at_least=False,
                where=f"{one.amps:g} A",
            )
        )
    return worst_of(checks)
