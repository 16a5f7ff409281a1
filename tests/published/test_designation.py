"""Cell names against the standard's rule, and the trade's names against the table of formats."""

from __future__ import annotations

import pytest

from layouts.designation import designation, trade_name
from layouts.formats import cell_formats

# IEC 61960 clause 5.1 (as quoted in a public discussion of the clause): N2 is the maximum
# diameter, N4 the maximum overall height, both in mm rounded UP to the next whole number.
# The sizes are maxima of public cell data sheets; the names follow by the rule.
RULE = {
    (18.25, 65.00): "19/65",
    (18.40, 65.20): "19/66",
    (21.25, 70.62): "22/71",
    (26.21, 65.66): "27/66",
    (14.3, 50.3): "15/51",
    (32.5, 65.5): "33/66",
}

# Trade naming articles on round cells: figures 1-2 are the diameter in mm, figures 3-5 the
# height in tenths of a mm (650 = 65.0 mm), as in "18650"
TRADE = {"18650": (18.0, 65.0), "21700": (21.0, 70.0), "26650": (26.0, 65.0), "32700": (32.0, 70.0)}


@pytest.mark.parametrize(("size", "name"), RULE.items(), ids=RULE.values())
def test_designation_rounds_the_largest_size_up(size: tuple[float, float], name: str) -> None:
    """Diameter and height are rounded up, never to the nearest."""
    assert designation(*size) == name


def test_letters_are_those_of_the_clause() -> None:
    """I lithium ion, N nickel, R cylindrical (IEC 61960 clause 5.1, quoted as above)."""
    # the discussion quotes a cell marked INR19/65, 18.25 x 65.00 at most
    assert designation(18.25, 65.0, "nmc") == "INR19/65"


def test_sizes_below_a_millimetre_are_written_in_tenths() -> None:
    """Tenths of a millimetre, written tN (IEC 61960 clause 5.1, quoted as above)."""
    assert designation(10.0, 0.75) == "10/t8"


@pytest.mark.parametrize(("name", "nominal"), TRADE.items(), ids=TRADE)
def test_trade_name_is_the_nominal_size(name: str, nominal: tuple[float, float]) -> None:
    """Five figures: nominal diameter, then nominal height in tenths."""
    assert trade_name(*nominal) == name


@pytest.mark.parametrize("name", sorted(cell_formats()))
def test_table_sizes_lie_just_above_the_trade_name(name: str) -> None:
    """A trade name understates the largest can: by less than a millimetre, in both sizes."""
    # trade naming as above; that the real maximum is larger, yet by less than 1 mm, is the
    # same articles' remark for cells without button top or protection board
    size = cell_formats()[name]
    nominal_diameter, nominal_length = float(name[:2]), float(name[2:]) / 10.0
    assert 0.0 < size.diameter_mm - nominal_diameter < 1.0
    assert 0.0 < size.longest_mm - nominal_length < 1.0
