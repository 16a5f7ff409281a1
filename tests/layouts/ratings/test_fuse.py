"""Fuses: the choice and its reason, and each check once failing."""

from __future__ import annotations

import itertools

import pytest

from layouts.errors import PlanError
from layouts.ratings.fuse import (
    RATINGS_A,
    Fuse,
    FusePlace,
    choose_fuse,
    fuse_breaking_check,
    fuse_continuous_a,
    fuse_load_check,
    fuse_needs,
    fuse_opens_at_a,
    fuse_opens_check,
    fuse_peak_check,
    fuse_volts_check,
    fuse_wire_check,
)


def test_the_least_rating_that_bears_the_load_is_taken() -> None:
    """20 A need 26.7 A: 30 A, below a wire of 37 A; it carries 22.5 A."""
    found = choose_fuse(continuous_a=20.0, wire_a=37.0)
    assert found.fuse.rating_a == 30.0 and found.fits
    assert found.continuous_rating_a == pytest.approx(22.5)
    assert "26.7 A" in found.reason and "37.0 A of the main leads" in found.reason


def test_a_peak_may_ask_for_more() -> None:
    """20 A continuous and 45 A peak: 36 A are needed, 40 A taken."""
    found = choose_fuse(continuous_a=20.0, peak_a=45.0, wire_a=50.0)
    assert found.fuse.rating_a == 40.0 and "45 A peak" in found.reason


def test_the_wire_is_guarded_first() -> None:
    """40 A on a wire of 42 A: 53 A would be needed, 40 A are taken, and it doesn't fit."""
    found = choose_fuse(continuous_a=40.0, wire_a=42.0)
    assert found.fuse.rating_a == 40.0 and not found.fits
    assert "53.3 A would be required" in found.reason
    assert not fuse_load_check(found.fuse, demand_a=40.0).holds
    assert fuse_wire_check(found.fuse, wire_a=42.0).holds


def test_no_choice_is_ever_above_its_wire() -> None:
    """Over currents and wires: below the ampacity always, bearing the load where it fits."""
    for load in (0.1, 3.0, 20.0, 75.0, 400.0):
        for wire in (0.5, 4.9, 37.5, 100.0, 800.0):
            found = choose_fuse(continuous_a=load, wire_a=wire)
            assert found.fuse.rating_a <= wire
            assert found.fits == (found.continuous_rating_a >= load)
            assert found.fuse.rating_a in RATINGS_A


def test_a_choice_passes_what_a_given_fuse_must_pass() -> None:
    """Of ratings that carry the load the smallest that protects; else the largest that does."""
    found = choose_fuse(continuous_a=10.0, wire_a=60.0, protects=lambda fuse: fuse.rating_a <= 20)
    assert found.fits and found.fuse.rating_a == 15.0
    found = choose_fuse(continuous_a=30.0, wire_a=60.0, protects=lambda fuse: fuse.rating_a <= 20)
    assert not found.fits and found.fuse.rating_a == 20.0 and "40.0 A would be" in found.reason
    found = choose_fuse(continuous_a=30.0, wire_a=60.0, protects=lambda fuse: False)
    assert (
        not found.fits and found.fuse.rating_a == RATINGS_A[0] and "none protects" in found.reason
    )


def test_a_hair_has_no_fuse() -> None:
    """A wire of 0.3 A is below the smallest fuse: the field is named."""
    with pytest.raises(PlanError, match=r"leads\.wire_mm2: the balance leads are rated for 0\.3 A"):
        choose_fuse(continuous_a=0.1, wire_a=0.3, place=FusePlace.BALANCE_LEAD)


def test_a_fuse_above_its_wire_fails() -> None:
    """60 A on a wire of 50 A."""
    assert fuse_wire_check(Fuse(rating_a=50.0), wire_a=50.0).holds
    assert not fuse_wire_check(Fuse(rating_a=60.0), wire_a=50.0).holds


