"""The electrical side of whole packs: ratings, checks that fail for their cause, heat."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from layouts.electrical.leads import lead_inside_checks
from layouts.electrical.plan import electrical_plan
from layouts.electrical.values import Electrical
from layouts.errors import PlanError
from layouts.heat.polymers import polymer_heats
from layouts.pack import BalanceLeadSpec, Controller, Load, Pack
from layouts.ratings.bms import Port
from layouts.ratings.charge import Charger
from layouts.ratings.fuse import Fuse
from layouts.ratings.profile import load_profile
from layouts.ratings.wire import AmpacityTable
from tests.layouts.electrical.packs import laid
from tests.samples import sample_pack

BASE = laid(7, 3)


def planned(**changes: Any) -> Electrical:
    """7S3P of 12 A, 4 Ah cells, 25.2 V full, with sections changed; strips stay as laid."""
    return electrical_plan(replace(BASE.pack, **changes), BASE.cell_layout, BASE.interconnect)


@cache
def unasked() -> Electrical:
    """The same without a load."""
    return planned()


def failing(of: Electrical) -> set[str]:
    """Ids of the checks that do not hold."""
    return {check.id for check in of.checks if not check.holds}


def sound() -> dict[str, Any]:
    """Sections with which everything holds at 12 A."""
    return {
        "cell": replace(BASE.pack.cell, charge_a=2.0, ac_resistance_mohm=9.0, peak_a=20.0),
        "load": Load(continuous_a=12.0, ambient_c=30.0),
        "fuse": Fuse(rating_a=25.0, dc_v=32.0, breaking_a=2000.0),
        "bms": replace(
            BASE.pack.bms, continuous_a=30.0, series=7, charge_a=10.0, port=Port.COMMON,
            cold_charge_stop=True,
        ),
        "controller": Controller(lowest_v=20.0, cutoff_v=20.0, highest_v=30.0),
        "charger": Charger(volts_v=29.4, amps_a=5.0, chemistry="nmc", wire_mm2=2.5),
        "leads": replace(BASE.pack.leads, connector_a=40.0),
        "taps": BalanceLeadSpec(awg=22, fused=True),
        "disconnect": True,
    }  # fmt: skip


def test_the_check_value_of_the_trade() -> None:
    """13S7P of 2.6 Ah and 20 A: 91 cells, 18.2 Ah, 140 A, 46.8 V nominal and 54.6 V full."""
    one = laid(13, 7, format="18650")
    cell = replace(one.pack.cell, capacity_ah=2.6, continuous_a=20.0, nominal_v=3.6, full_v=4.2)
    of = electrical_plan(replace(one.pack, cell=cell), one.cell_layout, one.interconnect)
    ratings = of.ratings
    assert len(of.cell_a) == 91
    assert ratings.capacity_ah == pytest.approx(18.2)
    assert ratings.cells_a == pytest.approx(140.0)
    assert (ratings.nominal_v, ratings.full_v) == pytest.approx((46.8, 54.6))


def test_without_a_load_nothing_about_current_is_checked() -> None:
    """Ratings are given at the continuous current; the proposed fuse alone is checked."""
    of = unasked()
    assert (of.at, of.ratings.demand_a, of.peak) == ("continuous", None, None)
    assert {check.id for check in of.checks} == {
        "fuse_wire_a", "fuse_least_fault_a", "wire_fault_s",
    }  # fmt: skip
    assert failing(of) == set()
    assert of.reference.load_a == pytest.approx(of.ratings.pack_continuous_a)
    assert of.reference == of.continuous


def test_the_continuous_current_is_the_least_of_all() -> None:
    """And its name is that of the least; a proposed fuse counts as a given one would."""
    limits = unasked().ratings.limits
    assert limits.fuse_a == unasked().fuse_protection.continuous_rating_a
    assert unasked().ratings.pack_continuous_a == min(limits.known.values())
    assert {"cells", "links", "welds", "wire", "heat"} <= set(limits.known)
    weak = planned(strip=replace(BASE.pack.strip, weld_spots=1, weld_spot_a=0.5))
    assert weak.ratings.limited_by == "welds"
    assert weak.ratings.pack_continuous_a == pytest.approx(0.5 / abs(weak.shares.weld).max())


def test_a_thin_strip_limits_and_its_figure_is_told() -> None:
    """At 1 A/mm2 the links limit; the advice says how much they allow, and promises nothing."""
    thin = replace(BASE.pack.strip, current_density_a_mm2=1.0)
    of = planned(strip=thin, load=Load(continuous_a=15.0))
    assert of.ratings.limited_by == "links"
    assert "load_current_a" in failing(of)
    limit = of.strip_limit
    assert limit is not None
    (text,) = [one for one in of.advice if "the strips allow the pack" in one]
    assert f"allow the pack {limit.pack_a:.1f} A" in text and "layers" not in text


def test_a_pack_where_all_is_given_and_sound_holds_without_a_caution() -> None:
    """Every check holds, and nothing is left to say but what the heat estimate can't know."""
    of = planned(**sound())
    assert failing(of) == set()
    assert len(of.checks) > 20
    assert [text for text in of.cautions if not text.startswith("heat")] == []


