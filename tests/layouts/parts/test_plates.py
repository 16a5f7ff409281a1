"""Parts on the printer's bed: all on, none over another, no plate more than needed for rows."""

from __future__ import annotations

import random
from itertools import combinations

import pytest

from layouts.parts.plates import GAP_MM, Footprint, OnPlate, arrange_plates

BED = (220.0, 210.0)


def corners(place: OnPlate, parts: dict[str, Footprint]) -> tuple[float, float, float, float]:
    """Left, low, right, high of a copy on its plate."""
    part = parts[place.name]
    wide, deep = (part.depth_mm, part.width_mm) if place.turned else (part.width_mm, part.depth_mm)
    return place.x_mm, place.y_mm, place.x_mm + wide, place.y_mm + deep


@pytest.mark.parametrize("seed", range(5))
def test_all_copies_lie_on_the_bed_with_their_gap(seed: int) -> None:
    """For invented parts of any size: as many as asked, within the bed, 5 mm apart."""
    dice = random.Random(seed)
    parts = {
        f"p{k}": Footprint(
            name=f"p{k}", width_mm=dice.uniform(10, 205), depth_mm=dice.uniform(10, 205),
            count=dice.randint(1, 4),
        )
        for k in range(8)
    }  # fmt: skip
    placed = arrange_plates(list(parts.values()), bed_mm=BED)
    assert {n: sum(p.name == n for p in placed) for n in parts} == {
        n: part.count for n, part in parts.items()
    }
    for place in placed:
        left, low, right, high = corners(place, parts)
        assert left >= 0
        assert low >= 0
        assert right <= BED[0]
        assert high <= BED[1]
    for one, other in combinations(placed, 2):
        if one.plate == other.plate:
            a, b = corners(one, parts), corners(other, parts)
            gap_x = max(a[0] - b[2], b[0] - a[2])
            gap_y = max(a[1] - b[3], b[1] - a[3])
            assert max(gap_x, gap_y) >= GAP_MM - 1e-9
    assert {place.plate for place in placed} == set(range(placed[-1].plate + 1))


def test_small_parts_share_one_plate() -> None:
    """Four brackets and a lid of half the bed need one plate."""
    parts = [
        Footprint(name="lid", width_mm=200, depth_mm=100),
        Footprint(name="bracket", width_mm=23, depth_mm=26, count=4),
    ]
    assert {place.plate for place in arrange_plates(parts, bed_mm=BED)} == {0}


def test_a_part_that_fits_only_across_is_turned() -> None:
    """A part as deep as the bed is wide goes on turned."""
    (place,) = arrange_plates([Footprint(name="a", width_mm=30, depth_mm=219)], bed_mm=BED)
    assert place.turned


def test_a_part_larger_than_the_bed_is_told() -> None:
    """Neither way round: the message names the part, both sizes and the remedy."""
    with pytest.raises(ValueError, match=r"tub: 221\.0 x 100\.0 mm is larger than the bed"):
        arrange_plates([Footprint(name="tub", width_mm=221, depth_mm=100)], bed_mm=BED)


def test_no_part_no_plate() -> None:
    """Nothing to print gives nothing."""
    assert arrange_plates([], bed_mm=BED) == ()
