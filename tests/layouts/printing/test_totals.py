"""Sums over parts and beds, and what other settings add or save."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts import defaults
from layouts.printer_spec import PrintSpeeds
from layouts.printing.beds import OnBed
from layouts.printing.totals import PackPrint, pack_print
from tests.layouts.printing.shapes import block

PRINTER = defaults.printer()


def two_tubs(**printer: object) -> PackPrint:
    """Two copies on two beds."""
    laid = [OnBed(name="piece", bed=bed, turn_deg=0, shift_mm=(5.0, 5.0)) for bed in (0, 1)]
    return pack_print([block(60.0, 50.0, 8.0, copies=2)], replace(PRINTER, **printer), laid)  # type: ignore[arg-type]


def test_beds_and_parts_sum_to_the_same() -> None:
    """Each copy counts once on its bed, and in its part."""
    found = two_tubs()
    assert len(found.beds) == 2
    assert found.total.hours == pytest.approx(2 * found.parts[0].effort.hours)
    assert sum(bed.total.hours for bed in found.beds) == pytest.approx(found.total.hours)
    assert sum(bed.total.cost for bed in found.beds) == pytest.approx(found.total.cost)
    assert found.within_percent == 10


def test_changes_are_told_with_their_sign() -> None:
    """More walls and infill take longer; thick layers, a wide nozzle and speed save time."""
    adds = {one.change: one.adds for one in two_tubs().changes}
    heavy, thick, coarse, fast = adds.values()
    assert heavy.hours > 0.0 and heavy.filament_g > 0.0
    assert thick.hours < 0.0 and coarse.hours < thick.hours and fast.hours < 0.0
    assert fast.filament_g == pytest.approx(0.0)
    assert [key for key in adds if "0.28" in key and "tub and lid" in key]


def test_a_change_is_what_that_setting_gives() -> None:
    """Layers of 0.28 written as the printer's own give the hours that were told."""
    told = next(one for one in two_tubs().changes if "layers of 0.28" in one.change)
    thick = two_tubs(layer_mm=0.28)
    assert thick.total.hours - two_tubs().total.hours == pytest.approx(told.adds.hours)
    assert thick.total.cost - two_tubs().total.cost == pytest.approx(told.adds.cost)


def test_a_fast_printer_is_not_told_to_be_fast() -> None:
    """And its estimate is less sure."""
    found = two_tubs(acceleration_mm_s2=5000.0, speeds_mm_s=PrintSpeeds(inner=150.0))
    assert found.within_percent == 20
    assert not any("mm/s2" in one.change for one in found.changes)


def test_holders_alone_are_offered_speed_alone() -> None:
    """Their levels hold cans: layers stay."""
    found = pack_print([block(60.0, 50.0, 8.0, role="holder_lower")], PRINTER, [])
    assert [one.adds.hours < 0.0 for one in found.changes] == [True]