@pytest.mark.parametrize(
    ("section", "value", "fails"),
    [
        ("load", Load(continuous_a=38.0), {
            "load_current_a", "bms_a", "fuse_load_a", "cell_temperature", "polymer_temperature",
            "wire_plastic_c",
        }),
        ("fuse", Fuse(rating_a=100.0, dc_v=32.0, breaking_a=2000.0),
         {"fuse_wire_a", "fuse_least_fault_a"}),
        ("fuse", Fuse(rating_a=25.0, dc_v=24.0, breaking_a=2000.0), {"fuse_dc_v"}),
        ("fuse", Fuse(rating_a=25.0, dc_v=32.0, breaking_a=500.0), {"fuse_breaking_a"}),
        ("fuse", Fuse(rating_a=25.0, dc_v=32.0, breaking_a=2000.0, opens_multiple=12.0),
         {"fuse_least_fault_a"}),
        ("bms", {"series": 6}, {"bms_series"}),
        ("load", Load(continuous_a=12.0, ambient_c=-30.0), {"ambient_c"}),
        ("load", Load(continuous_a=12.0, peak_a=70.0), {
            "load_peak_a", "fuse_peak_a", "bms_peak_a", "connector_peak_a", "links_peak_a",
            "wire_peak_c",
        }),
        ("leads", {"length_mm": 18_000.0}, {"wire_volts_lost_v"}),
        ("leads", {"connector_a": 10.0}, {"load_current_a"}),
        ("bms", {"charge_a": 2.0}, {"bms_charge_a"}),
        ("controller", Controller(cutoff_v=18.0), {"controller_cutoff_v"}),
        ("controller", Controller(highest_v=28.0), {"controller_high_v"}),
        ("controller", Controller(lowest_v=26.0), {"controller_low_v"}),
        ("charger", Charger(volts_v=25.55, amps_a=5.0, chemistry="lfp"), {"charger_chemistry"}),
        ("charger", Charger(volts_v=33.6, amps_a=5.0), {"charger_v"}),
        ("charger", Charger(volts_v=29.4, amps_a=8.0), {"charger_a"}),
    ],
)  # fmt: skip
def test_each_fault_is_found_by_its_own_check(section: str, value: Any, fails: set[str]) -> None:
    """One thing made wrong in a sound pack: the check meant for it fails, others only with it."""
    sections = sound()
    if isinstance(value, dict):
        value = replace(sections[section], **value)
    assert failing(planned(**(sections | {section: value}))) == fails


PEAK = Load(continuous_a=12.0, peak_a=31.0, peak_s=5.0, ambient_c=30.0)
BOARD = {"peak_a": 60.0, "peak_s": 5.0}
STRIP = replace(BASE.pack.strip, current_density_a_mm2=16.0)


