"""Lines, grams and hours of plain parts against what can be worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
import shapely

from layouts import defaults
from layouts.parts.feature import Feature
from layouts.parts.part import Part
from layouts.printer_spec import Filament, PrintSpeeds
from layouts.printing.estimate import PrintEffort, cost_of, effort_of
from layouts.printing.lines import PartLines, part_lines
from layouts.printing.sections import LayerStack, layer_stack
from layouts.printing.settings import PrintSettings
from tests.layouts.printing.shapes import block, part_of, rectangle

SETTINGS = PrintSettings(
    layer_mm=0.2, line_mm=0.45, wall_lines=3, top_layers=5, bottom_layers=4, infill_share=0.25
)
PRINTER = defaults.printer()
APART_MM = 0.45 - 0.2 * (1 - math.pi / 4)


def lines_of(part: Part, **changes: float) -> PartLines:
    """A part's lines with changed settings."""
    return part_lines(layer_stack(part, 0.2), replace(SETTINGS, **changes))  # type: ignore[arg-type]


def effort(part: Part, **changes: float) -> PrintEffort:
    """A part's effort with changed settings."""
    return effort_of(lines_of(part, **changes), PRINTER)


def test_lines_overlap_by_their_round_edges() -> None:
    """0.45 wide and 0.2 high: 0.407 apart."""
    assert SETTINGS.apart_mm == pytest.approx(0.40708, abs=1e-5)


def test_walls_solid_layers_and_sparse_ones_of_a_block() -> None:
    """60 x 40 x 10: four layers from below and five from above are solid, all others sparse within
    three walls; the first solid one over sparse lines hangs."""
    lines = lines_of(block(60.0, 40.0, 10.0))
    inset = 0.225 + 2.5 * APART_MM
    core = (60.0 - 2 * inset) * (40.0 - 2 * inset)
    fills = [lines.fills[fill] for _, fill in lines.of]
    assert len(fills) == 50
    solid = [k for k, fill in enumerate(fills) if fill.solid_mm2 > 0]
    assert solid == [0, 1, 2, 3, 45, 46, 47, 48, 49]
    assert [fills[k].solid_mm2 for k in solid] == pytest.approx([core] * 9)
    assert fills[20].sparse_mm2 == pytest.approx(core, rel=1e-3)
    assert [k for k, fill in enumerate(fills) if fill.hanging_mm2 > 1.0] == [45]
    assert [k for k, fill in enumerate(fills) if fill.top_mm2 > 1.0] == [49]
    (wall,) = lines.walls
    assert wall.outer.length_mm == pytest.approx(2 * (60 + 40 - 4 * 0.225))
    assert wall.wall_mm2 == pytest.approx(2400.0 - core)


@pytest.mark.parametrize(("wide_mm", "closed"), [(1.4, False), (1.45, True), (1.6, True)])
def test_a_second_closed_line_needs_room(wide_mm: float, closed: bool) -> None:
    """Of a wall 1.4 wide the first lines' middles leave 0.14 between the second's sides, less than
    0.4 of a line's distance: it is filled along the first. 1.45, a web of a holder, leaves 0.19."""
    (wall,) = lines_of(block(60.0, wide_mm, 10.0)).walls
    inset = 0.225 + (APART_MM if closed else 0.0)
    assert wall.second.length_mm == pytest.approx(2 * (60.0 + wide_mm - 4 * inset))


def test_a_ledge_is_solid_below_its_step_alone() -> None:
    """Where a post of half the plan goes on, the other half is open: five layers below it."""
    part = part_of(
        [
            Feature(name="foot", loops=(rectangle(0, 0, 60, 40),), z0_mm=0.0, z1_mm=6.0),
            Feature(name="half", loops=(rectangle(0, 0, 30, 40),), z0_mm=0.0, z1_mm=12.0),
        ]
    )
    lines = lines_of(part)
    fill = lines.fills[lines.of[28][1]]
    inset = 0.225 + 2.5 * APART_MM
    open_mm2 = (30.0 - inset + APART_MM) * (40.0 - 2 * inset)
    assert fill.solid_mm2 == pytest.approx(open_mm2, rel=0.01)
    assert fill.sparse_mm2 == pytest.approx((30.0 - inset - APART_MM) * (40 - 2 * inset), rel=0.01)


def test_a_part_that_is_all_solid_weighs_its_volume() -> None:
    """Nine layers, four solid from below and five from above: volume times density; the layer
    that is bridged is not among them."""
    part = block(50.0, 30.0, 1.8)
    assert effort(part).filament_g == pytest.approx(50 * 30 * 1.8 / 1000 * 1.27, rel=0.005)


