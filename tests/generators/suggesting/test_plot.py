"""The plot: a mark a pack, distinguished by shape alone, numbers clear of each other."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from generators.suggesting.plot import MARKS, plot
from layouts.pack import Lattice, Side
from layouts.suggesting.ranking import Ranked, ranked
from layouts.suggesting.rows import Fit, Row, Task
from layouts.suggesting.setting import Asked, Axis, Combination, Way
from tests.suggesting_samples import offer

SVG = "{http://www.w3.org/2000/svg}"


def rows(count: int, *, offers: int = 1, lattice: Lattice = Lattice.HONEYCOMB) -> list[Row]:
    """Rows with masses and energies that crowd."""
    way = Way(axis=Axis.Z, side=Side.PLUS_X)
    return [
        Row(
            task=Task(
                candidate=Combination(offer=k % offers, series=10, parallel=k + 1, lattice=lattice),
                ways=(way,),
                miss_mm=0.0,
            ),
            fit=Fit(way=way, gap_mm=3.0, spare_mm=(6.0, 6.0, 3.0)),
            energy_wh=100.0 + 7 * k,
            nominal_v=36.0,
            empty_v=28.0,
            full_v=42.0,
            current_a=10.0,
            mass_kg=1.0 + 0.04 * k,
            size_mm=(100.0, 100.0, 90.0),
            cost=None,
            failed=(),
        )
        for k in range(count)
    ]


def drawn(found: tuple[Ranked, ...], offers: int = 1) -> ElementTree.Element:
    """The plot, parsed."""
    cells = [offer(price=float(k)) for k in range(offers)]
    return ElementTree.fromstring(plot(found, cells, title="A & B"))


def numbers(svg: ElementTree.Element) -> list[tuple[str, float, float]]:
    """Texts with a white halo: the rows' numbers, and where they stand."""
    return [
        (one.text or "", float(one.get("x", "")), float(one.get("y", "")))
        for one in svg.iter(f"{SVG}text")
        if one.get("paint-order")
    ]


def test_every_pack_has_a_mark_and_the_best_have_their_number() -> None:
    """40 packs: 40 marks, 30 numbers, none upon another."""
    svg = drawn(ranked(rows(40), Asked(volts_v=36.0)))
    circles = list(svg.iter(f"{SVG}circle"))
    assert len(circles) == 40 + 3  # and the legend's
    told = numbers(svg)
    assert sorted(int(text) for text, _, _ in told) == list(range(1, 31))
    for k, (_, x, y) in enumerate(told):
        for _, u, v in told[:k]:
            assert abs(x - u) > 1.6 or abs(y - v) > 2.7


def test_one_pack_alone_can_be_drawn() -> None:
    """No span of values is no trouble."""
    assert len(numbers(drawn(ranked(rows(1), Asked(volts_v=36.0))))) == 1


def test_packs_on_one_spot_share_a_label() -> None:
    """The same pack standing two ways is one mark with both numbers."""
    (row,) = rows(1)
    svg = drawn(ranked([row, row], Asked(volts_v=36.0)))
    assert [text for text, _, _ in numbers(svg)] == ["1, 2"]


def test_shape_and_filling_tell_packs_apart_without_colour() -> None:
    """Every cell its own shape, grids filled; nothing but black, white and grey."""
    count = len(MARKS)
    found = ranked(rows(count, offers=count) + rows(1, lattice=Lattice.GRID), Asked(volts_v=36.0))
    text = plot(found, [offer(price=float(k)) for k in range(count)], title="t")
    assert set(re.findall(r"#[0-9a-f]{3,6}", text)) == {"#000", "#fff", "#ccc"}
    shapes = {
        tuple(
            (round(float(u) - float(points[0][0]), 1), round(float(v) - float(points[0][1]), 1))
            for u, v in points
        )
        for one in ElementTree.fromstring(text).iter(f"{SVG}polygon")
        if (points := [pair.split(",") for pair in one.get("points", "").split()])
    }
    assert len(shapes) >= count - 1  # the circle has no corners
    assert 'fill="#000" stroke="#000"' in text


def test_more_cells_than_shapes_carry_a_sign_inside() -> None:
    """The ninth cell's mark is the first's with a dot."""
    count = len(MARKS) + 1
    svg = drawn(ranked(rows(count, offers=count), Asked(volts_v=36.0)), count)
    dots = [one for one in svg.iter(f"{SVG}circle") if float(one.get("r", "9")) < 0.5]
    assert len(dots) == 2  # in the plot and in the legend


def test_the_same_rows_give_the_same_bytes() -> None:
    """No chance in it."""
    found = ranked(rows(12), Asked(volts_v=36.0))
    assert plot(found, [offer()], title="t") == plot(found, [offer()], title="t")
