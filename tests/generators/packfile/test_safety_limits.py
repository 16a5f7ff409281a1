"""From a pack file's text to the check: both sides of each limit, worked by hand.

4S2P of invented cells: 16.8 V full, 14.4 nominal, 11.2 empty; 2 x 8 A continuous, 2 x 12 A for
10 s, 2 x 2 A charge; 9 A asked.
"""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.generators.packfile.planned_electrical import check_of, electrical_of, said_of

pytestmark = pytest.mark.one_in(4)  # cases that plan a pack each

Sections = dict[str, Any]
PEAK = {"peak_a": 20.0, "peak_s": 10.0}
STRONG_FUSE = {"rating_a": 40.0}  # opens late enough for a peak of 24 A


@pytest.mark.parametrize(
    ("check", "holds", "fails"),
    [
        # a fuse breaks the full pack's volts, not the nominal ones
        ("fuse_dc_v", {"fuse": {"dc_v": 16.8}}, {"fuse": {"dc_v": 16.7}}),
        # no more than 4 x 4.2 V over 4 x 12 / 2 mohm, which the strips add to
        ("fuse_breaking_a", {"fuse": {"breaking_a": 700.0}}, {"fuse": {"breaking_a": 500.0}}),
        # three quarters of the rating, all the time: 9 A need 12
        ("fuse_load_a", {"fuse": {"rating_a": 12.0}}, {"fuse": {"rating_a": 11.9}}),
        ("controller_high_v", {"controller": {"highest_v": 16.8}},
         {"controller": {"highest_v": 16.7}}),
        ("controller_low_v", {"controller": {"lowest_v": 14.4}},
         {"controller": {"lowest_v": 14.5}}),
        ("controller_cutoff_v", {"controller": {"cutoff_v": 11.2}},
         {"controller": {"cutoff_v": 11.1}}),
        # where the controller has no cut-off of its own, that of the load counts
        ("controller_cutoff_v",
         {"controller": {"cutoff_v": None}, "load": {"discharge_cutoff_v": 11.2}},
         {"controller": {"cutoff_v": None}, "load": {"discharge_cutoff_v": 11.1}}),
        ("bms_a", {"bms": {"continuous_a": 9.0}}, {"bms": {"continuous_a": 8.9}}),
        ("bms_series", {"bms": {"series": 4}}, {"bms": {"series": 5}}),
        ("load_current_a", {"leads": {"connector_a": 9.0}}, {"leads": {"connector_a": 8.9}}),
        ("load_current_a", {"cell": {"continuous_a": 4.5}}, {"cell": {"continuous_a": 4.45}}),
        # a peak of the cells lasts 10 s; a longer one counts as continuous, 2 x 8 A
        ("load_peak_a", {"load": {"peak_a": 24.0, "peak_s": 10.0}, "fuse": STRONG_FUSE},
         {"load": {"peak_a": 24.1, "peak_s": 10.0}, "fuse": STRONG_FUSE}),
        ("load_peak_a", {"load": {"peak_a": 16.0, "peak_s": 11.0}},
         {"load": {"peak_a": 16.1, "peak_s": 11.0}}),
        ("load_peak_a", {"load": {"peak_a": 16.0}, "cell": {"peak_a": None, "peak_s": None}},
         {"load": {"peak_a": 16.1}, "cell": {"peak_a": None, "peak_s": None}}),
        # a board's own peak; longer than it, or without one, it counts as continuous
        ("bms_peak_a", {"load": PEAK, "bms": {"continuous_a": 9.0, "peak_a": 20.0, "peak_s": 10}},
         {"load": PEAK, "bms": {"continuous_a": 9.0, "peak_a": 19.9, "peak_s": 10}}),
        ("bms_peak_a", {"load": PEAK, "bms": {"continuous_a": 20.0, "peak_a": 30.0, "peak_s": 9}},
         {"load": PEAK, "bms": {"continuous_a": 19.9, "peak_a": 30.0, "peak_s": 9}}),
        ("bms_peak_a", {"load": PEAK, "bms": {"continuous_a": 20.0}},
         {"load": PEAK, "bms": {"continuous_a": 19.9}}),
        ("connector_peak_a", {"load": PEAK, "leads": {"connector_a": 20.0}},
         {"load": PEAK, "leads": {"connector_a": 19.9}}),
        ("charger_v", {"charger": {"volts_v": 16.8}}, {"charger": {"volts_v": 16.81}}),
        ("charger_chemistry", {"charger": {"chemistry": "nca"}},
         {"charger": {"chemistry": "lfp"}}),
        ("charger_a", {"charger": {"amps_a": 4.0}}, {"charger": {"amps_a": 4.1}}),
        # without a data sheet's charge current: half the capacity of 2 x 2.5 Ah an hour
        ("charger_a", {"charger": {"amps_a": 2.5}, "cell": {"charge_a": None}},
         {"charger": {"amps_a": 2.6}, "cell": {"charge_a": None}}),
        ("bms_charge_a", {"bms": {"charge_a": 2.0}}, {"bms": {"charge_a": 1.9}}),
        ("ambient_c", {"load": {"ambient_c": -20.0}}, {"load": {"ambient_c": -20.5}}),
        ("ambient_c", {"load": {"ambient_c": -30.0}, "cell": {"discharge_least_c": -30.0}},
         {"load": {"ambient_c": -30.0}, "cell": {"discharge_least_c": -29.0}}),
        ("regeneration_a", {"load": {"regeneration_a": 4.0}}, {"load": {"regeneration_a": 4.1}}),
    ],
)  # fmt: skip
def test_a_limit_holds_and_a_little_beyond_it_fails(
    check: str, holds: Sections, fails: Sections
) -> None:
    """The same pack file with one value on either side of what the check allows."""
    assert check_of(electrical_of(**holds), check).holds
    assert not check_of(electrical_of(**fails), check).holds


