"""Pulses on a fuse: the table's points, straight lines between them, and their reverse."""

from __future__ import annotations

import math

import pytest

from layouts.ratings.cycle import Pulse
from layouts.ratings.fuse import Fuse
from layouts.ratings.fuse_pulses import (
    PULSE_SHARE,
    carries_s,
    carries_times_rating,
    fuse_pulse_checks,
    rating_for,
)
from layouts.ratings.tables import table_rows


def test_the_tables_points_are_met() -> None:
    """A share of each least opening time, and the current back from the time."""
    for row in table_rows("fuse_times"):
        times, seconds = float(row["times_rating"]), PULSE_SHARE * float(row["seconds"])
        assert carries_s(times) == pytest.approx(seconds)
        assert carries_times_rating(seconds) == pytest.approx(times)


def test_between_them_lie_straight_lines_on_logarithmic_axes() -> None:
    """At the geometric mean of two multiples: the geometric mean of their times."""
    times = math.sqrt(1.35 * 2.0)
    assert carries_s(times) == pytest.approx(PULSE_SHARE * math.sqrt(60.0 * 1.0))
    assert carries_times_rating(carries_s(1.7)) == pytest.approx(1.7)


def test_ends_of_the_curve() -> None:
    """Continuous up to three quarters; the first time up to the first point; then none."""
    assert carries_s(0.75) == math.inf
    assert carries_s(0.76) == carries_s(1.1) == pytest.approx(PULSE_SHARE * 14_400.0)
    assert carries_s(6.01) == 0.0
    assert carries_times_rating(5000.0) == 0.75
    assert carries_times_rating(1e-6) == pytest.approx(6.0)


def test_longer_pulses_need_more_fuse() -> None:
    """More time, less current; the rating asked for carries its pulse, a little less does not."""
    seconds = [0.05, 0.3, 1.0, 10.0, 100.0, 4000.0, 5000.0]
    times = [carries_times_rating(one) for one in seconds]
    assert times == sorted(times, reverse=True) and len(set(times)) > 5
    pulses = (Pulse(amps=60.0, seconds=2.0), Pulse(amps=50.0, seconds=30.0))
    found = rating_for(pulses)
    assert found is not None and found[1] == pulses[1]
    assert all(one.holds for one in fuse_pulse_checks(Fuse(rating_a=found[0] * 1.0001), pulses))
    (less,) = fuse_pulse_checks(Fuse(rating_a=found[0] * 0.999), pulses)
    assert (less.id, less.holds, less.value) == ("fuse_pulse_s", False, 30.0)
    assert rating_for(()) is None


def test_a_fuse_that_carries_all_continuously_needs_no_check() -> None:
    """40 A on 60 A is two thirds."""
    assert fuse_pulse_checks(Fuse(rating_a=60.0), (Pulse(amps=40.0, seconds=9.0),)) == ()
