"""Settings suggested for each role, and the pack file's above them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts import defaults
from layouts.planning.pack_plan import plan_pack
from layouts.planning.parts_list import parts_of
from layouts.printing.settings import settings_of, settings_words
from tests.samples import sample_pack

PRINTER = defaults.printer()


def test_every_part_of_a_pack_has_settings() -> None:
    """Each role that a plan makes."""
    roles = {part.role for part in parts_of(plan_pack(sample_pack(3, 2)))}
    assert {"holder_lower", "holder_upper", "tub", "lid", "bracket"} <= roles
    for role in roles | {"barrier", "floor_strap", "lid_strap"}:
        assert settings_of(role, PRINTER).wall_lines >= 2
    with pytest.raises(KeyError):
        settings_of("spoiler", PRINTER)


def test_brackets_have_what_their_print_note_asks_for() -> None:
    """Four walls, infill 50 % or more."""
    (note,) = {
        part.print_note for part in parts_of(plan_pack(sample_pack(3, 2))) if part.role == "bracket"
    }
    found = settings_of("bracket", PRINTER)
    assert "Four walls, infill 50 % or more" in note
    assert found.wall_lines >= 4 and found.infill_share >= 0.5


def test_the_pack_files_values_hold_for_every_part() -> None:
    """Each of the four alone."""
    printer = replace(PRINTER, wall_lines=5, infill_percent=40.0, top_layers=7, bottom_layers=6)
    for role in ("tub", "bracket", "holder_lower"):
        found = settings_of(role, printer, solid_mm=3.0)
        assert (found.wall_lines, found.infill_share) == (5, 0.4)
        assert (found.top_layers, found.bottom_layers) == (7, 6)


@pytest.mark.parametrize(("solid_mm", "layers"), [(0.0, 3), (0.5, 3), (2.0, 10), (3.05, 16)])
def test_a_plate_counted_on_as_solid_is(solid_mm: float, layers: int) -> None:
    """As many layers from the bed up as it is thick."""
    assert settings_of("tub", PRINTER, solid_mm=solid_mm).bottom_layers == layers


@pytest.mark.parametrize(
    ("layer_mm", "holder", "tub"),
    [(0.1, (10, 8), (8, 6)), (0.2, (5, 4), (4, 3)), (0.28, (4, 3), (3, 3)), (0.3, (4, 3), (3, 2))],
)
def test_solid_layers_keep_their_thickness(
    layer_mm: float, holder: tuple[int, int], tub: tuple[int, int]
) -> None:
    """1.0 and 0.8 mm of holders, 0.8 and 0.6 of tubs, in whole layers; (top, bottom)."""
    printer = replace(PRINTER, layer_mm=layer_mm)
    for role, layers in (("holder_upper", holder), ("tub", tub)):
        found = settings_of(role, printer)
        assert (found.top_layers, found.bottom_layers) == layers


def test_lines_follow_the_nozzle() -> None:
    """1.125 of it, unless they are given."""
    assert settings_of("tub", PRINTER).line_mm == pytest.approx(0.45)
    assert settings_of("tub", replace(PRINTER, line_mm=0.5)).line_mm == 0.5


def test_words() -> None:
    """As in the report."""
    told = settings_words(settings_of("tub", PRINTER))
    assert told == "2 walls, 15 % infill, 4 top and 3 bottom layers of 0.2"
