"""Bending of plates, against finite differences of the plate equation written here, and statics."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.sparse import diags_array, eye_array, kron
from scipy.sparse.linalg import spsolve

from layouts.enclosures.stiffness import (
    POISSON,
    SquareLoad,
    bent_across,
    bent_by,
    bent_by_stiff_body,
)
from layouts.parts.shell import Rect

Floats = NDArray[np.float64]


def by_differences(
    a_mm: float, b_mm: float, step_mm: float, pressure: Floats
) -> tuple[float, float]:
    """Deepest sag x D and largest principal moment of a simply supported plate.

    The plate equation as two Poisson equations, each with 0 at the edges: the sum of the moments
    over 1 + nu, then the sag. ``pressure``: at the inner nodes of a raster of ``step_mm``."""
    nx, ny = round(a_mm / step_mm) - 1, round(b_mm / step_mm) - 1

    def second(n: int) -> object:
        return diags_array([1.0, -2.0, 1.0], offsets=[-1, 0, 1], shape=(n, n))

    laplace = (kron(second(nx), eye_array(ny)) + kron(eye_array(nx), second(ny))) / step_mm**2
    moment = spsolve(laplace.tocsc(), -pressure.ravel())
    sag = np.zeros((nx + 2, ny + 2))
    sag[1:-1, 1:-1] = spsolve(laplace.tocsc(), -moment).reshape(nx, ny)
    xx = -np.diff(sag, 2, axis=0)[:, 1:-1] / step_mm**2
    yy = -np.diff(sag, 2, axis=1)[1:-1] / step_mm**2
    xy = (sag[2:, 2:] - sag[2:, :-2] - sag[:-2, 2:] + sag[:-2, :-2]) / (4 * step_mm**2)
    mx, my, twist = xx + POISSON * yy, yy + POISSON * xx, (1 - POISSON) * xy
    principal = np.abs(mx + my) / 2 + np.hypot((mx - my) / 2, twist)
    return float(sag.max()), float(principal.max())


def pressure_of(a_mm: float, b_mm: float, step_mm: float, load: SquareLoad) -> Floats:
    """Of a load at the inner nodes, as much of each node's square as the load covers."""

    def share(side_mm: float, low: float, high: float) -> Floats:
        at = np.arange(1, round(side_mm / step_mm)) * step_mm
        lap = np.minimum(at + step_mm / 2, high) - np.maximum(at - step_mm / 2, low)
        return np.asarray(np.clip(lap, 0.0, None) / step_mm)

    area = load.area
    spread = np.outer(share(a_mm, area.x0, area.x1), share(b_mm, area.y0, area.y1))
    return np.asarray(load.force_n / np.prod(area.size_mm) * spread)


@pytest.mark.parametrize(
    ("size_mm", "area"),
    [
        ((100.0, 100.0), Rect(x0=0.0, x1=100.0, y0=0.0, y1=100.0)),
        ((106.0, 204.0), Rect(x0=0.0, x1=106.0, y0=0.0, y1=204.0)),
        ((160.0, 120.0), Rect(x0=10.0, x1=70.0, y0=20.0, y1=100.0)),
        ((160.0, 120.0), Rect(x0=96.0, x1=106.0, y0=32.0, y1=42.0)),
    ],
    ids=["square", "demo", "patch", "pad"],
)
def test_sag_and_moment_are_those_of_the_plate_equation(
    size_mm: tuple[float, float], area: Rect
) -> None:
    """Within 1 %: evenly loaded, and under a load on a part of it."""
    load = SquareLoad(area=area, force_n=200.0)
    plate = Rect(x0=0.0, x1=size_mm[0], y0=0.0, y1=size_mm[1])
    found = bent_by(plate, [load])
    sag, moment = by_differences(*size_mm, 1.0, pressure_of(*size_mm, 1.0, load))
    assert found.stiff_sag_n_mm2 == pytest.approx(sag, rel=0.01)
    assert found.moment_n == pytest.approx(moment, rel=0.01)


def test_stress_and_sag_of_a_thickness() -> None:
    """6 M / t2, and the sag by the cube of the thickness; the least one exceeds neither limit."""
    plate = Rect(x0=0.0, x1=100.0, y0=0.0, y1=100.0)
    found = bent_by(plate, [SquareLoad(area=plate, force_n=100.0)])
    assert found.stress_mpa(2.0) == pytest.approx(1.5 * found.moment_n)
    assert found.sag_mm(2.0, 1000.0) == pytest.approx(8.0 * found.sag_mm(4.0, 1000.0))
    for stress, sag in ((5.0, 50.0), (50.0, 0.5)):
        least = found.least_mm(stress_mpa=stress, sag_mm=sag, modulus_mpa=2000.0)
        used = found.stress_mpa(least) / stress, found.sag_mm(least, 2000.0) / sag
        assert max(used) == pytest.approx(1.0)


