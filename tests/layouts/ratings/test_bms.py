"""The protection board: each check once failing, and what is said of what it can't do."""

from __future__ import annotations

from layouts.ratings.bms import (
    Board,
    Port,
    bms_cautions,
    bms_charge_check,
    bms_current_check,
    bms_series_check,
)

WHOLE = Board(series=13, continuous_a=30.0, charge_a=10.0, port=Port.COMMON, cold_charge_stop=True)


def test_a_board_for_another_count_fails() -> None:
    """13 for 13 holds; 10 and 14 fail; a board that says nothing isn't checked."""
    fine = bms_series_check(WHOLE, series=13)
    assert fine is not None and fine.holds
    for count in (10, 14):
        found = bms_series_check(Board(series=count), series=13)
        assert found is not None and not found.holds
        assert found.at_least == (count < 13)  # the way it is printed shows the failure
    assert bms_series_check(Board(), series=13) is None


def test_a_board_for_less_current_fails() -> None:
    """30 A carries 30 A, not 31 A."""
    fine, found = bms_current_check(WHOLE, demand_a=30.0), bms_current_check(WHOLE, demand_a=31.0)
    assert fine is not None and fine.holds
    assert found is not None and not found.holds
    assert bms_current_check(Board(), demand_a=31.0) is None


def test_a_charger_too_large_for_the_board_fails() -> None:
    """10 A of charge; on a common port the load's current stands in, on a separate one nothing."""
    found = bms_charge_check(WHOLE, charger_a=12.0)
    assert found is not None and not found.holds and found.limit == 10.0
    common = bms_charge_check(Board(continuous_a=30.0, port=Port.COMMON), charger_a=12.0)
    assert common is not None and common.holds and common.limit == 30.0
    assert bms_charge_check(Board(continuous_a=30.0, port=Port.SEPARATE), charger_a=12.0) is None


def test_a_board_that_has_all_leaves_nothing_to_say() -> None:
    """Cold stop, count, port, a switch by hand, no braking."""
    assert bms_cautions(WHOLE, disconnect=True, gives_back=False) == ()


def test_no_cold_charge_stop_is_cautioned() -> None:
    """Missing and unknown are distinguished."""
    missing = bms_cautions(
        Board(series=13, port=Port.COMMON, cold_charge_stop=False),
        disconnect=True,
        gives_back=False,
    )
    unknown = bms_cautions(Board(series=13, port=Port.COMMON), disconnect=True, gives_back=False)
    assert len(missing) == len(unknown) == 1
    assert "doesn't stop charge of cold cells" in missing[0]
    assert "is not stated to stop" in unknown[0]


def test_a_means_to_disconnect_by_hand_is_asked_for() -> None:
    """Said where there is none, and where nothing is said."""
    for there, words in ((False, "there is none"), (None, "none is stated")):
        (said,) = bms_cautions(WHOLE, disconnect=there, gives_back=False)
        assert "disconnect the pack by hand" in said and words in said


def test_braking_past_a_separate_port_is_cautioned() -> None:
    """A separate port can't stop it; a common one opens, and volts jump."""
    separate = Board(series=13, port=Port.SEPARATE, cold_charge_stop=True)
    (said,) = bms_cautions(separate, disconnect=True, gives_back=True)
    assert "can't stop charge there" in said
    (jump,) = bms_cautions(WHOLE, disconnect=True, gives_back=True)
    assert "voltage at the controller jumps" in jump


def test_nothing_known_says_everything() -> None:
    """Cold stop, count, port and the switch."""
    assert len(bms_cautions(Board(), disconnect=None, gives_back=False)) == 4
