"""Laps of floors and plates: they print without support, whatever the layer, and leave a gap."""

from __future__ import annotations

import itertools

import pytest

from layouts import defaults
from layouts.enclosures.laps import (
    SEAM_GAP_MM,
    STEP_MM,
    STRAIGHT,
    lap_levels,
    offsets_at,
    with_lapped_wall,
)
from layouts.pack import EnclosureStyle
from tests.generators.packfile.files import PLAIN, read

LAYERS_MM = (0.1, 0.15, 0.2, 0.25, 0.28, 0.3, 0.6)


@pytest.mark.parametrize("layer_mm", LAYERS_MM)
@pytest.mark.parametrize("thick_mm", [2.4, 3.0, 3.3, 5.0])
def test_they_overhang_by_a_layer_a_layer(thick_mm: float, layer_mm: float) -> None:
    """45 degrees: the piece behind reaches out by one layer's height in each layer at most, the
    one before never; the gap upright is 0.2 at least; levels are whole layers and fill it."""
    levels = lap_levels(thick_mm, layer_mm)
    assert levels[0][0] == 0.0 and levels[-1][1] == thick_mm
    assert levels[0][2][0] == levels[0][2][1] > 0.0 > levels[-1][2][0] == levels[-1][2][1]
    assert levels[0][2][0] == pytest.approx(-levels[-1][2][0]) and levels[0][2][0] <= STEP_MM + 1e-9
    for (_, end, (before, behind)), (start, _, (next_before, next_behind)) in itertools.pairwise(
        levels
    ):
        assert end == start
        assert end / layer_mm == pytest.approx(round(end / layer_mm))
        assert 0.0 <= behind - next_behind <= layer_mm + 1e-6
        assert before >= next_before
    for z0, _, (_, behind) in levels:  # what is below where the piece behind reaches out
        for _, z1, (before, _) in levels:
            if z1 <= z0 and z1 > z0 - 0.2 + 1e-6 and behind < levels[0][2][1]:
                assert before <= behind + 1e-6
    assert min(levels[0][1], thick_mm - levels[-1][0]) >= 0.6 - 1e-9


def test_a_line_too_thin_to_lean_is_upright() -> None:
    """Of six layers none is left between upright faces; beyond a plate it is upright as well."""
    assert lap_levels(1.2, 0.2) == ((0.0, 1.2, STRAIGHT),)
    assert offsets_at(3.1, 3.0, 0.2) == STRAIGHT
    assert offsets_at(0.1, 3.0, 0.2) == (0.8, 0.8)


@pytest.mark.parametrize(("nozzle_mm", "wall_mm"), [(0.4, 2.6), (0.6, 2.6), (0.8, 3.4)])
def test_each_half_of_a_lapped_wall_is_two_lines(nozzle_mm: float, wall_mm: float) -> None:
    """Half of what the gap leaves; a wall that the file gives, and one along cells, stay."""
    layer_mm = nozzle_mm / 2
    printer = f"printer: {{nozzle_mm: {nozzle_mm}, layer_mm: {layer_mm}}}\n"
    case = read(PLAIN + "holder: {web_mm: 2.4}\n" + printer).pack.enclosure
    assert case.wall_mm == wall_mm
    assert (case.wall_mm - SEAM_GAP_MM) / 2 >= 2 * nozzle_mm - 1e-9
    own = read(PLAIN + "holder: {web_mm: 2.4}\nenclosure: {wall_mm: 2.5}\n" + printer).pack
    assert own.enclosure.wall_mm == 2.5
    fitted = defaults.enclosure(EnclosureStyle.FITTED)
    assert with_lapped_wall(fitted, nozzle_mm) == fitted