@pytest.mark.parametrize(
    ("section", "value", "fails"),
    [
        ("bms", {}, set()),
        ("bms", {"peak_s": 4.0}, {"bms_peak_a"}),
        ("bms", {"peak_a": 30.5}, {"bms_peak_a"}),
        ("leads", {"connector_a": 30.0}, {"connector_peak_a"}),
        ("strip", {"current_density_a_mm2": 15.0}, {"links_peak_a"}),
        ("strip", {"weld_spots": 2, "weld_spot_a": 4.0}, {"welds_peak_a"}),
        ("leads", {"wire_mm2": 6.0}, set()),
        ("load", {"peak_s": 900.0}, {"bms_peak_a", "wire_peak_c"}),
    ],
)
def test_a_peak_is_judged_on_every_part_in_its_way(
    section: str, value: dict[str, Any], fails: set[str]
) -> None:
    """By its duration where a rating has one, else as if it were continuous."""
    sections = sound() | {"load": PEAK, "strip": STRIP}
    sections["bms"] = replace(sections["bms"], **BOARD)
    sections[section] = replace(sections[section], **value)
    assert failing(planned(**sections)) == fails


def test_a_proposed_fuse_passes_all_that_a_given_one_would() -> None:
    """A small current carries a smaller rating; what no rating clears is said and fails."""
    small = planned(load=Load(continuous_a=12.0))
    given = planned(load=Load(continuous_a=12.0), fuse=small.fuse_protection.fuse)
    assert failing(small) == failing(given) == set()
    assert small.ratings == given.ratings
    weak = replace(BASE.pack.cell, internal_resistance_mohm=200.0)
    of = planned(cell=weak)
    assert not of.fuse_protection.fits and failing(of) == set()
    assert of.ratings.limited_by == "fuse"
    assert of.ratings.pack_continuous_a == of.fuse_protection.continuous_rating_a
    none = planned(cell=replace(weak, internal_resistance_mohm=5000.0))
    assert "none protects" in none.fuse_protection.reason
    assert failing(none) == {"fuse_least_fault_a"}
    assert any("no standard rating" in text for text in none.cautions)


def test_a_braking_motor_raises_what_the_fuse_must_break() -> None:
    """25.2 V full and 29.4 while it brakes: a fuse for 26 V is not enough."""
    sections = sound() | {"fuse": Fuse(rating_a=25.0, dc_v=29.5, breaking_a=2000.0)}
    assert failing(planned(**sections)) == set()
    sections["load"] = Load(continuous_a=12.0, regeneration_a=6.0, ambient_c=30.0)
    assert "fuse_dc_v" in failing(planned(**sections))


def test_the_first_spark_meets_the_quick_resistance() -> None:
    """V / R of the network with the cells' 1 kHz resistance, and the leads."""
    sections = sound()
    sections["controller"] = Controller(capacitance_f=0.001)
    of = planned(**sections)
    ohm = of.fuse_protection.short.ohm + of.leads.ohm
    assert of.machine.inrush_a == pytest.approx(of.ratings.full_v / ohm, rel=1e-9)


def test_charge_warms_the_cells_against_their_charge_range() -> None:
    """From an ambient within the range it is checked; outside of it it is charged elsewhere."""
    sections = sound()
    sections["cell"] = replace(sections["cell"], charge_c=(0.0, 30.2))
    assert failing(planned(**sections)) == {"charge_temperature"}
    sections["load"] = Load(continuous_a=12.0, ambient_c=31.0)
    hot = planned(**sections)
    assert "charge_temperature" not in {check.id for check in hot.checks}
    assert any("charge elsewhere" in text for text in hot.cautions)
    assert not any("charge elsewhere" in text for text in planned(**sound()).cautions)


def test_heat_without_end_is_told_without_a_load_too() -> None:
    """At the continuous current steady state lies above the limit: it is said."""
    warm = replace(BASE.pack.cell, internal_resistance_mohm=60.0)
    of = planned(cell=warm)
    assert of.ratings.demand_a is None and of.heat.steady.hottest_c > of.heat.limits.lowest_c
    assert any("not continuously" in text for text in of.cautions)


