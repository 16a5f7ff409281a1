"""Checks of the main leads' strips and of torn nets: one fault in a sound pack."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import pytest

from layouts.checks import Check
from layouts.strips.checks import strip_checks
from layouts.strips.joining import Strip, StripKind
from layouts.strips.laying import join
from tests.layouts.hand_made import in_rows
from tests.samples import sample_pack


def checks_without(series: int, drop: Callable[[Strip], bool]) -> dict[str, Check]:
    """The strip checks of a sound pack with some strips left out."""
    pack = sample_pack(series, 3)
    cell_layout = in_rows(pack)
    interconnect = join(pack, cell_layout)
    kept = tuple(strip for strip in interconnect.strips if not drop(strip))
    less = dataclasses.replace(interconnect, strips=kept)
    return {check.id: check for check in strip_checks(pack, cell_layout, less)}


@pytest.mark.parametrize("series", [3, 4])
@pytest.mark.parametrize("end", ["minus", "plus"])
def test_a_main_lead_that_is_missing_is_not_made_up_for_by_others(series: int, end: str) -> None:
    """Leads on one face or on two: other strips of the group and the other lead don't count."""
    group = 1 if end == "minus" else series

    def lead(strip: Strip) -> bool:
        return strip.kind is StripKind.LEAD and group in strip.groups

    assert checks_without(series, lambda strip: False)["lead_out_mm"].holds
    check = checks_without(series, lead)["lead_out_mm"]
    assert not check.holds and check.where == f"pack {end}" and check.value is None


def test_all_torn_nets_are_counted_and_five_are_named() -> None:
    """Ten groups without a strip: eleven potentials, none of them connected."""
    check = checks_without(10, lambda strip: True)["strip_one_piece"]
    assert not check.holds and check.value == 11.0
    assert len(check.where.split("; ")) == 5
