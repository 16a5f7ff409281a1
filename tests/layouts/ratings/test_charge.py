"""Charger and temperatures: each check once failing, defaults said to be such."""

from __future__ import annotations

import pytest

from layouts.ratings.charge import (
    Charger,
    ambient_check,
    charge_current_check,
    charger_chemistry_check,
    charger_low_caution,
    charger_volts_check,
    temperature_window,
    temperature_words,
)

FITTING = Charger(volts_v=54.6, amps_a=5.0, chemistry="nmc")


def test_a_charger_of_too_many_volts_fails() -> None:
    """54.6 V fits 13 of 4.2 V; 58.8 V (14 of them) and 54.75 V (15 of lfp) don't."""
    assert charger_volts_check(FITTING, series=13, full_v=4.2).holds
    for volts in (58.8, 54.75):
        found = charger_volts_check(Charger(volts_v=volts, amps_a=5.0), series=13, full_v=4.2)
        assert not found.holds and "54.60 V" in found.remedy


def test_a_charger_that_never_fills_is_said() -> None:
    """54.4 V leaves 13 cells 15 mV short, 50.4 V far more."""
    near, far = Charger(volts_v=54.4, amps_a=5.0), Charger(volts_v=50.4, amps_a=5.0)
    assert charger_low_caution(FITTING, series=13, full_v=4.2) is None
    assert charger_low_caution(near, series=13, full_v=4.2) is None
    said = charger_low_caution(far, series=13, full_v=4.2)
    assert said is not None and "50.4 V" in said and "54.6 V" in said


def test_a_charger_of_another_chemistry_fails() -> None:
    """One sold for lfp on nmc cells; nca and nmc are charged alike; no word, no check."""
    other = Charger(volts_v=54.6, amps_a=5.0, chemistry="lfp")
    found = charger_chemistry_check(other, chemistry="nmc", full_v=4.2)
    assert found is not None and not found.holds
    alike = Charger(volts_v=54.6, amps_a=5.0, chemistry="nca")
    fine = charger_chemistry_check(alike, chemistry="nmc", full_v=4.2)
    assert fine is not None and fine.holds
    silent = Charger(volts_v=54.6, amps_a=5.0)
    assert charger_chemistry_check(silent, chemistry="nmc", full_v=4.2) is None


def test_chemistries_without_a_row_go_by_name() -> None:
    """One of the user's own fits itself only, whatever its volts."""
    own = Charger(volts_v=50.0, amps_a=5.0, chemistry="sodium")
    same = charger_chemistry_check(own, chemistry="sodium", full_v=4.2)
    other = charger_chemistry_check(own, chemistry="nmc", full_v=4.2)
    assert same is not None and same.holds
    assert other is not None and not other.holds


def test_too_many_amps_fail_by_the_least_of_all() -> None:
    """Seven cells of 1.25 A take 8.75 A, a board of 8 A 8 A, wires of 6 A 6 A."""
    charger = Charger(volts_v=54.6, amps_a=8.5)
    assert charge_current_check(charger, parallel=7, capacity_ah=2.6, cell_charge_a=1.25).holds
    board = charge_current_check(
        charger, parallel=7, capacity_ah=2.6, cell_charge_a=1.25, board_charge_a=8.0
    )
    assert not board.holds and "lowest: board" in board.about
    wires = charge_current_check(
        charger,
        parallel=7,
        capacity_ah=2.6,
        cell_charge_a=1.25,
        board_charge_a=8.0,
        wire_charge_a=6.0,
    )
    assert not wires.holds and wires.limit == 6.0


def test_half_the_capacity_an_hour_is_assumed() -> None:
    """Without the cell's charge current: 7 x 1.3 A, and said to have no source."""
    found = charge_current_check(FITTING, parallel=7, capacity_ah=2.6)
    assert found.limit == pytest.approx(9.1)
    assert "assumed" in found.about and found.source == "common practice, no source"


def test_the_usual_temperatures() -> None:
    """Charge 0 to 45 C, discharge -20 C to the cell's own limit; marked as without source."""
    found = temperature_window(max_c=60.0)
    assert found.charge_c == (0.0, 45.0) and found.discharge_c == (-20.0, 60.0)
    assert found.source == "common practice, no source"
    assert "between 0 and 45 C" in temperature_words(found)


def test_the_data_sheet_wins_and_a_cool_cell_caps_charge() -> None:
    """Both given: its source is the sheet; a cell of 40 C at most is charged up to 40 C."""
    own = temperature_window(max_c=80.0, charge_c=(5.0, 50.0), discharge_least_c=-30.0)
    assert own.charge_c == (5.0, 50.0) and own.discharge_c == (-30.0, 80.0)
    assert own.source == "the cell's data sheet"
    assert temperature_window(max_c=40.0).charge_c == (0.0, 40.0)


def test_surroundings_outside_the_window_fail() -> None:
    """-25 C and 61 C fail against their own end; 35 C holds."""
    window = temperature_window(max_c=60.0)
    assert ambient_check(window, ambient_c=35.0).holds
    cold, hot = ambient_check(window, ambient_c=-25.0), ambient_check(window, ambient_c=61.0)
    assert not cold.holds and cold.limit == -20.0 and cold.at_least
    assert not hot.holds and hot.limit == 60.0 and not hot.at_least


def test_empty_windows_and_no_volts_are_refused() -> None:
    """A cell that may be no warmer than -30 C, a charge window turned round, a charger of 0 V."""
    with pytest.raises(ValueError, match="charge_c"):
        temperature_window(max_c=60.0, charge_c=(45.0, 0.0))
    with pytest.raises(ValueError, match="discharge_least_c"):
        temperature_window(max_c=10.0, discharge_least_c=20.0)
    with pytest.raises(ValueError, match=r"charger\.volts_v must be above zero"):
        charger_volts_check(Charger(volts_v=0.0, amps_a=1.0), series=13, full_v=4.2)
