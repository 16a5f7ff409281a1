"""Measured cells in currents, heat, capacity and short circuit. All cells are invented."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from generators.packfile.resolve import parse_pack
from layouts.electrical.measured import as_measured
from layouts.electrical.plan import electrical_plan
from layouts.electrical.values import Electrical
from layouts.pack import MeasuredCells, Pack
from layouts.planning.steps import InterconnectPlan, interconnected, laid_out

TEXT = (
    'name: small\ncell: {format: "21700", chemistry: nmc, capacity_ah: 4.8, continuous_a: 15,'
    " internal_resistance_mohm: 14, ac_resistance_mohm: 7}\nseries: 3\nparallel: 4\n"
    "load: {continuous_a: 20}\nstrip: {joints: links}\nenclosure: {style: none}\n"
)
PACK = parse_pack(TEXT.encode(), "p.yaml").pack


def measured(ah: list[float], mohm: list[float]) -> Pack:
    """The pack with every cell's own values."""
    xy = tuple((x, y) for x, y in joined().cell_layout.xy_mm.tolist())
    labels = tuple("abcdefghijkl")
    cells = MeasuredCells(
        labels=labels, xy_mm=xy, capacity_ah=tuple(ah), resistance_mohm=tuple(mohm)
    )
    return replace(PACK, measured_cells=cells)


@cache
def joined() -> InterconnectPlan:
    """Cells and strips."""
    return interconnected(laid_out(PACK))


def planned(pack: Pack) -> Electrical:
    """The electrical plan with the same strips."""
    return electrical_plan(pack, joined().cell_layout, joined().interconnect)


def test_cells_all_alike_change_nothing_but_the_words() -> None:
    """Values of the data sheet, measured: the same currents, heat and ratings."""
    alike, plain = planned(measured([4.8] * 12, [14.0] * 12)), planned(PACK)
    assert alike.shares.cell == pytest.approx(plain.shares.cell, rel=1e-12)
    assert alike.empty_c == pytest.approx(plain.empty_c, rel=1e-9)
    assert alike.ratings.capacity_ah == pytest.approx(plain.ratings.capacity_ah, rel=1e-12)
    short = alike.fuse_protection.short.current_a, plain.fuse_protection.short.current_a
    assert short[0] == pytest.approx(short[1], rel=1e-9)
    assert plain.advice == alike.advice[:-1]
    assert "measured cells: groups of 19.200 to 19.200 Ah" in alike.advice[-1]


def test_a_cell_with_less_resistance_takes_more_current_and_heat() -> None:
    """In its group alone; shares of each group still add up to the load, and heat is I^2 R with
    the cell's own R."""
    mohm = [14.0] * 12
    mohm[5] = 7.0
    of, plain = planned(measured([4.8] * 12, mohm)), planned(PACK)
    share = np.abs(of.shares.cell).reshape(3, 4)
    assert share.sum(axis=1) == pytest.approx([1.0, 1.0, 1.0], rel=1e-9)
    assert share[1, 1] > 1.5 * np.abs(plain.shares.cell)[5]
    # the strips between spread the neighbours' currents a little anew: by a sixtieth of that
    assert share[0] == pytest.approx(np.abs(plain.shares.cell)[:4], rel=0.01)
    watt = of.cell_a**2 * np.array(mohm) / 1000.0
    assert of.reference.cell_w == pytest.approx(watt.sum(), rel=1e-9)

    def above_its_group_k(cell_c: np.ndarray) -> float:
        return float(cell_c[5] - cell_c[[4, 6, 7]].mean())

    assert above_its_group_k(of.empty_c) > above_its_group_k(plain.empty_c) + 0.1


def test_the_smallest_group_is_the_packs_capacity() -> None:
    """One weak cell in group 2; a pack of that capacity runs as long."""
    ah = [4.8] * 12
    ah[4] = 4.0
    of = planned(measured(ah, [14.0] * 12))
    assert of.ratings.capacity_ah == pytest.approx(3 * 4.8 + 4.0)
    same = planned(replace(PACK, cell=replace(PACK.cell, capacity_ah=4.6)))
    assert of.ratings.capacity_ah == pytest.approx(same.ratings.capacity_ah)
    assert of.empty_c == pytest.approx(same.empty_c, rel=1e-9)


def test_the_cell_that_stands_for_all_has_their_resistance() -> None:
    """S/P times it is the sum over groups of cells in parallel; 1 kHz changes in proportion; the
    short-circuit current follows."""
    mohm = [10.0, 12.0, 14.0, 16.0, 9.0, 9.0, 9.0, 9.0, 20.0, 11.0, 13.0, 17.0]
    pack = measured([4.8] * 12, mohm)
    cell = as_measured(pack).cell
    groups = [1.0 / sum(1.0 / one for one in mohm[k : k + 4]) for k in (0, 4, 8)]
    assert 3 * cell.internal_resistance_mohm / 4 == pytest.approx(sum(groups))
    assert cell.ac_resistance_mohm == pytest.approx(cell.internal_resistance_mohm / 2)
    assert as_measured(PACK) is PACK
    low, high = planned(measured([4.8] * 12, [9.0] * 12)), planned(PACK)
    assert low.fuse_protection.short.current_a > 1.2 * high.fuse_protection.short.current_a
