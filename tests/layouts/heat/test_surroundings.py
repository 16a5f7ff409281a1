"""A closed bay, what it lies on and the sun: balances, limits and a general integrator."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from layouts.errors import PlanError
from layouts.heat.convection import air, narrow_radiation_w_m2k
from layouts.heat.limit import TemperatureLimits, continuous_limit
from layouts.heat.model import Case, HeatModel, network_of
from layouts.heat.polymers import polymer_heats
from layouts.heat.steady import outside_w_k, soaked_c, steady
from layouts.heat.surroundings import BayWalls, bay_walls, in_bay, in_bay_alone, in_sun
from layouts.heat.temperature_limits import check_soaked
from layouts.heat.warming import warmed
from layouts.pack import Bay, Cooling, Sun
from layouts.spaces.outline import sound_prism
from layouts.spaces.space import Space, box_space
from tests.layouts.heat.models import honeycomb_model

CLOSED = Cooling(bay=Bay.CLOSED)
LIMITS = TemperatureLimits(cells_c=60.0, polymer=polymer_heats()["petg"])
STEADY_S = 3e6


def model_in(case: Case | None) -> HeatModel:
    """The 3 x 4 cells of the other tests, in that case."""
    return replace(honeycomb_model(3, 4), case=case)


def plain_case() -> Case:
    """Their own enclosure, on something that takes no heat."""
    case = honeycomb_model(3, 4).case
    assert case is not None
    return replace(case, bottom_mm2=0.0)


def walls(long_mm: float, wide_mm: float, high_mm: float) -> BayWalls:
    """A box's."""
    found = bay_walls(CLOSED, box_space((long_mm, wide_mm, high_mm)))
    assert found is not None
    return found


def test_walls_of_a_box_and_of_an_outline() -> None:
    """Area and perimeter by hand; an L of the same box has the same perimeter and less area."""
    box = walls(200.0, 100.0, 90.0)
    assert (box.floor_mm2, box.round_mm, box.side_mm2) == (20_000.0, 600.0, 54_000.0)
    corners = [(0, 0), (200, 0), (200, 50), (100, 50), (100, 100), (0, 100)]
    ell = bay_walls(CLOSED, Space(room=sound_prism(corners, [], 90.0)))
    assert ell is not None
    assert (ell.floor_mm2, ell.round_mm) == pytest.approx((15_000.0, 600.0))


def test_an_open_bay_has_no_walls_and_a_closed_one_needs_some() -> None:
    """The field is named."""
    assert bay_walls(Cooling(), box_space((1.0, 1.0, 1.0))) is None
    for space in (None, Space(room=None)):
        with pytest.raises(PlanError, match=r"cooling\.bay: needs the walls"):
            bay_walls(CLOSED, space)


def test_a_bay_of_four_millimetres_all_round() -> None:
    """Air 4 mm at the sides, 10 above: conduction and radiation in parallel, in series with the
    enclosure's walls; worked out from the faces alone."""
    case = plain_case()
    perimeter = case.side_mm2 / case.high_mm
    area = case.top_mm2
    # a rectangle of that area and perimeter, and the one 4 mm outside it
    half = perimeter / 2.0
    long_mm = (half + (half**2 - 4.0 * area) ** 0.5) / 2.0
    wide_mm = half - long_mm
    found = in_bay(case, walls(long_mm + 8, wide_mm + 8, case.high_mm + 10), ambient_c=25.0)
    k, shine = air(25.0).conductivity_w_mk, narrow_radiation_w_m2k(25.0)
    side = (k / 0.004 + shine) * case.side_mm2 * 1e-6
    above = (k / 0.010 + shine) * case.top_mm2 * 1e-6
    assert 1.0 / found.wall_w_k == pytest.approx(1.0 / case.wall_w_k + 1.0 / (side + above))
    assert found.bottom_mm2 == 0.0
    assert found.heat_j_k == case.heat_j_k


@given(
    st.floats(0.0, 200.0), st.floats(0.0, 60.0), st.sampled_from(list(Sun)), st.floats(0.01, 1.5)
)
def test_what_goes_in_comes_out_and_a_bay_only_warms(
    wider_mm: float, higher_mm: float, sun: Sun, cell_w: float
) -> None:
    """Balance to 1e-9 in any bay and any sun. Beside a bay as large as the enclosure, air between
    them makes it warmer inside; the sun makes all of it warmer still."""
    case = plain_case()
    bay = walls(120.0 + wider_mm, 110.0 + wider_mm, case.high_mm + higher_mm)
    shaded = replace(model_in(in_bay(case, bay, ambient_c=25.0)), cell_w=np.full(12, cell_w))
    assert shaded.case is not None
    lit = replace(shaded, case=in_sun(shaded.case, sun))
    cool, warm = steady(shaded), steady(lit)
    assert warm.watts_out == pytest.approx(warm.watts_in, rel=1e-9)
    assert warm.hottest_c >= cool.hottest_c
    bare = steady(replace(shaded, case=replace(shaded.case, wall_w_k=case.wall_w_k)))
    assert cool.hottest_c > bare.hottest_c