def test_leads_are_judged_in_the_air_that_they_lie_in() -> None:
    """A warm inside leaves them less current, and the plastic limits what they may reach."""
    plastic, leads = polymer_heats()["petg"], planned(**sound()).leads
    demand_a = 0.5 * leads.continuous_rating_a

    def failing_at(inside_c: float) -> set[str]:
        checks = lead_inside_checks(leads, demand_a=demand_a, inside_c=inside_c, plastic=plastic)
        return {check.id for check in checks if not check.holds}

    assert failing_at(30.0) == set()  # a quarter of the 45 K over it: 41 of 55 C
    assert failing_at(50.0) == {"wire_plastic_c"}
    assert failing_at(68.0) == failing_at(80.0) == {"wire_inside_a", "wire_plastic_c"}
    thin = sound() | {"leads": replace(sound()["leads"], wire_mm2=1.5)}
    assert "wire_plastic_c" in failing(planned(**thin))


def test_a_charge_fuse_that_no_rating_fits_fails() -> None:
    """The charge leads' ampacity lies below what the charger's current asks of a fuse."""
    sections = sound() | {"charger": Charger(volts_v=29.4, amps_a=6.0, wire_mm2=0.5)}
    assert "charge_fuse_load_a" in failing(planned(**sections))


def test_a_load_in_watts_draws_most_from_the_empty_pack() -> None:
    """P = (V0 - R I) I at the empty volts, behind cells, strips and wire."""
    of = planned(load=Load(continuous_w=300.0))
    current = of.ratings.demand_a
    assert current is not None
    ohm = of.shares.ohm + of.leads.ohm
    assert (7 * BASE.pack.cell.empty_v - ohm * current) * current == pytest.approx(300.0)
    assert "load" not in failing(of)
    assert of.at == "asked"


def test_watts_out_of_reach_fail_the_load_and_say_how_many_would_do() -> None:
    """Check ``load`` fails, demand_a is None, currents are given at the continuous rating."""
    of = planned(load=Load(continuous_w=50_000.0))
    assert failing(of) == {"load"}
    assert (of.ratings.demand_a, of.at) == (None, "continuous")
    (check,) = [one for one in of.checks if one.id == "load"]
    most = (7 * BASE.pack.cell.empty_v) ** 2 / (4 * (of.shares.ohm + of.leads.ohm))
    assert check.limit == pytest.approx(most)
    assert any(f"at most {most:.0f} W" in text for text in of.cautions)


def test_heat_made_is_what_the_network_loses_and_what_leaves() -> None:
    """Watts in: I^2 R of the whole pack, of board, fuse and leads; watts out: as much, to 1e-9."""
    of = planned(load=Load(continuous_a=15.0))
    steady = of.heat.steady
    made = of.reference.lost_w + of.inside_heat.watts_at(15.0)
    assert steady.watts_in == pytest.approx(made, rel=1e-9)
    assert steady.watts_out == pytest.approx(steady.watts_in, rel=1e-9)
    assert of.ratings.limits.heat_a == of.heat.discharge.amps
    assert of.heat.continuous.amps < of.heat.discharge.amps


def test_air_as_warm_as_the_plastic_may_get_is_refused() -> None:
    """PLA in 50 C: a plan error that names the field."""
    printer = replace(BASE.pack.printer, material="pla")
    with pytest.raises(PlanError, match=r"load\.ambient_c: is at the temperature limit of the pla"):
        planned(load=Load(continuous_a=5.0, ambient_c=50.0), printer=printer)


def test_what_is_given_back_meets_cells_board_and_controller() -> None:
    """A motor's current above the cells' charge, into a controller rated for little more."""
    sections = sound()
    sections["load"] = Load(continuous_a=12.0, regeneration_a=20.0)
    sections["controller"] = Controller(highest_v=29.5, capacitance_f=0.001)
    of = planned(**sections)
    assert failing(of) == {"regeneration_a", "regeneration_v"}
    back = of.charging.back
    assert back is not None
    assert back.full_pack_v == pytest.approx(29.4 + 20.0 * (of.shares.ohm + of.leads.ohm))
    assert of.machine.precharge is not None
    assert of.machine.precharge.joules == pytest.approx(0.001 * 29.4**2 / 2)