STRING: Sections = {"bms": None, "controller": None, "charger": None, "fuse": None}


@pytest.mark.parametrize(
    ("series", "full_v", "surroundings", "cautioned"),
    [
        # 29.92 and 30.08 V where hands are wet
        (8, 3.74, "splashed", False),
        (8, 3.76, "splashed", True),
        (8, 3.76, "dry", False),
        # 59.92 and 60.08 V where they are dry
        (16, 3.745, "dry", False),
        (16, 3.755, "dry", True),
    ],
)
def test_touch_volts_are_cautioned_from_their_limit(
    series: int, full_v: float, surroundings: str, cautioned: bool
) -> None:
    """30 V with wet hands, 60 V with dry ones, of the full pack."""
    cell = {"full_v": full_v, "nominal_v": 3.3, "empty_v": 2.5}
    wet = {"surroundings": surroundings}
    found = electrical_of(**STRING, series=series, cell=cell, enclosure=wet)
    assert bool(said_of(found, "voltage:")) is cautioned


def test_what_a_braking_motor_raises_the_pack_to_counts_as_touch_volts() -> None:
    """29.6 V full, wet; 12 A back through at least 8 x 25 / 2 mohm are 1.2 V more."""
    wet: Sections = STRING | {
        "series": 8, "enclosure": {"surroundings": "splashed"},
        "cell": {"full_v": 3.7, "nominal_v": 3.3, "empty_v": 2.5},
    }  # fmt: skip
    assert not said_of(electrical_of(**wet), "voltage:")
    assert said_of(electrical_of(**wet, load={"regeneration_a": 12.0}), "voltage:")


@pytest.mark.parametrize(("parallel", "group_a"), [(1, 350), (2, 700), (3, 1050)])
def test_a_group_drives_all_its_cells_into_a_balance_lead(parallel: int, group_a: int) -> None:
    """4.2 V over 12 mohm, times the cells in parallel."""
    (said,) = said_of(electrical_of(parallel=parallel), "taps:")
    assert f"one group drives up to {group_a} A" in said


def test_fused_balance_leads_are_no_matter() -> None:
    """The caution goes with their fuses."""
    assert said_of(electrical_of(taps={"fused": True}), "taps:") == []