def test_the_sun_alone() -> None:
    """Without a load all stands at what the outside reaches: films carry off 950 W a m2."""
    case = in_sun(plain_case(), Sun.DARK)
    model = replace(model_in(case), cell_w=np.full(12, 1e-12))
    top_m2 = case.top_mm2 * 1e-6
    assert case.sun_w == pytest.approx(950.0 * top_m2)
    rise = soaked_c(model) - 25.0
    assert outside_w_k(case, rise, 25.0) * rise == pytest.approx(950.0 * top_m2)
    assert steady(model).hottest_c == pytest.approx(25.0 + rise)
    assert warmed(model, 3600.0).hottest_c == pytest.approx(25.0 + rise, abs=1e-6)
    # less than a black sheet that is insulated behind and on all sides
    alone = replace(case, side_mm2=1e-9)
    assert 10.0 < rise < soaked_c(model_in(alone)) - 25.0


def test_a_light_face_is_cooler_than_a_dark_one() -> None:
    """And none is at ambient."""
    at = [soaked_c(model_in(in_sun(plain_case(), sun))) for sun in (Sun.NONE, Sun.LIGHT, Sun.DARK)]
    assert at[0] == 25.0
    assert at[0] < at[1] < at[2]


def test_warming_in_the_sun_follows_a_general_integrator() -> None:
    """From rest in the sun to the steady end, cells, inside and outside of the walls."""
    case = in_sun(in_bay(plain_case(), walls(150.0, 140.0, 100.0), ambient_c=25.0), Sun.LIGHT)
    model = model_in(case)
    network = network_of(model)
    count = len(model.cell_w)
    rest_k = soaked_c(model) - 25.0

    def rates(_: float, kelvin: np.ndarray) -> np.ndarray:
        cells, inside = kelvin[:count], kelvin[count]
        rise = rest_k
        for _ in range(60):  # of the outside, which stores nothing
            film = outside_w_k(case, rise, 25.0)
            rise = (case.wall_w_k * inside + case.sun_w) / (case.wall_w_k + film)
        given_w = network.held_w_k * (cells - inside)
        flows = model.node_w - given_w
        for (i, j), w_k in zip(network.pairs, network.pair_w_k, strict=True):
            flows[i] -= w_k * (cells[i] - cells[j])
            flows[j] += w_k * (cells[i] - cells[j])
        walls_w = given_w.sum() - case.wall_w_k * (inside - rise)
        return np.append(flows / model.can.heat_j_k, walls_w / case.heat_j_k)

    start = np.full(count + 1, rest_k)
    expected = solve_ivp(rates, (0.0, 2400.0), start, method="LSODA", rtol=1e-7).y[:count, -1]
    found = warmed(model, 2400.0).cell_c - 25.0
    # steps of a fortieth: within 1.5 % of what the load adds
    assert found == pytest.approx(expected, abs=0.015 * float((expected - rest_k).max()))
    assert warmed(model, STEADY_S).hottest_c == pytest.approx(steady(model).hottest_c, abs=0.01)


def test_cells_without_an_enclosure_warm_the_bay() -> None:
    """Warmer than in free air by what the bay's air is over ambient, and in balance."""
    model = honeycomb_model(3, 4, cased=False)
    held = replace(model, case=in_bay_alone(walls(150.0, 140.0, 100.0), below_free=False))
    free, closed = steady(model), steady(held)
    assert closed.watts_out == pytest.approx(closed.watts_in, rel=1e-9)
    assert closed.enclosure_c > 25.0
    assert closed.hottest_c - free.hottest_c == pytest.approx(closed.enclosure_c - 25.0)
    assert continuous_limit(held, LIMITS).amps < continuous_limit(model, LIMITS).amps


def test_no_current_is_left_where_the_sun_is_enough() -> None:
    """At a limit below what the sun makes, 0 A; and the pack is refused by field."""
    model = model_in(in_sun(plain_case(), Sun.DARK))
    low = replace(LIMITS, cells_c=soaked_c(model) - 1.0)
    assert continuous_limit(model, low).amps == 0.0
    with pytest.raises(PlanError, match=r"cooling\.sun: makes the pack \d\d C warm"):
        check_soaked(low, soaked_c=soaked_c(model))
    check_soaked(replace(low, cells_c=soaked_c(model) + 1.0), soaked_c=soaked_c(model))
