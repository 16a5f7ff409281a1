"""Touch volts: what is said above the limits, and nothing below them."""

from __future__ import annotations

import pytest

from layouts.ratings.touch_voltage import touch, touch_cautions


def test_sixty_volts_dry_and_thirty_wet_are_still_fine() -> None:
    """The limit itself may be touched, for all the rounding of a string."""
    for volts, wet in ((60.0, False), (60.0 * (1 + 1e-15), False), (30.0, True)):
        found = touch(highest_v=volts, wet=wet)
        assert not found.exceeds and touch_cautions(found) == ()


def test_above_the_limit_it_is_said_what_changes() -> None:
    """63 V dry: covers, plugs, work, marks and rules, and the standard."""
    said = touch_cautions(touch(highest_v=63.0, wet=False))
    assert len(said) == 5
    assert "63.0 V is above the 60 V" in said[0] and "IEC 60598-1" in said[0]
    assert any("licensed person" in line for line in said)


def test_wet_hands_have_half_the_limit() -> None:
    """36 V full: fine dry, cautioned wet, with no word of the rules above 60 V."""
    assert touch_cautions(touch(highest_v=36.0, wet=False)) == ()
    said = touch_cautions(touch(highest_v=36.0, wet=True))
    assert len(said) == 4 and "with wet hands" in said[0]


def test_deadly_volts_are_called_so() -> None:
    """Above 120 V."""
    said = touch_cautions(touch(highest_v=126.0, wet=False))
    assert "can be fatal" in said[-1]
    assert "can be fatal" not in touch_cautions(touch(highest_v=120.0, wet=False))[-1]


def test_no_volts_are_refused() -> None:
    """Zero is no pack."""
    with pytest.raises(ValueError, match="highest_v must be above zero"):
        touch(highest_v=0.0, wet=False)
