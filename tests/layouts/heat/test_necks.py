"""When a neck between cold sheets melts, against other ways to work it out."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_bvp, solve_ivp

from layouts.formats import conductors
from layouts.heat.convection import KELVIN
from layouts.heat.necks import adiabatic_s, melting_a, melting_v, melts_after_s, neck_metal
from layouts.heat.paths import LORENZ_W_OHM_K2

NICKEL, COPPER = neck_metal("nickel"), neck_metal("copper")
NARROW, WIDE = (1.0, 4.0), (2.0, 8.0)  # width and length of a neck in nickel 0.15, mm
THICK_MM = 0.15
COLD_C = 20.0


def ohm_of(size_mm: tuple[float, float]) -> float:
    """A straight neck's ohms at 20 C."""
    return NICKEL.ohm_m * size_mm[1] * 1e3 / (size_mm[0] * THICK_MM)


def melts_s(amps: float, size_mm: tuple[float, float], most_s: float = 5.0) -> float | None:
    """At a constant current, from cold."""
    return melts_after_s(
        NICKEL,
        amps_at=lambda ohm: amps,
        area_mm2=size_mm[0] * THICK_MM,
        length_mm=size_mm[1],
        ends_c=COLD_C,
        most_s=most_s,
    )


@pytest.mark.parametrize(
    ("size_mm", "steady_a", "at_150_a", "at_300_a"),
    [(NARROW, 41.0, 18.0e-3, 5.0e-3), (WIDE, 41.0, 73.0e-3, 18.0e-3)],
)
def test_it_melts_as_computed_apart_from_this(
    size_mm: tuple[float, float], steady_a: float, at_150_a: float, at_300_a: float
) -> None:
    """Ohms, current in the long run and times; whole digits were told, so 6 % are allowed."""
    # computed apart from this code by the same integral, ends warm; no published source
    assert ohm_of(size_mm) == pytest.approx(2.6e-3, rel=0.02)
    assert melting_a(NICKEL, ohm=ohm_of(size_mm), ends_c=60.0) == pytest.approx(steady_a, rel=0.02)
    for amps, seconds in ((150.0, at_150_a), (300.0, at_300_a)):
        assert melts_s(amps, size_mm) == pytest.approx(seconds, rel=0.06)


def test_the_current_in_the_long_run_is_that_of_the_heat_equation() -> None:
    """Temperature along the neck solved as a boundary value problem: the current at which its
    middle just melts, and the volts then."""
    size_mm = NARROW
    half_m, area_m2 = size_mm[1] / 2000.0, size_mm[0] * THICK_MM * 1e-6
    amps = melting_a(NICKEL, ohm=ohm_of(size_mm), ends_c=COLD_C)

    def slopes(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        """y: kelvin, and heat that flows to the middle [W]."""
        ohm_m = NICKEL.ohm_m * NICKEL.ratio(y[0])
        conducts = LORENZ_W_OHM_K2 * y[0] / ohm_m
        return np.array([-y[1] / (conducts * area_m2), amps**2 * ohm_m / area_m2])

    def ends(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.array([a[0] - (COLD_C + KELVIN), b[1]])

    x = np.linspace(0.0, half_m, 60)
    hot = NICKEL.melting_c + KELVIN
    first = np.array([np.sqrt(np.linspace(290.0**2, hot**2, 60)), np.linspace(-10.0, 0.0, 60)])
    found = solve_bvp(slopes, ends, x, first, tol=1e-6, max_nodes=20000)
    assert found.success, found.message
    assert found.y[0][-1] == pytest.approx(hot, rel=0.005)
    ohm = NICKEL.ohm_m * NICKEL.ratio(found.y[0]) / area_m2
    volts = 2.0 * amps * float(np.trapezoid(ohm, found.x))
    assert volts == pytest.approx(melting_v(NICKEL, ends_c=COLD_C), rel=0.005)


@pytest.mark.parametrize("amps", [50.0, 120.0])
def test_the_time_is_that_of_the_heat_equation(amps: float) -> None:
    """The whole neck on nodes of its own, its steps chosen by a general solver."""
    size_mm, nodes = NARROW, 61
    area_m2 = size_mm[0] * THICK_MM * 1e-6
    step_m = size_mm[1] / 1000.0 / (nodes - 1)

    def warmer(_: float, kelvin: NDArray[np.float64]) -> NDArray[np.float64]:
        ohm_m = NICKEL.ohm_m * (1.0 + NICKEL.per_kelvin * (kelvin - KELVIN - 20.0))
        conducts = LORENZ_W_OHM_K2 * kelvin / ohm_m
        between = (conducts[1:] + conducts[:-1]) / 2.0 * np.diff(kelvin) / step_m
        change = np.zeros(nodes)
        heat = (amps / area_m2) ** 2 * ohm_m[1:-1]
        change[1:-1] = (np.diff(between) / step_m + heat) / NICKEL.heat_j_k_m3
        return change

    def molten(_: float, kelvin: NDArray[np.float64]) -> float:
        return float(kelvin[nodes // 2] - (NICKEL.melting_c + KELVIN))

    molten.terminal = True  # type: ignore[attr-defined]
    start = np.full(nodes, COLD_C + KELVIN)
    solved = solve_ivp(warmer, (0.0, 5.0), start, method="BDF", events=molten, rtol=1e-5)
    assert melts_s(amps, size_mm) == pytest.approx(float(solved.t_events[0][0]), rel=0.03)


def test_without_time_for_heat_to_leave_it_is_heating_without_losses() -> None:
    """And with time it takes longer, up to where the current never melts it."""
    area_mm2 = NARROW[0] * THICK_MM
    for amps, more in ((1000.0, 0.02), (60.0, 1.0)):
        least = adiabatic_s(NICKEL, amps=amps, area_mm2=area_mm2, from_c=COLD_C)
        found = melts_s(amps, NARROW)
        assert found is not None
        assert 0.98 * least < found < (1.0 + more) * least
    steady = melting_a(NICKEL, ohm=ohm_of(NARROW), ends_c=COLD_C)
    assert melts_s(0.97 * steady, NARROW, most_s=60.0) is None
    assert melts_s(1.03 * steady, NARROW, most_s=60.0) is not None


def test_the_table_has_every_conductor_and_copper_carries_more() -> None:
    """A metal without a melting point is refused by its name."""
    for material in conductors():
        metal = neck_metal(material)
        assert 0.2 < melting_v(metal, ends_c=COLD_C) < 0.6
    with pytest.raises(ValueError, match="no melting point of 'tin'"):
        neck_metal("tin")
    # computed apart from this code: copper 0.1, 1.0 x 8
    assert melting_a(COPPER, ohm=1.4e-3, ends_c=60.0) == pytest.approx(76.0, rel=0.06)