def test_a_thin_wall_of_whole_lines_weighs_its_volume() -> None:
    """1.67 = 0.45 + 3 x 0.407: four lines, no gap."""
    part = block(80.0, 0.45 + 3 * APART_MM, 20.0)
    volume = 80.0 * (0.45 + 3 * APART_MM) * 20.0
    assert effort(part, wall_lines=2).filament_g == pytest.approx(volume / 1000 * 1.27, rel=0.01)


def test_filament_is_as_long_as_its_volume_asks() -> None:
    """Grams over density over the cross-section of 1.75 mm."""
    found = effort(block(40.0, 40.0, 10.0))
    cm3 = found.filament_g / 1.27
    assert found.filament_m == pytest.approx(cm3 * 1000 / (math.pi / 4 * 1.75**2) / 1000)


def test_density_is_the_filaments_where_it_is_given() -> None:
    """Else that of the material in the table."""
    lines = lines_of(block(40.0, 40.0, 10.0))
    light = replace(PRINTER, filament=Filament(density_g_cm3=0.635))
    assert effort_of(lines, light).filament_g == pytest.approx(
        effort_of(lines, PRINTER).filament_g / 2
    )


@pytest.mark.parametrize(
    ("change", "more"),
    [
        ({"wall_lines": 4}, True), ({"infill_share": 0.5}, True), ({"top_layers": 8}, True),
        ({"bottom_layers": 2}, False), ({"infill_share": 0.0}, False),
    ],
)  # fmt: skip
def test_more_plastic_takes_longer(change: dict[str, float], more: bool) -> None:
    """Walls, infill and solid layers each add time and mass, or take both off."""
    part = block(60.0, 50.0, 12.0)
    usual, changed = effort(part), effort(part, **change)
    assert (changed.hours > usual.hours) is more
    assert (changed.filament_g > usual.filament_g) is more


@pytest.mark.parametrize("name", list(PrintSpeeds.__dataclass_fields__))
def test_every_speed_counts(name: str) -> None:
    """A part with outer and inner walls, a small hole, solid, sparse, top, bridged layers."""
    part = part_of(
        [
            Feature(name="foot", loops=(rectangle(0, 0, 60, 50),), z0_mm=0.0, z1_mm=6.0),
            Feature(name="post", loops=(rectangle(5, 5, 12, 12),), z0_mm=0.0, z1_mm=30.0),
        ]
    )
    lines = lines_of(part)
    speeds = PRINTER.speeds_mm_s
    half = replace(speeds, **{name: getattr(speeds, name) / 4})
    slow = effort_of(lines, replace(PRINTER, speeds_mm_s=half))
    assert slow.hours > effort_of(lines, PRINTER).hours * 1.001
    assert slow.filament_g == effort_of(lines, PRINTER).filament_g


def test_slow_corners_and_weak_acceleration_take_longer() -> None:
    """Both are the printer's."""
    lines = lines_of(block(60.0, 50.0, 12.0))
    usual = effort_of(lines, PRINTER).hours
    assert effort_of(lines, replace(PRINTER, jerk_mm_s=2.0)).hours > usual
    assert effort_of(lines, replace(PRINTER, acceleration_mm_s2=300.0)).hours > usual


def test_a_tiny_layer_waits_until_it_is_cool() -> None:
    """A post of 2 mm: lines go no slower than 10 mm/s, layers take no longer than 5 s for it."""
    found = effort(block(2.0, 2.0, 20.0))
    assert 100 * 0.6 / 3600 < found.hours <= 100 * 5.0 / 3600


def test_a_layer_of_which_nothing_is_left_takes_no_lines() -> None:
    """Between two solid ones: time and filament stay numbers, and are those of the others."""
    square = shapely.MultiPolygon([shapely.box(0.0, 0.0, 30.0, 30.0)])
    stack = LayerStack(layer_mm=0.2, sections=(square, shapely.MultiPolygon()), of=(0, 1, 0))
    of = effort_of(part_lines(stack, SETTINGS), PRINTER)
    whole = effort_of(part_lines(replace(stack, of=(0, 0)), SETTINGS), PRINTER)
    assert math.isfinite(of.hours) and of.filament_g == pytest.approx(whole.filament_g, rel=0.01)
    assert of.hours >= whole.hours


def test_cost_is_filament_and_power() -> None:
    """200 g at 30 a kilo and 10 h of 0.15 kW at 0.4."""
    printer = replace(
        PRINTER, filament=Filament(price_per_kg=30.0), power_w=150.0, tariff_per_kwh=0.4
    )
    found = cost_of(PrintEffort(hours=10.0, filament_g=200.0, filament_m=0.0), printer)
    assert found == pytest.approx(6.0 + 0.6)
