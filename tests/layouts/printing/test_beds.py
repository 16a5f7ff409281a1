"""Parts on beds: inside, apart, all there, holders the same way round."""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from layouts import defaults
from layouts.printing.beds import BedPart, OnBed, bed_of, laid_on_beds, plate_file

SQUARE = shapely.box(0, 0, 220, 220)
ROUND = bed_of(replace(defaults.printer(), bed_round_mm=(300.0, 250.0)))
EDGE_MM, GAP_MM = 3.0, 5.0


def angle(a: float, b: float) -> BaseGeometry:
    """An L of two arms 20 wide."""
    return shapely.Polygon([(0, 0), (a, 0), (a, 20), (20, 20), (20, b), (0, b)])


def put(one: OnBed, plan: BaseGeometry) -> BaseGeometry:
    """A plan where it lies."""
    m = one.matrix()
    return affinity.affine_transform(plan, [*m[0, :2], *m[1, :2], m[0, 3], m[1, 3]])


def assert_lies_well(
    laid: tuple[OnBed, ...], parts: list[BedPart], bed: BaseGeometry, edge_mm: float = EDGE_MM
) -> None:
    """Every copy once; each within the bed less its edge; every two on a bed apart."""
    counted = {part.name: sum(one.name == part.name for one in laid) for part in parts}
    assert counted == {part.name: part.count for part in parts}
    plans = {part.name: part.plan for part in parts}
    there = [(one.bed, put(one, plans[one.name])) for one in laid]
    room = bed.buffer(-edge_mm + 1e-6)
    assert all(room.covers(shape) for _, shape in there)
    for k, (bed_k, shape) in enumerate(there):
        assert all(
            shape.distance(other) >= GAP_MM - 1e-6 for bed_j, other in there[:k] if bed_j == bed_k
        )


@pytest.mark.parametrize("bed", [SQUARE, ROUND], ids=["square", "round"])
def test_parts_lie_apart_and_off_the_edge(bed: BaseGeometry) -> None:
    """Invented angles and blocks of many sizes, drawn at random."""
    random = np.random.default_rng(5)
    parts = [
        BedPart(name=f"l{k}", plan=angle(*random.uniform(30, 110, 2)), count=3) for k in range(5)
    ]
    parts.append(BedPart(name="block", plan=shapely.box(-40, -10, 60, 35), count=4))
    laid, refused = laid_on_beds(parts, bed, edge_mm=EDGE_MM)
    assert refused == ()
    assert_lies_well(laid, parts, bed)
    assert sorted({one.bed for one in laid}) == list(range(1 + max(one.bed for one in laid)))
    assert [one.bed for one in laid] == sorted(one.bed for one in laid)


def test_angles_go_into_each_other() -> None:
    """Two Ls whose boxes do not fit beside each other share a bed."""
    parts = [BedPart(name="l", plan=angle(150, 150), count=2)]
    laid, _ = laid_on_beds(parts, shapely.box(0, 0, 200, 200), edge_mm=EDGE_MM)
    assert {one.bed for one in laid} == {0}
    assert_lies_well(laid, parts, shapely.box(0, 0, 200, 200))


def test_the_same_parts_lie_the_same_every_time() -> None:
    """Whatever order they come in."""
    parts = [BedPart(name=f"l{k}", plan=angle(40 + 7 * k, 90), count=2) for k in range(4)]
    assert laid_on_beds(parts, SQUARE, edge_mm=3.0) == laid_on_beds(
        parts[::-1], SQUARE, edge_mm=3.0
    )


def test_kin_lie_the_same_way_round() -> None:
    """Two holders, the second of which would go on turned by a quarter: it takes another bed."""
    bed = shapely.box(0, 0, 200, 160)
    parts = [
        BedPart(name="first", plan=shapely.box(0, 0, 150, 100), kin="holder"),
        BedPart(name="second", plan=shapely.box(0, 0, 145, 30), kin="holder"),
    ]
    alike = laid_on_beds(parts, bed, edge_mm=3.0)[0]
    assert len({one.turn_deg % 180 for one in alike}) == 1
    loose = [replace(part, kin="") for part in parts]
    narrow = shapely.box(0, 0, 200, 160)
    assert_lies_well(laid_on_beds(loose, narrow, edge_mm=3.0)[0], loose, narrow)


def test_kin_that_fit_one_way_alone_are_turned_all_the_same() -> None:
    """Rather on the bed than alike: the second holder is too long for the first one's way."""
    bed = shapely.box(0, 0, 200, 120)
    parts = [
        BedPart(name="first", plan=shapely.box(0, 0, 100, 110), kin="holder"),
        BedPart(name="second", plan=shapely.box(0, 0, 50, 180), kin="holder"),
    ]
    laid, refused = laid_on_beds(parts, bed, edge_mm=3.0)
    assert refused == () and len(laid) == 2
    assert_lies_well(laid, parts, bed)


def test_a_part_as_large_as_the_bed_lies_alone_in_the_middle() -> None:
    """Its edge is what is left; copies take a bed each."""
    parts = [
        BedPart(name="tub", plan=shapely.box(-5, -5, 213, 213), count=2),
        BedPart(name="small", plan=shapely.box(0, 0, 20, 20)),
    ]
    laid, refused = laid_on_beds(parts, SQUARE, edge_mm=EDGE_MM)
    assert refused == ()
    by_bed = {one.bed: put(one, parts[0].plan).bounds for one in laid if one.name == "tub"}
    assert sorted(by_bed) == [1, 2]
    assert list(by_bed.values()) == [pytest.approx((1, 1, 219, 219))] * 2


def test_a_part_larger_than_the_bed_is_named() -> None:
    """The others are laid."""
    parts = [
        BedPart(name="plank", plan=shapely.box(0, 0, 400, 10)),
        BedPart(name="small", plan=shapely.box(0, 0, 20, 20)),
    ]
    laid, refused = laid_on_beds(parts, SQUARE, edge_mm=3.0)
    assert refused == ("plank",)
    assert [one.name for one in laid] == ["small"]


def test_a_round_bed_takes_what_its_square_does_not() -> None:
    """280 long on 300 round, whose square is 212 wide; its corners are no place."""
    laid, refused = laid_on_beds([BedPart(name="bar", plan=shapely.box(0, 0, 280, 40))], ROUND,
                                 edge_mm=EDGE_MM)  # fmt: skip
    assert refused == ()
    assert ROUND.buffer(-EDGE_MM).covers(put(laid[0], shapely.box(0, 0, 280, 40)))


@pytest.mark.slow
def test_two_hundred_parts_are_laid_in_seconds() -> None:
    """Wanted: below 10 s, here of the processor's time."""
    random = np.random.default_rng(1)
    parts = [
        BedPart(name=f"l{k}", plan=angle(*random.uniform(30, 110, 2)), count=10) for k in range(15)
    ]
    parts.append(BedPart(name="block", plan=shapely.box(0, 0, 30, 40), count=50))
    before = time.process_time()
    laid, _ = laid_on_beds(parts, SQUARE, edge_mm=3.0)
    assert len(laid) == 200
    assert time.process_time() - before < 10.0


def test_nothing_is_laid_on_no_bed() -> None:
    """An empty list; files count from 1."""
    assert laid_on_beds([], SQUARE, edge_mm=3.0) == ((), ())
    assert plate_file(0) == "plates/plate-1.3mf"