def test_a_cut_off_told_by_the_load_counts_too() -> None:
    """18 V is below seven empty cells of 2.8 V."""
    assert failing(planned(load=Load(continuous_a=12.0, discharge_cutoff_v=18.0))) == {
        "controller_cutoff_v"
    }


def test_heat_at_the_continuous_current_is_told_beside() -> None:
    """At the load demand less than in steady state at the continuous rating, both in balance."""
    of = planned(load=Load(continuous_a=10.0))
    assert of.heat.steady.rise_k < of.heat_continuous.rise_k
    made, left = of.heat_continuous.watts_in, of.heat_continuous.watts_out
    assert made == pytest.approx(left, rel=1e-9)
    lost = of.continuous.lost_w + of.inside_heat.watts_at(of.ratings.pack_continuous_a)
    assert made == pytest.approx(lost, rel=1e-9)


def test_a_profile_gives_a_run_time() -> None:
    """200 W again and again until the pack is empty: given and lost are what was taken."""
    profile = load_profile([0.0, 60.0], [200.0, 0.0], [18.0, 0.0])
    run = planned(load=Load(continuous_w=200.0, profile=profile)).machine.run
    assert run is not None
    assert run.ended_by == "empty"
    assert run.taken_wh == pytest.approx(run.given_wh + run.lost_wh, rel=1e-9)
    assert run.distance_km == pytest.approx(18.0 * run.seconds / 3600.0)


def test_what_is_not_given_is_cautioned_and_fails_nothing() -> None:
    """Fuse, taps, BMS and switch are each reported; the rest in one line."""
    said = " | ".join(unasked().cautions)
    for words in ("fuse: none is given", "balance leads have no fuses", "BMS", "by hand is needed",
                  "not given, so not checked: controller"):  # fmt: skip
        assert words in said


def test_thin_wires_are_taken_from_a_table_that_has_them() -> None:
    """1 mm2 is below the cable tables: bundled, and said so."""
    of = planned(leads=replace(BASE.pack.leads, wire_mm2=1.0))
    assert of.leads.table is AmpacityTable.BUNDLED
    assert any("cable_75 has no wire of 1 mm2" in text for text in of.cautions)


def test_the_short_circuit_is_that_of_the_quick_network() -> None:
    """Full volts over the network with the cells' 1 kHz resistance; a third of the DC one else."""
    of = unasked()
    assert of.fuse_protection.short.assumed
    assert of.fuse_protection.resistance.mohm == pytest.approx(5.0)
    cells = 7 * 0.005 / 3
    assert 7 * 4.2 / of.fuse_protection.short.current_a > cells
    given = replace(BASE.pack.cell, ac_resistance_mohm=9.0)
    measured = planned(cell=given)
    assert not measured.fuse_protection.short.assumed
    assert measured.fuse_protection.short.current_a < of.fuse_protection.short.current_a


def test_one_cell_is_a_pack_too() -> None:
    """1S1P: no links to speak of, everything else as ever."""
    one = laid(1, 1)
    pack: Pack = sample_pack(1, 1, load=Load(continuous_a=5.0))
    of = electrical_plan(pack, one.cell_layout, one.interconnect)
    assert of.shares.cell.tolist() == pytest.approx([1.0])
    assert of.reference.strip_w == 0.0
    assert failing(of) == set()


def test_the_same_pack_gives_the_same_figures() -> None:
    """Nothing depends on the run."""
    a, b = planned(**sound()), planned(**sound())
    assert (a.ratings, a.reference, a.cautions) == (b.ratings, b.reference, b.cautions)
    assert a.cell_a.tolist() == b.cell_a.tolist()
