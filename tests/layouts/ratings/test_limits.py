"""Ratings of a whole pack: the least limits, and only what was required can fail."""

from __future__ import annotations

import pytest

from layouts.ratings.limits import (
    REMEDY,
    CurrentLimits,
    Ratings,
    load_current_check,
    load_peak_check,
    rate,
)


def rated(**changes: float | None) -> Ratings:
    """13S7P of 2.6 Ah and 20 A cells, and what limits it."""
    given: dict[str, float | None] = {
        "cell_peak_a": 30.0,
        "wire_a": 120.0,
        "bms_a": 60.0,
        "fuse_a": 75.0,
        **changes,
    }
    return rate(
        series=13,
        parallel=7,
        capacity_ah=2.6,
        continuous_a=20.0,
        empty_v=2.8,
        nominal_v=3.6,
        full_v=4.2,
        **given,
    )


def test_the_least_limits() -> None:
    """Board 60 A before fuse 75, wire 120 and cells 140."""
    found = rated()
    assert (found.pack_continuous_a, found.limited_by) == (60.0, "bms")
    assert rated(bms_a=None).limited_by == "fuse"
    assert rated(bms_a=None, fuse_a=None, wire_a=None).limited_by == "cells"


@pytest.mark.parametrize("name", list(REMEDY))
def test_each_limit_can_be_the_least(name: str) -> None:
    """Any of the eight at 5 A limits the pack, with a remedy of its own."""
    if name == "cells":
        found = rated(bms_a=None, fuse_a=None, wire_a=None, demand_a=141.0)
    else:
        found = rated(**{f"{name}_a": 5.0}, demand_a=6.0)
    assert found.limited_by == name
    check = load_current_check(found)
    assert check is not None and not check.holds
    assert check.remedy.startswith(REMEDY[name]) and check.where == name


def test_the_way_out_is_known_for_every_limit() -> None:
    """No limit without a remedy, no remedy without a limit."""
    every = CurrentLimits(
        cells_a=1, links_a=1, welds_a=1, wire_a=1, connector_a=1, bms_a=1, fuse_a=1, heat_a=1
    )
    assert set(every.known) == set(REMEDY)


def test_nothing_fails_where_nothing_is_asked() -> None:
    """No load: no check, currents given at the continuous rating."""
    found = rated()
    assert load_current_check(found) is None and load_peak_check(found) is None
    assert found.demand_a is None and found.peak_a is None
    assert found.reference_a == 60.0


def test_the_load_asked_is_the_reference() -> None:
    """40 A of 60 A hold; losses are given at 40 A."""
    found = rated(demand_a=40.0)
    check = load_current_check(found)
    assert check is not None and check.holds and found.reference_a == 40.0


def test_a_peak_above_the_cells_fails() -> None:
    """210 A peak are within the rating, 220 A are not."""
    fine, found = load_peak_check(rated(peak_a=210.0)), load_peak_check(rated(peak_a=220.0))
    assert fine is not None and fine.holds
    assert found is not None and not found.holds and found.limit == 210.0


def test_a_long_peak_counts_as_continuous() -> None:
    """150 A for 20 s on cells rated for their peak for 10 s: 140 A is the limit."""
    ratings = rated(peak_a=150.0)
    short = load_peak_check(ratings, peak_s=10.0, cell_peak_s=10.0)
    long = load_peak_check(ratings, peak_s=20.0, cell_peak_s=10.0)
    assert short is not None and short.holds
    assert long is not None and not long.holds and long.limit == 140.0
    assert "20 s is longer than the cells' 10 s" in long.about


def test_cells_without_a_peak_bear_their_continuous_current() -> None:
    """The sheet says nothing: 140 A."""
    found = load_peak_check(rated(cell_peak_a=None, peak_a=150.0))
    assert found is not None and not found.holds and found.limit == 140.0


def test_limits_of_nothing_are_refused() -> None:
    """A board of 0 A and a load below zero are named."""
    with pytest.raises(ValueError, match="bms_a must be above zero"):
        rated(bms_a=0.0)
    with pytest.raises(ValueError, match="demand_a must be above zero"):
        rated(demand_a=-1.0)
