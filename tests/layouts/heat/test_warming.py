"""Warming up: against exponentials, an independent integrator, and the steady end."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from layouts.heat.model import HeatModel, network_of
from layouts.heat.steady import outside_w_k, steady
from layouts.heat.warming import State, state_of, time_to_c, warmed
from tests.layouts.heat.models import honeycomb_model


def test_heating_without_loss() -> None:
    """1 W in a cell of 46 g at 1000 J/(kg K): 1.3043 K in the first minute (P / (m c))."""
    model = honeycomb_model(1, 1, cell_w=1.0, cased=False)
    far = replace(model.can, heat_j_k=46.0)
    hung = replace(model, can=far, held=replace(model.held, site_mm2=0.0, window_mm=1e-6))
    rise = warmed(hung, 1.0).hottest_c - 25.0
    assert rise == pytest.approx(1.304348 / 60.0, rel=2e-3)


@pytest.mark.parametrize("taus", [0.1, 1.0, 3.0])
def test_one_cell_follows_the_exponential(taus: float) -> None:
    """q / G (1 - exp(-t G / C)) in still air, within 1.5 % of the steady rise."""
    model = honeycomb_model(1, 1, cell_w=0.5, cased=False)
    w_k = float(network_of(model).held_w_k[0])
    tau = 70.0 / w_k
    rise = warmed(model, taus * tau).hottest_c - 25.0
    assert rise == pytest.approx(0.5 / w_k * (1.0 - math.exp(-taus)), abs=0.015 * 0.5 / w_k)


@pytest.mark.parametrize("part", [0.1, 0.5, 0.9])
def test_the_time_to_a_limit_is_that_of_the_exponential(part: float) -> None:
    """-tau ln(1 - limit / steady), within 4 %."""
    model = honeycomb_model(1, 1, cell_w=0.5, cased=False)
    tau = 70.0 / float(network_of(model).held_w_k[0])
    rise = steady(model).rise_k
    seconds = time_to_c(model, 25.0 + part * rise)
    assert seconds == pytest.approx(-tau * math.log(1.0 - part), rel=0.04)


def reference(model: HeatModel, seconds: float) -> NDArray[np.float64]:
    """Cells over ambient by a general integrator with tight tolerances, walls and film in it."""
    network, case = network_of(model), model.case
    assert case is not None
    watt, store = model.node_w, model.can.heat_j_k

    def away_w(inside_k: float) -> float:
        """Through the walls: the outside's rise is found anew each time."""
        if inside_k <= 1e-12:
            return 0.0

        def excess(rise: float) -> float:
            films = outside_w_k(case, rise, model.ambient_c)
            return (inside_k - rise) * case.wall_w_k - rise * films

        return (inside_k - float(brentq(excess, 0.0, inside_k))) * case.wall_w_k

    def change(_: float, kelvin: NDArray[np.float64]) -> NDArray[np.float64]:
        cells, inside = kelvin[:-1], float(kelvin[-1])
        given = network.held_w_k * (cells - inside)
        flow = watt - given
        between = network.pair_w_k * (cells[network.pairs[:, 0]] - cells[network.pairs[:, 1]])
        np.add.at(flow, network.pairs[:, 0], -between)
        np.add.at(flow, network.pairs[:, 1], between)
        walls = given.sum() + model.other_w - away_w(inside)
        return np.append(flow / store, walls / case.heat_j_k)

    start = np.zeros(len(watt) + 1)
    found = solve_ivp(change, (0.0, seconds), start, method="LSODA", rtol=1e-7, atol=1e-7)
    return np.asarray(found.y[:-1, -1])


def test_a_pack_warms_as_an_independent_integrator_says() -> None:
    """Nine cells in a tub for 20 minutes and for 2 hours, each cell within 1.5 % of the rise."""
    model = replace(honeycomb_model(3, 3), other_w=0.5)
    for seconds in (1200.0, 7200.0):
        found = warmed(model, seconds).cell_c - 25.0
        assert found == pytest.approx(reference(model, seconds), rel=0.015)


def test_a_long_time_ends_at_the_steady_state() -> None:
    """A week later cells, walls and outside are where the steady solver has them."""
    model = replace(honeycomb_model(4, 6), other_w=1.0)
    end, rest = warmed(model, 7 * 86400.0), steady(model)
    assert end.cell_c == pytest.approx(rest.cell_c, abs=1e-3)
    assert end.enclosure_c == pytest.approx(rest.enclosure_c, abs=1e-3)
    assert end.outside_c == pytest.approx(rest.outside_c, abs=1e-2)


def test_the_time_to_a_limit_fits_the_temperature_then() -> None:
    """After that time the hottest cell is at the limit, from ambient and from a warm start."""
    model = honeycomb_model(4, 10)
    limit = 45.0
    seconds = time_to_c(model, limit)
    assert seconds is not None
    assert warmed(model, seconds).hottest_c == pytest.approx(limit, abs=0.4)
    warm = state_of(model, warmed(model, seconds / 2))
    rest_s = time_to_c(model, limit, start=warm)
    assert rest_s == pytest.approx(seconds / 2, rel=0.05)


def test_a_limit_that_is_never_reached() -> None:
    """A limit above the steady temperature, or just at it: None; below: a time."""
    model = honeycomb_model(3, 3)
    hottest = steady(model).hottest_c
    assert time_to_c(model, hottest + 5.0) is None
    assert time_to_c(model, hottest) is None
    assert time_to_c(model, hottest - 1.0) is not None


def test_a_start_above_the_limit_takes_no_time() -> None:
    """Also where ambient itself is above it."""
    model = honeycomb_model(3, 3)
    hot = State(cell_k=np.full(9, 40.0), inside_k=10.0, outside_k=5.0)
    assert time_to_c(model, 60.0, start=hot) == 0.0
    assert time_to_c(model, 25.0) == 0.0


def test_a_resting_pack_cools() -> None:
    """Without load a warm pack comes down, by the exponential for one bare cell."""
    model = honeycomb_model(1, 1, cell_w=0.0, cased=False)
    tau = 70.0 / float(network_of(model).held_w_k[0])
    warm = State(cell_k=np.array([20.0]), inside_k=0.0, outside_k=0.0)
    assert warmed(model, tau, start=warm).hottest_c - 25.0 == pytest.approx(
        20.0 * math.exp(-1.0), abs=0.015 * 20.0
    )


@pytest.mark.parametrize("seconds", [0.0, -5.0, math.nan])
def test_a_time_must_be_above_zero(seconds: float) -> None:
    """No time, no answer."""
    with pytest.raises(ValueError, match="above zero"):
        warmed(honeycomb_model(1, 1), seconds)