def test_an_even_body_on_four_even_pads_loads_them_evenly() -> None:
    """By symmetry a quarter each; all the same when plate and pads are moved."""
    pads = [(x, y, 4.0) for x in (20.0, 60.0) for y in (30.0, 70.0)]
    plate = Rect(x0=0.0, x1=80.0, y0=0.0, y1=100.0)
    found = bent_by_stiff_body(plate, pads, force_n=80.0, at_mm=(40.0, 50.0))
    assert found is not None
    assert found.forces_n == pytest.approx([20.0] * 4, rel=1e-4)
    moved = bent_by_stiff_body(
        Rect(x0=-7.0, x1=73.0, y0=5.0, y1=105.0), [(x - 7.0, y + 5.0, r) for x, y, r in pads],
        force_n=80.0, at_mm=(33.0, 55.0),
    )  # fmt: skip
    assert moved is not None
    assert moved.moment_n == pytest.approx(found.moment_n)


def test_forces_balance_and_pads_bend_down_to_one_plane() -> None:
    """Each pad that carries lies on the body's plane, each that does not lies below it."""
    plate = Rect(x0=0.0, x1=150.0, y0=0.0, y1=120.0)
    pads = [
        (15.0, 12.0, 4.0), (80.0, 20.0, 5.0), (12.0, 60.0, 4.0), (82.0, 60.0, 5.0),
        (45.0, 62.0, 3.0), (16.0, 105.0, 4.0), (90.0, 100.0, 5.0),
    ]  # fmt: skip
    force, at = 120.0, (50.0, 55.0)
    found = bent_by_stiff_body(plate, pads, force_n=force, at_mm=at)
    assert found is not None
    forces = np.array(found.forces_n)
    x, y = np.array(pads)[:, :2].T
    assert forces.sum() == pytest.approx(force, rel=1e-6)
    assert forces @ (x - at[0]) == pytest.approx(0.0, abs=0.02 * force)
    assert forces @ (y - at[1]) == pytest.approx(0.0, abs=0.02 * force)
    assert forces.min() >= 0.0 and (forces == 0.0).any()
    pressure = np.zeros((149, 119))
    for (px, py, radius), one in zip(pads, forces, strict=True):
        half = np.sqrt(np.pi) / 2 * radius
        area = Rect(x0=px - half, x1=px + half, y0=py - half, y1=py + half)
        pressure += pressure_of(150.0, 120.0, 1.0, SquareLoad(area=area, force_n=one))
    sag, moment = by_differences(150.0, 120.0, 1.0, pressure)
    assert found.stiff_sag_n_mm2 == pytest.approx(sag, rel=0.01)
    assert found.moment_n == pytest.approx(moment, rel=0.03)


def test_no_forces_where_nothing_balances() -> None:
    """Two pads, or a force outside of what the pads span."""
    plate = Rect(x0=0.0, x1=100.0, y0=0.0, y1=100.0)
    pads = [(20.0, 20.0, 4.0), (60.0, 20.0, 4.0), (40.0, 50.0, 4.0)]
    assert bent_by_stiff_body(plate, pads[:2], force_n=10.0, at_mm=(40.0, 20.0)) is None
    assert bent_by_stiff_body(plate, pads, force_n=10.0, at_mm=(40.0, 80.0)) is None
    assert bent_by_stiff_body(plate, pads, force_n=10.0, at_mm=(40.0, 30.0)) is not None


def test_what_crosses_lines_of_an_evenly_loaded_plate() -> None:
    """Twice as long as wide: both moments at the middle (0.1017 and 0.0464 q a2 at nu = 0.3,
    turned into those at this nu) and the shear at a long edge (0.465 q a); Timoshenko and
    Woinowsky-Krieger, table 8, from memory. Across the short way none is larger."""
    a, q = 100.0, 0.01
    plate = Rect(x0=10.0, x1=10.0 + a, y0=-50.0, y1=-50.0 + 2 * a)
    load = [SquareLoad(area=plate, force_n=q * 2 * a * a)]
    bent_x = (0.1017 - 0.3 * 0.0464) / (1.0 - 0.3**2)
    bent_y = 0.0464 - 0.3 * bent_x
    moment, shear = bent_across(plate, load, 0, [10.0, 60.0])
    assert moment[1] == pytest.approx((bent_x + POISSON * bent_y) * q * a**2, rel=5e-3)
    assert moment[1] == pytest.approx(bent_by(plate, load).moment_n, rel=1e-9)
    assert moment[0] == pytest.approx(0.0, abs=1e-9)
    assert shear[0] == pytest.approx(0.465 * q * a, rel=2e-2) and shear[1] < 0.01 * shear[0]
    along, _ = bent_across(plate, load, 1, [50.0])
    assert along[0] == pytest.approx((bent_y + POISSON * bent_x) * q * a**2, rel=5e-3)
