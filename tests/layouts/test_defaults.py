"""Defaults by rule: they follow the tables, and stay sound over the whole range of sizes."""

from __future__ import annotations

import pytest

from layouts import defaults
from layouts.formats import CellFormat, cell_formats


@pytest.mark.parametrize("size", cell_formats().values(), ids=lambda size: size.format)
def test_the_rules_for_other_cans_come_near_the_tables(size: CellFormat) -> None:
    """For the sizes that the table has, each rule gives what the table has, or nearly."""
    found = defaults.can_size(size.format, diameter_mm=size.diameter_mm, length_mm=size.longest_mm)
    assert found.clearance_mm == size.clearance_mm
    assert found.depth_mm == size.depth_mm
    assert found.web_mm == pytest.approx(size.web_mm, abs=0.2)
    assert found.window_mm == pytest.approx(size.window_mm, abs=1.0)
    assert found.row_width_mm == pytest.approx(size.row_width_mm, abs=1.0)
    assert found.link_width_mm == pytest.approx(size.link_width_mm, abs=1.0)
    assert found.wide_width_mm == pytest.approx(size.wide_width_mm, abs=2.0)
    assert found.mass_g == pytest.approx(size.mass_g, rel=0.15)


@pytest.mark.parametrize("diameter_mm", [12.0, 14.3, 16.9, 20.3, 24.0, 34.0, 45.0])
def test_strips_of_any_can_leave_it_a_lip(diameter_mm: float) -> None:
    """The window laps the can by 1 mm or more, and the widest channel is narrower than the can."""
    found = defaults.can_size("own", diameter_mm=diameter_mm, length_mm=60.0)
    assert diameter_mm - found.window_mm >= 2.0
    assert found.row_width_mm <= found.wide_width_mm <= diameter_mm / 2
    assert 2 * found.depth_mm < 60.0


@pytest.mark.parametrize(("wire_mm2", "outside_mm"), [(8.0, 6.5), (2.0, 4.5), (16.0, 8.2)])
def test_a_wires_outside_is_copper_and_insulation(wire_mm2: float, outside_mm: float) -> None:
    """Worked by hand: sqrt(4 x 8 / (0.6 pi)) = 4.12, and 2 x 1.2 of insulation make 6.5."""
    assert defaults.wire_outside_mm(wire_mm2) == outside_mm
    assert defaults.leads(wire_mm2).outside_mm == outside_mm


def test_a_plain_cell_is_a_weak_one() -> None:
    """What is assumed of a cell lies below what usual ones give (invented: 2.5 Ah, 4 Ah)."""
    assert defaults.capacity_ah("nmc", diameter_mm=18.45, length_mm=65.3) == 2.4
    assert defaults.capacity_ah("nmc", diameter_mm=21.3, length_mm=70.3) == 3.5
    assert defaults.capacity_ah("another", diameter_mm=21.3, length_mm=70.3) == 1.3
    assert defaults.internal_resistance_mohm(4.0) == 20.0


def test_the_larger_the_pack_the_larger_its_board() -> None:
    """Boards grow with the cells in series at the steps that the pack file's help states."""
    boards = [defaults.bms(series).board_mm for series in (1, 4, 5, 7, 8, 20)]
    assert boards[0] == boards[1] == (60.0, 25.0, 8.0)
    assert boards[2] == boards[3] == (80.0, 50.0, 10.0)
    assert boards[4] == boards[5] == (110.0, 60.0, 12.0)
