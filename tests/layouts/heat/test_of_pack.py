"""The heat model of planned packs: every number from its own place."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from layouts.currents.network import solve
from layouts.currents.strips import strip_network
from layouts.errors import PlanError
from layouts.formats import materials
from layouts.heat.model import HeatModel
from layouts.heat.of_pack import ROOM_TEMPERATURE_C, heat_limits, heat_model
from layouts.heat.steady import steady
from layouts.pack import Load
from layouts.planning.pack_plan import walls_of
from tests.layouts.enclosed import Enclosed, enclosed
from tests.samples import sample_pack


def model_of(made: Enclosed, *, load_a: float = 20.0, bare: bool = False) -> HeatModel:
    """Cells and strips as the network of currents has them."""
    network = strip_network(made.pack, made.cell_layout, made.interconnect)
    flow = solve(network.network, load_a)
    return heat_model(
        made.pack,
        made.cell_layout,
        made.interconnect,
        None if bare else walls_of(made.enclosure),
        load_a=load_a,
        cell_a=flow.cell_a,
        link_w=network.strips_of(flow.link_w),
    )


@cache
def ten_by_four() -> HeatModel:
    """10S4P of 21700 at 20 A."""
    return model_of(enclosed("10S4P"))


def test_ten_by_four_at_twenty_amps_gets_believably_warm() -> None:
    """5 A each through 15 mohm: 15 W and the strips'; some tens of kelvins when it never ends."""
    model = ten_by_four()
    found = steady(model)
    assert model.cell_w.sum() == pytest.approx(15.0, rel=0.05)
    assert found.watts_in == pytest.approx(found.watts_out, rel=1e-9)
    assert 20.0 < found.rise_k < 60.0
    assert 8.0 < found.outside_c - ROOM_TEMPERATURE_C < 20.0


def test_the_heat_is_that_of_the_currents() -> None:
    """Cells' and strips' watts are the network's own."""
    made = enclosed("10S4P")
    network = strip_network(made.pack, made.cell_layout, made.interconnect)
    flow = solve(network.network, 20.0)
    cells = float((flow.cell_a**2).sum()) * 0.015
    strips = network.strips_of(flow.link_w).sum()
    assert ten_by_four().watts == pytest.approx(cells + strips, rel=1e-12)


def test_gaps_and_case_are_the_enclosures() -> None:
    """Gas gaps over both faces, the side gap at the nearest wall, the box's faces."""
    made, model = enclosed("10S4P"), ten_by_four()
    assert model.gaps is not None and model.case is not None
    assert model.gaps.lower_mm >= made.pack.enclosure.gas_gap_mm - 1e-9
    assert model.gaps.upper_mm >= made.pack.enclosure.gas_gap_mm - 1e-9
    least = made.pack.holder.wall_mm + made.pack.enclosure.side_gap_mm
    assert model.gaps.side_mm.min() >= least - 1e-9
    a, b = made.design.outer.size_mm
    assert model.case.top_mm2 == pytest.approx(a * b, rel=1e-12)
    assert model.case.side_mm2 == pytest.approx(2 * (a + b) * model.case.high_mm, rel=1e-12)
    assert model.case.plate_mm == pytest.approx(a * b / (2 * (a + b)), rel=1e-12)


def test_a_grid_looks_outwards_by_quarters() -> None:
    """4S6P on a grid: four neighbours at most, square sites."""
    model = model_of(enclosed("4S6P"))
    assert model.most_neighbours == 4
    pitch = enclosed("4S6P").pack.pitch_mm
    assert model.held.site_mm2 == pytest.approx(pitch**2, rel=1e-12)
    assert np.bincount(model.neighbours.ravel()).max() == 4
    assert steady(model).watts_out == pytest.approx(model.watts, rel=1e-9)


@pytest.mark.parametrize("name", ["1S1P", "5S1P"])
def test_the_smallest_packs(name: str) -> None:
    """One cell, one row: balanced, with and without an enclosure."""
    for bare in (False, True):
        model = model_of(enclosed(name), load_a=5.0, bare=bare)
        found = steady(model)
        assert found.watts_out == pytest.approx(model.watts, rel=1e-9)
        assert found.rise_k > 0.0


def test_without_an_enclosure_cells_stand_in_still_air() -> None:
    """Walls have ambient temperature then; a load's own ambient is taken."""
    made = enclosed("10S4P")
    warm = replace(made.pack, load=Load(continuous_a=20.0, ambient_c=35.0))
    model = model_of(replace(made, pack=warm), bare=True)
    found = steady(model)
    assert found.enclosure_c == found.outside_c == 35.0
    assert found.rise_k > 20.0


@pytest.mark.parametrize("name", ["1S1P", "10S4P", "4S6P"])
def test_the_case_stores_the_heat_of_all_its_plastic(name: str) -> None:
    """Drawn tub and lid, bosses, mounting pads and drip skirts with them: more than a plain box
    of such walls.
    """
    made = enclosed(name)
    case = model_of(made).case
    assert case is not None
    limits = heat_limits(made.pack)
    drawn_mm3 = sum(part.drawing.volume_mm3() for part in made.enclosure.parts)
    density = materials()[made.pack.printer.material].density_g_cm3
    assert case.heat_j_k == pytest.approx(drawn_mm3 * density * limits.polymer.heat_j_kgk / 1e6)
    shell = made.enclosure.shell
    plain_mm3 = shell.outer.area * shell.high_mm - shell.cavity.area * shell.inside_mm
    assert drawn_mm3 > 1.1 * plain_mm3


def test_limits_are_the_cells_and_the_materials() -> None:
    """max_c of the cell, the printer's material."""
    limits = heat_limits(sample_pack())
    assert (limits.cells_c, limits.polymer.material) == (60.0, "petg")


def test_a_material_without_values_is_told_by_its_field() -> None:
    """Clear words, no KeyError."""
    pack = sample_pack()
    odd = replace(pack, printer=replace(pack.printer, material="wood"))
    with pytest.raises(PlanError, match=r"printer\.material.*wood.*petg"):
        heat_limits(odd)


def test_watts_of_another_strip_are_refused() -> None:
    """A list that doesn't fit the strips is a mistake of the caller's."""
    made = enclosed("10S4P")
    with pytest.raises(ValueError, match="lengths of strip"):
        heat_model(
            made.pack, made.cell_layout, made.interconnect, None,
            load_a=20.0, cell_a=np.full(40, 5.0), link_w=np.zeros(3),
        )  # fmt: skip
