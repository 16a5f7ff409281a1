"""Wire: worked by hand, refused beyond its tables, and checks that fail."""

from __future__ import annotations

import pytest

from layouts.errors import PlanError
from layouts.ratings.wire import (
    AmpacityTable,
    ambient_ratio,
    ampacity_a,
    ampacity_source,
    awg_diameter_mm,
    copper_ohm_m,
    nearest_awg,
    table_range_mm2,
    volts_lost_check,
    volts_lost_v,
    wire_current_check,
    wire_ohm,
)


def test_a_lead_is_counted_there_and_back() -> None:
    """8 mm2 over 400 mm: 2 x 0.4 m x 17.241 mohm mm2/m / 8 mm2 = 1.7241 mohm; 40 A lose 69 mV."""
    assert wire_ohm(area_mm2=8.0, length_mm=400.0) == pytest.approx(1.7241e-3, rel=1e-12)
    lost = volts_lost_v(current_a=40.0, area_mm2=8.0, length_mm=400.0)
    assert lost == pytest.approx(0.068964, rel=1e-12)


def test_a_hot_wire_loses_more() -> None:
    """0.393 % a kelvin: 75 C against 20 C is 1.21615 times."""
    cold = wire_ohm(area_mm2=8.0, length_mm=400.0)
    hot = wire_ohm(area_mm2=8.0, length_mm=400.0, temperature_c=75.0)
    assert hot / cold == pytest.approx(1 + 55 * 0.00393, rel=1e-12)


@pytest.mark.parametrize("table", AmpacityTable)
def test_thicker_wire_never_bears_less(table: AmpacityTable) -> None:
    """Through a whole table, rows and between them."""
    least, most = table_range_mm2(table)
    areas = [least * (most / least) ** (k / 200) for k in range(201)]
    found = [ampacity_a(area, table=table) for area in areas]
    assert all(a < b for a, b in zip(found, found[1:], strict=False))


@pytest.mark.parametrize("table", AmpacityTable)
def test_hotter_air_leaves_less_and_cooler_air_no_more(table: AmpacityTable) -> None:
    """The factor falls from 1 at 30 C towards nothing at the conductor's own temperature."""
    found = [ambient_ratio(table, ambient) for ambient in (0.0, 30.0, 40.0, 50.0, 59.0)]
    assert found[:2] == [1.0, 1.0]
    assert all(a > b > 0 for a, b in zip(found[1:], found[2:], strict=False))


def test_air_as_hot_as_the_conductor_is_refused() -> None:
    """60 C air and a 60 C conductor: the field is named."""
    with pytest.raises(PlanError, match=r"load\.ambient_c: leaves the wire no current") as told:
        ambient_ratio(AmpacityTable.CABLE_60, 60.0)
    assert told.value.field == "load.ambient_c"


def test_sections_beyond_a_table_are_refused() -> None:
    """0.5 mm2 is no row of the cable table: nothing is guessed."""
    with pytest.raises(PlanError, match=r"leads\.wire_mm2: the table cable_75 goes from 2\.08"):
        ampacity_a(0.5, table=AmpacityTable.CABLE_75)
    with pytest.raises(PlanError, match="goes from"):
        ampacity_a(120.0, table=AmpacityTable.CABLE_75)


def test_too_many_wires_together_are_refused() -> None:
    """Four in a table for three; twenty-five in the marine one."""
    with pytest.raises(ValueError, match="up to three wires"):
        ampacity_a(8.0, together=4)
    with pytest.raises(ValueError, match="no factor for 25"):
        ampacity_a(8.0, table=AmpacityTable.MARINE_105, together=25)


def test_a_source_says_where_rows_are_from_memory() -> None:
    """Gauges up to 4 were seen in print, thicker ones were not."""
    assert "memory" not in ampacity_source(8.0, AmpacityTable.CABLE_75)
    assert "memory" in ampacity_source(25.0, AmpacityTable.CABLE_75)
    assert "memory" in ampacity_source(35.0, AmpacityTable.CABLE_75)


def test_the_current_check_fails_above_the_ampacity() -> None:
    """Holds at the ampacity, fails above it."""
    assert wire_current_check(demand_a=50.0, ampacity_a=50.0, source="a table").holds
    found = wire_current_check(demand_a=50.1, ampacity_a=50.0, source="a table")
    assert not found.holds and "leads.wire_mm2" in found.remedy


def test_the_volts_check_fails_above_three_per_cent() -> None:
    """1.404 V of 46.8 V are allowed."""
    assert volts_lost_check(lost_v=1.404, nominal_v=46.8).holds
    assert not volts_lost_check(lost_v=1.41, nominal_v=46.8).holds


@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf"), "8", True, None])
def test_no_section_is_no_wire(value: float) -> None:
    """Nothing, text and infinite sections are refused by name."""
    with pytest.raises(ValueError, match="area_mm2 must be"):
        wire_ohm(area_mm2=value, length_mm=400.0)


def test_gauges_and_temperatures_beyond_sense_are_refused() -> None:
    """Gauge 41 and -4, a section above 4/0, copper near absolute zero."""
    for gauge in (41, -4):
        with pytest.raises(ValueError, match="gauge"):
            awg_diameter_mm(gauge)
    with pytest.raises(ValueError, match="above gauge 4/0"):
        nearest_awg(200.0)
    with pytest.raises(ValueError, match="temperature_c"):
        copper_ohm_m(-260.0)