def test_a_fuse_below_the_load_fails() -> None:
    """30 A carries 22.5 A, not 25 A; and 37.5 A peak, not 40 A."""
    assert fuse_load_check(Fuse(rating_a=30.0), demand_a=22.5).holds
    assert not fuse_load_check(Fuse(rating_a=30.0), demand_a=25.0).holds
    assert fuse_peak_check(Fuse(rating_a=30.0), peak_a=37.5).holds
    assert not fuse_peak_check(Fuse(rating_a=30.0), peak_a=40.0).holds


def test_a_fuse_of_too_few_volts_fails() -> None:
    """32 V on a pack of 42 V; nothing is said where the sheet says nothing."""
    found = fuse_volts_check(Fuse(rating_a=30.0, dc_v=32.0), highest_v=42.0)
    assert found is not None and not found.holds
    assert (found.value, found.limit) == (32.0, 42.0)
    fine = fuse_volts_check(Fuse(rating_a=30.0, dc_v=54.6), highest_v=13 * 4.2)
    assert fine is not None and fine.holds
    assert fuse_volts_check(Fuse(rating_a=30.0), highest_v=42.0) is None


def test_a_fuse_that_cannot_break_the_short_circuit_fails() -> None:
    """1000 A against 1820 A, and an assumed resistance is said."""
    found = fuse_breaking_check(
        Fuse(rating_a=30.0, breaking_a=1000.0), short_circuit_a=1820.0, assumed=True
    )
    assert found is not None and not found.holds and "assumed" in found.about
    strong = Fuse(rating_a=30.0, breaking_a=2000.0)
    fine = fuse_breaking_check(strong, short_circuit_a=1820.0, assumed=False)
    assert fine is not None and fine.holds and "assumed" not in fine.about
    assert fuse_breaking_check(Fuse(rating_a=1.0), short_circuit_a=1.0, assumed=False) is None


def test_a_fault_too_weak_for_its_fuse_fails() -> None:
    """80 A open from 280 A on: 249 A don't; the sheet's own multiple wins."""
    found = fuse_opens_check(Fuse(rating_a=80.0), least_fault_a=249.0)
    assert not found.holds and found.limit == pytest.approx(280.0)
    assert found.source == "common practice, no source"
    own = fuse_opens_check(Fuse(rating_a=80.0, opens_multiple=2.0), least_fault_a=249.0)
    assert own.holds and own.source == "the fuse's data sheet"
    assert fuse_opens_check(Fuse(rating_a=70.0), least_fault_a=249.0).holds


def test_checks_are_named_by_place() -> None:
    """Three fuses of one pack give three names and three wires."""
    found = [fuse_wire_check(Fuse(rating_a=5.0), wire_a=4.0, place=place) for place in FusePlace]
    assert [check.id for check in found] == ["fuse_wire_a", "tap_fuse_wire_a", "charge_fuse_wire_a"]
    assert [check.remedy for check in found] == [
        "a smaller fuse or thicker main leads",
        "a smaller fuse or thicker balance leads",
        "a smaller fuse or thicker charge leads",
    ]


def test_what_a_fuse_needs_is_told_in_figures() -> None:
    """Direct current, volts and breaking capacity."""
    told = fuse_needs(highest_v=54.6, short_circuit_a=1820.4)
    assert "DC rated for at least 54.6 V" in told and "least 1820 A" in told


def test_senseless_fuses_are_refused() -> None:
    """No rating, and a multiple at which it would open under its own rating."""
    with pytest.raises(ValueError, match="rating_a must be above zero"):
        fuse_continuous_a(0.0)
    with pytest.raises(ValueError, match="opens_multiple must be above 1"):
        fuse_opens_at_a(Fuse(rating_a=30.0, opens_multiple=1.0))


def test_ratings_are_those_that_fuses_are_sold_in() -> None:
    """From 10 A upwards whole fives, none more than half as large again but the smallest, so that
    a proposed one is never far above what is needed (common practice, no source)."""
    large = [rating for rating in RATINGS_A if rating >= 10.0]
    assert all(rating % 5.0 == 0.0 for rating in large)
    assert all(low < high <= 1.5 * low for low, high in itertools.pairwise(large))
    small = [rating for rating in RATINGS_A if rating <= 10.0]
    assert all(low < high <= 2.0 * low for low, high in itertools.pairwise(small))
    assert small[0] <= 1.0 and large[-1] >= 300.0
