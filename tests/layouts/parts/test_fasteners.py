"""Lengths of screws that go into inserts."""

from __future__ import annotations

import pytest

from layouts.formats import screws
from layouts.parts.fasteners import (
    TIP_FREE_MM,
    USUAL_LENGTHS_MM,
    insert_hole_deep_mm,
    insert_screw_length_mm,
    thinner_grip_mm,
)


@pytest.mark.parametrize("screw", ["M3", "M4", "M5"])
@pytest.mark.parametrize("grip_mm", [3.0, 3.5, 6.8, 7.0, 8.8])
def test_the_screw_bites_and_does_not_stand_on_the_ground(screw: str, grip_mm: float) -> None:
    """One diameter of thread at least, its tip clear of the hole's bottom, a usual length."""
    length = insert_screw_length_mm(screw, grip_mm=grip_mm)
    deep = length - grip_mm
    assert length in USUAL_LENGTHS_MM
    assert float(screw[1:]) <= deep <= screws()[screw].insert_deep_mm - TIP_FREE_MM


def test_no_usual_length_is_told() -> None:
    """A grip between two usual lengths that neither serves is named with its limits."""
    with pytest.raises(
        ValueError, match=r"M3 through 32\.1 mm: no standard length from 35\.1 to 37"
    ):
        insert_screw_length_mm("M3", grip_mm=32.1)


def test_the_next_thinner_grip_has_its_screw() -> None:
    """What is offered instead of a grip that no screw suits is thinner, and one suits it."""
    thinner = thinner_grip_mm("M3", 32.1)
    assert thinner == 32.0  # 35 long less one diameter
    assert insert_screw_length_mm("M3", grip_mm=thinner) == 35.0


@pytest.mark.parametrize(("insert_mm", "length_mm"), [(3.0, 8.0), (5.7, 8.0), (8.0, 8.0)])
def test_a_shorter_insert_leaves_less_room_below_the_screw(
    insert_mm: float, length_mm: float
) -> None:
    """The hole is 0.5 deeper than its insert; the tip stays clear of its bottom."""
    deep_mm = insert_hole_deep_mm("M3", insert_mm)
    assert deep_mm == insert_mm + 0.5
    length = insert_screw_length_mm("M3", grip_mm=5.0, hole_deep_mm=deep_mm)
    assert length == length_mm and length - 5.0 <= deep_mm - TIP_FREE_MM + 1e-9
    with pytest.raises(ValueError, match="no standard length"):
        insert_screw_length_mm("M3", grip_mm=5.5, hole_deep_mm=insert_hole_deep_mm("M3", 3.0))


def test_the_tables_hole_is_that_of_the_usual_insert() -> None:
    """M3, 5.7 long: 6.2 deep; where no length is given, the table's."""
    assert insert_hole_deep_mm("M3") == insert_hole_deep_mm("M3", 5.7) == 6.2
