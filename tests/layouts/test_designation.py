"""Names of round cells: edges of the rule (its published part is tested apart)."""

from __future__ import annotations

import pytest

from layouts.designation import designation, trade_name


def test_letters_stand_for_the_chemistry_and_fall_away_when_unknown() -> None:
    """Nickel, iron, and a chemistry that the rule has no letter for."""
    assert designation(21.3, 70.3, "nmc") == "INR22/71"
    assert designation(26.4, 65.6, "lfp") == "IFR27/66"
    assert designation(21.3, 70.3, "invented") == "22/71"


def test_a_whole_size_is_not_rounded_further() -> None:
    """18 stays 18, also when float noise lies on top."""
    assert designation(18.0, 65.0) == "18/65"
    assert designation(0.1 * 180 + 1e-13, 65.0) == "18/65"
    assert designation(18.01, 65.01) == "19/66"


@pytest.mark.parametrize("size", [0.0, -1.0, float("nan"), float("inf")])
def test_a_size_that_is_none_is_refused(size: float) -> None:
    """Nothing is rounded from nothing."""
    with pytest.raises(ValueError, match="above 0 mm"):
        designation(size, 65.0)


def test_trade_name_is_nominal_size_run_together() -> None:
    """Two figures of diameter, three of length in tenths."""
    assert trade_name(18.0, 65.0) == "18650"
