"""What a planned pack's box gives off, passes and stores, worked from its sizes."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from layouts.heat.model import HeatModel
from layouts.heat.steady import outside_k, outside_w_k
from layouts.pack import Cooling
from tests.layouts.enclosed import enclosed
from tests.layouts.heat.test_of_pack import model_of


@cache
def one_cell() -> HeatModel:
    """A single cell in its box."""
    return model_of(enclosed("1S1P"), load_a=5.0)


def test_no_face_counts_twice() -> None:
    """Sides, top and bottom give off no more than the box has; the sides are all of its sides."""
    case = one_cell().case
    assert case is not None
    a, b = enclosed("1S1P").design.outer.size_mm
    sides_mm2 = 2 * (a + b) * case.high_mm
    assert case.side_mm2 == pytest.approx(sides_mm2)
    assert case.side_mm2 + case.top_mm2 + case.bottom_mm2 <= sides_mm2 + 2 * a * b + 1e-6
    assert max(case.top_mm2, case.bottom_mm2) == pytest.approx(a * b)


def test_walls_and_lid_pass_heat_side_by_side_and_the_floor_where_air_is_below() -> None:
    """Conductivity 0.2 of PETG times each inner face's area over its thickness (Fourier)."""
    made, case = enclosed("1S1P"), one_cell().case
    assert case is not None and made.pack.printer.material == "petg"
    shell = made.enclosure.shell
    x0, y0, x1, y1 = shell.cavity.bounds
    a, b = (x1 - x0) / 1000.0, (y1 - y0) / 1000.0
    high = (made.enclosure.shell.z_rim_mm - shell.z_floor_mm) / 1000.0
    metres = 2 * (a + b) * high / (shell.wall_mm / 1000.0)
    metres += a * b / (shell.lid_mm / 1000.0)
    assert case.wall_w_k == pytest.approx(0.2 * metres, rel=0.01)
    assert case.bottom_mm2 == 0.0
    hung = replace(made, pack=replace(made.pack, cooling=Cooling(below_free=True)))
    open_below = model_of(hung, load_a=5.0).case
    assert open_below is not None
    floor = a * b / (shell.floor_mm / 1000.0)
    assert open_below.wall_w_k == pytest.approx(0.2 * (metres + floor), rel=0.01)
    assert open_below.bottom_mm2 == open_below.top_mm2


def test_a_cell_stores_a_kilojoule_a_kilogram_and_kelvin() -> None:
    """The planning value of public articles on cells, about 1000 J/(kg K)."""
    cell = enclosed("1S1P").pack.cell
    assert one_cell().can.heat_j_k == pytest.approx(cell.mass_g, rel=0.02)


def test_a_guess_that_is_right_takes_one_round() -> None:
    """The search begins at 1 K: watts that make just that are met at once."""
    case = one_cell().case
    assert case is not None
    rise_k, rounds = outside_k(case, outside_w_k(case, 1.0, 25.0), 25.0)
    assert rise_k == pytest.approx(1.0, rel=1e-9) and rounds == 1
