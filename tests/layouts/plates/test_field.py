"""A sheet as a conductor, against strips whose answers are exact, ladders and a finer raster."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from layouts.strips.field import Covering, SheetField, sheet_field

SIEMENS = 0.15e-3 / 9.6e-8  # nickel of 0.15 mm: thickness over resistivity


def strip(long_mm: float, wide_mm: float, **more: float) -> SheetField:
    """A straight strip, a contact of 2 mm over its whole width, and past it, at each end."""
    shape, past = shapely.box(0.0, 0.0, long_mm, wide_mm), wide_mm + 1.0
    ends = [shapely.box(0.0, -1.0, 2.0, past), shapely.box(long_mm - 2.0, -1.0, long_mm, past)]
    return sheet_field(shape, ends, SIEMENS, **more)


@pytest.mark.parametrize(("long_mm", "wide_mm"), [(24.0, 8.0), (40.0, 6.0), (12.0, 10.0)])
def test_a_strip_is_its_length_over_its_width(long_mm: float, wide_mm: float) -> None:
    """R = rho L / (t w) between its contacts."""
    field = strip(long_mm, wide_mm)
    pairs, ohm = field.links()
    assert pairs.tolist() == [[0, 1]]
    assert ohm[0] == pytest.approx((long_mm - 4.0) / (wide_mm * SIEMENS), rel=1e-3)


def test_two_layers_carry_twice_as_much() -> None:
    """Siemens of layers add up; a bar over the whole strip is a layer too."""
    shape = shapely.box(0.0, 0.0, 30.0, 6.0)
    ends = [shapely.box(0.0, 0.0, 2.0, 6.0), shapely.box(28.0, 0.0, 30.0, 6.0)]
    plain = sheet_field(shape, ends, SIEMENS).links()[1][0]
    covered = sheet_field(shape, ends, SIEMENS, coverings=[Covering(shape=shape, siemens=SIEMENS)])
    assert covered.links()[1][0] == pytest.approx(plain / 2.0)


@given(st.integers(2, 5), st.integers(0, 1000))
def test_rows_of_the_reduced_sheet_sum_to_zero(count: int, seed: int) -> None:
    """No current where all contacts are at one potential; reciprocal; links are positive."""
    rng = np.random.default_rng(seed)
    shape = shapely.box(0.0, 0.0, 40.0, 20.0)
    at = [(4.0 + 8.0 * k, float(rng.uniform(4.0, 16.0))) for k in range(count)]
    field = sheet_field(shape, [shapely.Point(x, y).buffer(2.5) for x, y in at], SIEMENS)
    whole = field.conductance
    assert np.abs(whole.sum(axis=1)).max() < 1e-5 * np.abs(whole).max()
    assert whole == pytest.approx(whole.T)
    assert (field.links()[1] > 0).all()


def test_a_ladder_of_narrow_strips_is_a_ladder_of_resistors() -> None:
    """Two rails and three rungs of 1 mm on a raster of 0.25: within 4 % of the lines' resistors."""
    lines = [
        shapely.box(0, 0, 60, 1), shapely.box(0, 20, 60, 21),
        *(shapely.box(x, 0, x + 1, 21) for x in (0, 29.5, 59)),
    ]  # fmt: skip
    corners = [shapely.box(0, 0, 1, 1), shapely.box(59, 20, 60, 21)]
    field = sheet_field(shapely.union_all(lines), corners, SIEMENS, step_mm=0.25)
    rung, rail = 20.0 / SIEMENS, 29.5 / SIEMENS
    # from one corner to the opposite one, by nodes of the six joints
    nodes = {(0, 0): 0, (1, 0): 1, (2, 0): 2, (0, 1): 3, (1, 1): 4, (2, 1): 5}
    links = [((k, r), (k + 1, r), rail) for k in (0, 1) for r in (0, 1)]
    links += [((k, 0), (k, 1), rung) for k in range(3)]
    matrix = np.zeros((6, 6))
    for a, b, ohm in links:
        i, j = nodes[a], nodes[b]
        matrix[[i, j], [i, j]] += 1.0 / ohm
        matrix[[i, j], [j, i]] -= 1.0 / ohm
    drive = np.zeros(6)
    drive[[0, 5]] = 1.0, -1.0
    volts = np.linalg.lstsq(matrix, drive, rcond=None)[0]
    assert field.links()[1][0] == pytest.approx(volts[0] - volts[5], rel=0.04)


def test_the_middle_of_a_strip_is_warmest_by_the_square_of_its_volts() -> None:
    """Ends held, no loss: V^2 / (8 L T) by Wiedemann and Franz (the heated wire of Kohlrausch,
    small rise), whatever its metal and size."""
    lorenz = 2.443e-8 * 330.0
    for long_mm in (24.0, 44.0):
        rises = strip(long_mm, 6.0).rises_k(
            np.array([[0.0, 2e-3], [1e-3, 4e-3]]), film_w_m2k=0.0, heat_w_k_siemens=lorenz
        )
        exact = np.array([2e-3, 3e-3]) ** 2 / (8.0 * lorenz)
        assert rises == pytest.approx(exact, rel=0.01)


def test_air_cools_a_sheet() -> None:
    """A film takes heat off: less warm than without, and in the limit of none the same."""
    volts, lorenz = np.array([[0.0, 2e-3]]), 2.443e-8 * 330.0
    rises = [
        float(strip(60.0, 6.0).rises_k(volts, film_w_m2k=film, heat_w_k_siemens=lorenz)[0])
        for film in (0.0, 5.0, 50.0)
    ]
    assert rises[0] > rises[1] > rises[2] > 0.0


def test_a_contact_beside_the_sheet_is_a_mistake() -> None:
    """It says which one."""
    with pytest.raises(ValueError, match="contact 1 covers no square"):
        sheet_field(
            shapely.box(0, 0, 10, 10),
            [shapely.Point(5, 5).buffer(2), shapely.Point(50, 5).buffer(2)],
            SIEMENS,
        )
