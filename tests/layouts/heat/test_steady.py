"""Steady temperatures: balances, symmetry, and what changes do."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from layouts.heat.model import STILL_AIR_W_M2K, Case, StripPaths, at_load, network_of
from layouts.heat.steady import outside_k, outside_w_k, steady
from tests.layouts.heat.models import honeycomb_model

UNEVEN = np.random.default_rng(7).uniform(0.1, 1.0, 60)


@pytest.mark.parametrize("cased", [True, False], ids=["tub", "bare"])
@pytest.mark.parametrize("times", [1e-6, 1.0, 40.0])
def test_what_is_made_is_what_leaves(cased: bool, times: float) -> None:
    """Uneven cells, strips and a board: watts in and out agree to 1e-9 at any heat."""
    model = honeycomb_model(6, 10, cased=cased)
    strips = StripPaths(
        cells=np.array([[0, 1], [1, 2], [59, 48]]),
        w_k=np.array([0.006, 0.006, 0.004]),
        watt=np.array([0.02, 0.05, 0.3]) * times,
    )
    model = replace(model, cell_w=UNEVEN * times, strips=strips, other_w=2.0 * times)
    found = steady(model)
    assert found.watts_in == pytest.approx((UNEVEN.sum() + 0.37 + 2.0) * times, rel=1e-12)
    assert found.watts_out == pytest.approx(found.watts_in, rel=1e-9)


def test_the_outside_is_warm_enough_for_its_watts() -> None:
    """Films at the reported temperatures, faces and walls, worked here, carry all the heat."""
    model = honeycomb_model(6, 10)
    found = steady(model)
    assert model.case is not None
    rise = found.outside_c - model.ambient_c
    films = outside_w_k(model.case, rise, model.ambient_c)
    assert films * rise == pytest.approx(60 * 0.375, rel=1e-9)
    through = (found.enclosure_c - found.outside_c) * model.case.wall_w_k
    assert through == pytest.approx(60 * 0.375, rel=1e-9)
    inside = network_of(model).held_w_k @ (found.cell_c - found.enclosure_c)
    assert inside == pytest.approx(60 * 0.375, rel=1e-9)


def test_every_cell_is_in_balance_by_a_dense_solver() -> None:
    """The same network as a full matrix, solved by another routine."""
    model = replace(honeycomb_model(6, 10), cell_w=UNEVEN)
    network = network_of(model)
    full = np.diag(network.held_w_k)
    for (i, j), w_k in zip(network.pairs.tolist(), network.pair_w_k.tolist(), strict=True):
        full[i, i] += w_k
        full[j, j] += w_k
        full[i, j] -= w_k
        full[j, i] -= w_k
    found = steady(model)
    assert np.linalg.solve(full, UNEVEN) == pytest.approx(
        found.cell_c - found.enclosure_c, rel=1e-9
    )


def test_twice_the_outer_area() -> None:
    """At the same heat the outside's rise falls by 40 to 50 %, the cells' by the same kelvins."""
    model = honeycomb_model(6, 10)
    assert model.case is not None
    case = model.case
    double = replace(
        case,
        side_mm2=2 * case.side_mm2,
        top_mm2=2 * case.top_mm2,
        bottom_mm2=2 * case.bottom_mm2,
    )
    before, after = steady(model), steady(replace(model, case=double))
    fell = before.outside_c - after.outside_c
    assert 0.40 <= fell / (before.outside_c - 25.0) <= 0.50
    assert before.cell_c - after.cell_c == pytest.approx(np.full(60, fell), rel=1e-9)
    assert before.rise_k - after.rise_k == pytest.approx(fell, rel=1e-9)


def test_cells_in_the_middle_are_the_hottest() -> None:
    """Even heat: the hottest cell is one that has all its neighbours, the corners are cool."""
    model = honeycomb_model(7, 9)
    found = steady(model)
    have = np.bincount(model.neighbours.ravel())
    hottest = int(np.argmax(found.cell_c))
    assert have[hottest] == 6
    assert found.hottest_c == found.cell_c[hottest]
    assert have[int(np.argmin(found.cell_c))] <= 3
    assert found.cell_c.min() > found.enclosure_c > found.outside_c > 25.0
    assert np.all(found.core_c > found.cell_c)


def test_a_pack_of_ten_by_four_is_warm_not_absurd() -> None:
    """15 W in 40 cells of 21700: a rise of 20 to 60 K, most of it between cells and walls.

    Without the cells' ends it would be far more: most of the inner cells' heat leaves there.
    """
    model = honeycomb_model(4, 10)
    found = steady(model)
    assert 20.0 < found.rise_k < 60.0
    assert 8.0 < found.outside_c - 25.0 < 25.0
    # ends blocked: no face, no window
    blocked = replace(model, held=replace(model.held, site_mm2=0.0, window_mm=1e-3))
    without = steady(blocked).cell_c - steady(blocked).enclosure_c
    assert without.max() > 1.5 * (found.cell_c - found.enclosure_c).max()


def test_no_heat_no_rise() -> None:
    """A resting pack is as warm as the air, and says so at once."""
    found = steady(honeycomb_model(3, 3, cell_w=0.0))
    assert found.cell_c == pytest.approx(np.full(9, 25.0), abs=1e-12)
    assert (found.rise_k, found.watts_in, found.watts_out, found.rounds) == (0.0, 0.0, 0.0, 0)


def test_one_cell_in_still_air_by_hand() -> None:
    """No neighbour: its whole side and both ends at 5 W/(m2 K), the held parts less for plastic."""
    model = honeycomb_model(1, 1, cell_w=0.5, cased=False)
    open_w_k = math.pi * 0.0212 * 0.05 * STILL_AIR_W_M2K
    still = 0.0263 - (300.0 - 298.15) / 50.0 * (0.0263 - 0.0223)  # air at 25 C
    wall = 0.000125 / still + 0.0022 / 0.2 + 1 / STILL_AIR_W_M2K
    held_w_k = math.pi * 0.0212 * 0.02 / wall
    window = math.pi / 4 * 0.016**2
    face = 22.95e-3**2 * math.sqrt(3) / 2 - window
    end = STILL_AIR_W_M2K * window + face / (0.0016 / 0.2 + 1 / STILL_AIR_W_M2K)
    along = 0.07 / (6 * 11.8 * math.pi / 4 * 0.0212**2)
    total = open_w_k + held_w_k + 2 / (1 / end + along)
    assert steady(model).rise_k == pytest.approx(0.5 / total, rel=1e-9)


def test_strips_draw_touching_cells_together() -> None:
    """A hot cell joined to its neighbour by copper is cooler than without; watts stay."""
    model = honeycomb_model(3, 5)
    heat = np.full(15, 0.1)
    heat[7] = 2.0
    model = replace(model, cell_w=heat)
    strip = StripPaths(cells=np.array([[7, 8]]), w_k=np.array([0.05]), watt=np.zeros(1))
    joined = steady(replace(model, strips=strip))
    assert joined.cell_c[7] < steady(model).cell_c[7] - 1.0
    assert joined.cell_c[8] > steady(model).cell_c[8] + 1.0


def test_heat_goes_with_the_square_of_the_load() -> None:
    """Half the current, a quarter of the heat of cells, strips and board."""
    model = replace(honeycomb_model(3, 5), other_w=3.0)
    half = at_load(model, model.load_a / 2)
    assert half.watts == pytest.approx(model.watts / 4, rel=1e-12)
    assert half.load_a == model.load_a / 2
    with pytest.raises(ValueError, match="above zero"):
        at_load(replace(model, load_a=0.0), 5.0)


@pytest.mark.parametrize("watt", [1e-9, 0.1, 15.0, 3000.0])
def test_the_outside_settles_at_any_heat(watt: float) -> None:
    """From microwatts to a glowing box the reported rise dissipates exactly the given watts."""
    case = Case(
        side_mm2=6e4, top_mm2=3e4, bottom_mm2=3e4, high_mm=87.0, plate_mm=42.0,
        wall_w_k=8.0, heat_j_k=500.0,
    )  # fmt: skip
    rise, rounds = outside_k(case, watt, -20.0)
    assert rise * outside_w_k(case, rise, -20.0) == pytest.approx(watt, rel=1e-9)
    assert 1 <= rounds <= 20


def test_a_case_without_a_free_face_is_refused() -> None:
    """Nothing gives its heat off: there is no steady state."""
    case = Case(
        side_mm2=0.0, top_mm2=0.0, bottom_mm2=0.0, high_mm=87.0, plate_mm=42.0,
        wall_w_k=8.0, heat_j_k=500.0,
    )  # fmt: skip
    with pytest.raises(ValueError, match="no face"):
        outside_k(case, 1.0, 25.0)


def test_gaps_need_an_enclosure() -> None:
    """Gaps to walls that are not there are a mistake of the caller's."""
    with pytest.raises(ValueError, match="gaps need an enclosure"):
        replace(honeycomb_model(2, 2), case=None)


def test_ten_thousand_cells_are_in_balance() -> None:
    """The largest pack: one factor, watts in and out to 1e-9."""
    found = steady(honeycomb_model(100, 100, cell_w=0.05))
    assert found.watts_out == pytest.approx(500.0, rel=1e-9)
    assert len(found.cell_c) == 10_000