def test_leads_are_rated_for_the_air_that_they_lie_in() -> None:
    """Their rise over that air goes with the current squared up to the conductor's 75 C: so the
    ampacity there is that of the open air by the square root of what each leaves (IEC 60364-5-52
    annex on other ambients, from memory)."""
    for load in ({"continuous_a": 9.0}, {"continuous_a": 12.0, "ambient_c": 40.0}):
        found = electrical_of(load=load)
        told = check_of(found, "wire_inside_a")
        inside_c = float(re.findall(r"air of (-?\d+)", told.about)[0])
        assert abs(inside_c - found.heat.empty.enclosure_c) <= 0.5
        outside_a, outside_c = check_of(found, "wire_a").limit, found.leads.ambient_c
        assert outside_a is not None and told.limit is not None
        ratio = ((75.0 - found.heat.empty.enclosure_c) / (75.0 - outside_c)) ** 0.5
        assert told.limit == pytest.approx(outside_a * ratio, rel=0.02)
        plastic = check_of(found, "wire_plastic_c")
        used = load["continuous_a"] / told.limit
        rise = (75.0 - found.heat.empty.enclosure_c) * used**2
        assert plastic.value == pytest.approx(found.heat.empty.enclosure_c + rise, abs=0.05)


def test_cells_are_judged_by_their_own_limit() -> None:
    """A cell that may get just as warm as it gets holds; one of 0.2 K less does not."""
    reached = check_of(electrical_of(printer={"material": "pc"}), "cell_temperature").value
    assert reached is not None and 30.0 < reached < 80.0
    for kelvin, holds in ((0.1, True), (-0.1, False)):
        most_c = round(reached + kelvin, 2)
        found = electrical_of(cell={"max_c": most_c}, printer={"material": "pc"})
        check = check_of(found, "cell_temperature")
        assert check.holds is holds and "too close to call" in check.about


@pytest.mark.parametrize(("cool", "warm"), [("pla", "petg"), ("petg", "abs"), ("abs", "pa12")])
def test_materials_soften_in_the_order_that_every_printer_knows(cool: str, warm: str) -> None:
    """PLA before PETG before ABS before nylon (common practice, no source)."""
    limits = [
        check_of(electrical_of(printer={"material": name}), "polymer_temperature").limit
        for name in (cool, warm)
    ]
    assert limits[0] is not None and limits[1] is not None and limits[0] + 5.0 < limits[1]


def test_abs_is_not_trusted_beyond_its_softening_less_a_margin() -> None:
    """Bulk sheets allow service to 80 C at most without load; under load far less is allowed."""
    limit = check_of(electrical_of(printer={"material": "abs"}), "polymer_temperature").limit
    assert limit is not None and 60.0 <= limit <= 65.0


@pytest.mark.parametrize(("mohm", "cautioned"), [(13.5, False), (12.0, True)])
def test_uneven_currents_are_cautioned_from_half_their_mean(mohm: float, cautioned: bool) -> None:
    """Eight in parallel: the less the cells' own resistance, the more the strips decide."""
    cell = {"internal_resistance_mohm": mohm, "ac_resistance_mohm": None}
    found = electrical_of(parallel=8, cell=cell, strip={"joints": "links"})
    said = said_of(found, "strips: at 9 A the currents in one group differ by")
    assert bool(said) is cautioned
    assert found.shares.spread_ratio == pytest.approx(0.5, abs=0.05)


def test_a_cell_that_does_more_than_its_part_is_cautioned() -> None:
    """From where the most loaded of two is at its own 8 A, up to what both carry together."""
    most = float(abs(electrical_of().shares.cell).max())
    assert 0.5 < most < 0.55
    limit_a = 8.0 / most
    for load_a, cautioned in ((limit_a - 0.1, False), (limit_a + 0.1, True), (16.1, False)):
        found = electrical_of(load={"continuous_a": round(load_a, 3)})
        assert bool(said_of(found, "cells: at")) is cautioned
