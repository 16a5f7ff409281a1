"""The chance that the second holder goes on, of packs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts.cells.arrangement import CellLayout
from layouts.holders.second_holder import (
    SURE,
    HolderFit,
    fit_spread,
    holder_fit,
    second_holder_check,
)
from layouts.pack import Pack
from layouts.printing.stack import FitSpread
from tests.layouts.boxed import arrange
from tests.samples import sample_pack

PACK = sample_pack(10, 4)


def spread_by(pack: Pack, **changes: float) -> Pack:
    """The pack with other spreads of prints."""
    spread = replace(pack.printer.spread, **changes)
    return replace(pack, printer=replace(pack.printer, spread=spread))


def cleared(pack: Pack, clearance_mm: float) -> Pack:
    """The pack with another clearance."""
    return replace(pack, holder=replace(pack.holder, clearance_mm=clearance_mm))


@pytest.fixture(scope="module")
def cells() -> CellLayout:
    """Forty cells."""
    return arrange(PACK)


@pytest.fixture(scope="module")
def fit(cells: CellLayout) -> HolderFit:
    """All that is told of them."""
    return holder_fit(PACK, cells)


def test_spreads_left_open_are_those_of_the_stack() -> None:
    """Percent and ratio, two places that must say the same."""
    assert fit_spread(PACK.printer.spread, PACK.cell) == FitSpread()


def test_forty_cells_go_on_and_a_tight_pocket_does_not(cells: CellLayout) -> None:
    """The remedy is the clearance with which 99 of 100 go on."""
    assert second_holder_check(PACK, cells).holds
    check = second_holder_check(cleared(PACK, 0.1), cells)
    assert not check.holds
    assert check.value is not None
    assert check.limit == 95.0
    wanted = float(check.remedy.removeprefix("holder.clearance_mm ").removesuffix(" or more"))
    mended = second_holder_check(cleared(PACK, wanted + 0.01), cells)
    assert mended.holds
    assert mended.value == pytest.approx(100 * SURE, abs=1.0)


def test_prints_that_no_clearance_suits(cells: CellLayout) -> None:
    """What helps then are other prints."""
    check = second_holder_check(spread_by(PACK, scale_percent=1.5), cells)
    assert not check.holds
    assert check.remedy.startswith("prints that differ less")


def test_what_is_told(fit: HolderFit, cells: CellLayout) -> None:
    """Chance grows with clearance, each case lowers it, the recommended clearance does."""
    assert (fit.cells, fit.tiles, fit.measured) == (40, 1, ())
    assert [one for one, _ in fit.by_clearance] == [0.15, 0.2, 0.25, 0.3, 0.35]
    chances = [chance for _, chance in fit.by_clearance]
    assert chances == sorted(chances)
    assert dict(fit.by_clearance)[0.25] == fit.chance
    assert fit.rss_mm < fit.worst_mm
    assert fit.recommended_mm < 0.25
    at_that = second_holder_check(cleared(PACK, fit.recommended_mm), cells)
    assert at_that.value == pytest.approx(100 * SURE, abs=0.1)
    assert all(one.chance <= fit.chance for one in fit.cases)
    assert all(one.clearance_mm > fit.recommended_mm for one in fit.cases)
    small = fit.cases[0]  # pockets 0.15 too small want 0.15 more
    assert small.clearance_mm == pytest.approx(fit.recommended_mm + 0.15, abs=0.01)


def test_what_is_known_of_the_printer_takes_the_place_of_what_it_may_have(
    cells: CellLayout,
) -> None:
    """Files are drawn for holes that come out too small; those that are not miss it by so much."""
    known = replace(PACK.printer, hole_mm=0.21, shrink_percent=(0.4, 0.1, 0.0))
    found = holder_fit(replace(PACK, printer=known), cells)
    plain = holder_fit(PACK, cells)
    assert found.chance == plain.chance
    small, turned = found.cases[:2]
    assert "0.21 mm" in small.what and "STEP" in small.what
    assert small.clearance_mm == pytest.approx(plain.recommended_mm + 0.21, abs=0.01)
    assert "0.3 % apart" in turned.what
    assert turned.chance < plain.cases[1].chance


def test_one_cell_and_two_cells_that_are_two_tiles() -> None:
    """The least there is; two tiles of one cell meet on one seam."""
    one = sample_pack(1, 1)
    assert holder_fit(one, arrange(one)).radius_mm == 0.0
    bed = replace(one.printer, bed_mm=(30.0, 30.0, 200.0))
    two = sample_pack(2, 1, printer=bed)
    laid = arrange(two)
    found = holder_fit(two, laid)
    assert (found.tiles, found.radius_mm) == (2, 0.0)
    assert found.chance > 0.99
