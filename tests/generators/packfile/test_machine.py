"""``load.machine`` from the pack file: what it fills in, what is kept, and each fault."""

from __future__ import annotations

from pathlib import Path

import pytest

from generators.cli import main
from generators.electrical_rows import electrical_row
from generators.report.machine import machine_tables
from generators.result import plain
from layouts.ratings.driving import drive_demand
from tests.generators.packfile.files import PLAIN, added, read
from tests.generators.packfile.planned_electrical import check_of, electrical_of, said_of

GEARS = {"motor_rpm_per_v": 100.0, "wheel_circumference_mm": 900.0, "motor_teeth": 10.0,
         "wheel_teeth": 50.0}  # fmt: skip
CART = {"mass_kg": 40.0, "speed_km_h": 8.0, "slope_percent": 2.0, "start_slope_percent": 8.0,
        "gearing": GEARS}  # fmt: skip


def test_it_stands_in_for_loads_that_are_left_out() -> None:
    """Watts of its slope and its start; the start's time is the peak's."""
    load = read(PLAIN + "load: {machine: {mass_kg: 180, speed_km_h: 12, start_s: 6}}\n").pack.load
    assert load is not None and load.machine is not None
    demand = drive_demand(load.machine)
    assert (load.continuous_w, load.peak_w) == (demand.continuous_w, demand.peak_w)
    assert (load.continuous_a, load.peak_a, load.peak_s) == (None, None, 6.0)
    assert load.derived == ("continuous", "peak")


def test_given_loads_win() -> None:
    """Each for itself; a peak that a given continuous load covers is none."""
    text = PLAIN + "load: {%s, machine: {mass_kg: 180, speed_km_h: 12}}\n"
    some = read(text % "continuous_a: 5").pack.load
    large = read(text % "continuous_w: 5000").pack.load
    both = read(text % "continuous_a: 5, peak_a: 9, peak_s: 3").pack.load
    assert some is not None and large is not None and both is not None
    assert (some.continuous_a, some.continuous_w, some.derived) == (5.0, None, ("peak",))
    assert (large.peak_w, large.derived) == (None, None)
    assert (both.peak_a, both.peak_w, both.peak_s, both.derived) == (9.0, None, 3.0, None)


def test_more_than_the_file_gives_is_told() -> None:
    """Continuous and peak, each with its own caution; silent where the file gives enough."""
    small = electrical_of(load={"continuous_a": 2.0, "peak_a": 3.0, "machine": CART})
    told = said_of(small, "load: by load.machine")
    assert len(told) == 2 and "2.0 A of continuous_a" in told[0] and "3.0 A of peak_a" in told[1]
    enough = electrical_of(load={"continuous_a": 9.0, "peak_a": 18.0, "machine": CART})
    assert said_of(enough, "load: by load.machine") == []
    asked = enough.machine.driven
    assert asked is not None and asked.asked.continuous_a is not None
    # at the empty pack's volts: P = (V0 - R I) I
    amps, ohm = asked.asked.continuous_a, enough.shares.ohm + enough.leads.ohm
    assert (11.2 - ohm * amps) * amps == pytest.approx(asked.demand.continuous_w)


def test_range_and_energy_are_in_balance() -> None:
    """Full to cut-off: time x speed is the way; watts x time what was given."""
    found = electrical_of(load={"continuous_a": None, "machine": CART}).machine.driven
    assert found is not None
    for run, point in (
        (found.level_run, found.demand.level),
        (found.slope_run, found.demand.steady),
    ):
        assert run.distance_km == pytest.approx(8.0 * run.seconds / 3600.0)
        assert run.given_wh == pytest.approx(point.battery_w * run.seconds / 3600.0)
        assert run.taken_wh == pytest.approx(run.given_wh + run.lost_wh, rel=1e-9)
    assert found.level_run.seconds > found.slope_run.seconds


def test_a_speed_that_the_gearing_does_not_give_fails() -> None:
    """4S, 14.4 V x 100 / 5 = 288 turns a minute x 0.9 m = 15.6 km/h without load."""
    fast = electrical_of(load={"continuous_a": None, "machine": CART | {"speed_km_h": 16.0}})
    assert not check_of(fast, "machine_speed").holds
    slow = electrical_of(load={"continuous_a": None, "machine": CART})
    assert check_of(slow, "machine_speed").holds
    assert said_of(slow, "load: the machine reaches") == []
    fades = electrical_of(load={"continuous_a": None, "machine": CART | {"speed_km_h": 13.0}})
    assert check_of(fades, "machine_speed").holds
    assert len(said_of(fades, "load: the machine reaches")) == 1


def test_it_is_told_in_report_and_result() -> None:
    """Three tables, whose rows fit; nothing of either where the file has no machine."""
    pack = read(PLAIN + "load: {machine: {mass_kg: 180, speed_km_h: 12}}\n").pack
    of = electrical_of(load={"continuous_a": None, "machine": CART})
    tables = machine_tables(pack, of)
    assert len(tables) == 3
    assert all(len(row) == len(one.headings) for one in tables for row in one.rows)
    assert "machine" in electrical_row(pack, of, plain)
    bare = electrical_of()
    assert machine_tables(pack, bare) == () and "machine" not in electrical_row(pack, bare, plain)


def test_what_is_assumed_is_cautioned() -> None:
    """Ground, body and efficiency, each until it is given."""
    text = PLAIN + "load: {machine: {mass_kg: 180, speed_km_h: 12%s}}\n"
    (told,) = [c.text for c in read(text % "").cautions if c.field == "load.machine"]
    assert told.startswith("ground gravel, body trolley, efficiency 0.7 assumed")
    given = text % ", ground: grass, drag_area_m2: 0.8, efficiency: 0.6"
    assert not [c for c in read(given).cautions if c.field == "load.machine"]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("mass_kg: -3, speed_km_h: 9", "load.machine.mass_kg: must be more than 0 (-3)"),
        ("mass_kg: 3, speed_km_h: 9, efficiency: 1.2", "efficiency: must be at most 1 (1.2)"),
        ("mass_kg: 3, speed_km_h: 9, efficiency: 0", "efficiency: must be more than 0.05 (0)"),
        ("mass_kg: 3, speed_km_h: 0, gearing: {motor_rpm_per_v: 9, wheel_circumference_mm: 900}",
         "load.machine.speed_km_h: must be more than 0 (0)"),
        ("mass_kg: 3, speed_km_h: 9, gearing: {motor_rpm_per_v: 0, wheel_circumference_mm: 900}",
         "load.machine.gearing.motor_rpm_per_v: must be more than 0 (0)"),
        ("mass_kg: 3, speed_km_h: 9, ground: mud", "ground: must be asphalt, gravel, grass"),
        ("mass_kg: 3, speed_km_h: 9, slope_percent: -1", "slope_percent: must be at least 0 (-1)"),
        ("mass_kg: 3", "load.machine.speed_km_h: is missing"),
    ],
)  # fmt: skip
def test_faults_name_line_key_and_way_out(text: str, told: str) -> None:
    """One each, in the section's own line."""
    (line,) = added(f"load:\n  machine: {{{text}}}\n")
    assert line.startswith(("p.yaml:6: load.machine.", "p.yaml:5: load.machine.")) and told in line


def test_bad_input_ends_with_status_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """From the command line."""
    file = tmp_path / "p.yaml"
    file.write_text(PLAIN + "load: {machine: {mass_kg: -3, speed_km_h: 12}}\n", encoding="utf-8")
    assert main(["check", str(file)]) == 2
    assert "p.yaml:5: load.machine.mass_kg" in capsys.readouterr().err
