"""``load.cycle`` from the pack file: on fuse, wire, BMS, cells, heat, run time; its faults."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from generators.cli import main
from generators.electrical_rows import electrical_row
from generators.report.duty import cycle_tables
from generators.result import plain
from layouts.electrical.values import Electrical
from tests.generators.packfile.files import PLAIN, added, read
from tests.generators.packfile.planned_electrical import check_of, electrical_of, said_of

ROWS = [[18.0, 5.0], [8.0, 50.0], [0.0, 25.0]]


def cycled(rows: list[list[float]], **changed: Any) -> Electrical:
    """The sound pack with a cycle in place of its load."""
    load = {"continuous_a": None, "cycle": rows} | changed.pop("load", {})
    return electrical_of(load=load, **changed)


def test_it_stands_in_for_loads_that_are_left_out() -> None:
    """Root mean square and highest pulse with its stretch; the machine adds nothing then."""
    cart = "machine: {mass_kg: 900, speed_km_h: 20}"
    load = read(PLAIN + f"load: {{cycle: [[30, 10], [0, 40], [30, 5]], {cart}}}\n").pack.load
    assert load is not None
    assert load.continuous_a == pytest.approx((900 * 15 / 55) ** 0.5)
    assert (load.peak_a, load.peak_s, load.continuous_w, load.peak_w) == (30, 15, None, None)
    assert load.derived == ("continuous", "peak")


def test_a_given_load_wins_and_is_told() -> None:
    """The cycle asks for more than either: a caution each."""
    found = electrical_of(load={"continuous_a": 5.0, "peak_a": 9.0, "cycle": ROWS})
    told = said_of(found, "load: the ")
    assert len(told) == 2 and "root mean square" in told[0] and "highest pulse" in told[1]
    assert found.ratings.demand_a == 5.0
    assert said_of(cycled(ROWS), "load: the ") == []


def test_a_peak_that_a_given_load_covers_is_none() -> None:
    """18 A pulses below 20 A continuous."""
    load = read(PLAIN + "load: {continuous_a: 20, cycle: [[18, 5], [8, 50]]}\n").pack.load
    assert load is not None and (load.peak_a, load.derived) == (None, None)


def test_run_time_and_energy() -> None:
    """5 Ah at a mean of (90 + 400)/80 = 6.125 A till the controller's cut-off; in balance."""
    found = cycled(ROWS).cycle
    assert found is not None
    assert found.mean_a == pytest.approx(6.125)
    run = found.run
    assert run.ended_by in ("empty", "cut-off") and run.seconds < 3600.0 * 5.0 / 6.125 + 80.0
    assert run.taken_wh == pytest.approx(run.given_wh + run.lost_wh, rel=1e-9)


def test_each_pulse_is_held_against_the_fuse() -> None:
    """A given fuse that carries the mean but not a long pulse; a proposed one carries all."""
    long = [[18.0, 60.0], [2.0, 300.0]]
    small = cycled(long, fuse={"rating_a": 12.0})
    assert check_of(small, "fuse_load_a").holds
    assert not check_of(small, "fuse_pulse_s").holds
    assert not [one for one in small.checks if one.id == "fuse_peak_a"]
    proposed = cycled(long, fuse=None)
    assert all(one.holds for one in proposed.checks if one.id == "fuse_pulse_s")
    assert "pulses of 18 A for 60 s" in proposed.fuse_protection.reason


def test_pulses_are_checked_beside_a_peak_of_the_file() -> None:
    """A peak of 20 A for 2 s that the fuse carries hides no pulse of 18 A for a minute."""
    long = [[18.0, 60.0], [2.0, 300.0]]
    found = cycled(long, load={"peak_a": 20.0, "peak_s": 2.0}, fuse={"rating_a": 12.0})
    assert not check_of(found, "fuse_pulse_s").holds
    assert check_of(found, "fuse_peak_a").value == 20.0
    board = {"continuous_a": 12.0, "peak_a": 30.0, "peak_s": 5.0}
    assert check_of(cycled(long, load={"peak_a": 20.0, "peak_s": 2.0}, bms=board),
                    "bms_peak_a").value == 18.0  # fmt: skip


def test_a_lower_pulse_that_lasts_too_long_fails_the_board() -> None:
    """A board with 20 A for 10 s bears 18 A for 5 s, not 15 A for 35 s; one peak hid that."""
    rows = [[18.0, 5.0], [15.0, 30.0], [0.0, 100.0]]
    board = {"continuous_a": 12.0, "peak_a": 20.0, "peak_s": 10.0}
    check = check_of(cycled(rows, bms=board), "bms_peak_a")
    assert (check.holds, check.value, check.limit) == (False, 15.0, 12.0)
    assert check_of(cycled(rows[::2], bms=board), "bms_peak_a").holds


def test_the_hottest_cell_of_the_cycle_is_checked() -> None:
    """Warmer than the mean current alone would make it; fails where the plastic is soft early."""
    found = cycled([[12.0, 60.0], [0.0, 60.0]], load={"ambient_c": 20.0})
    check = check_of(found, "cycle_temperature")
    assert check.holds and check.value is not None
    even = electrical_of(load={"continuous_a": 6.0, "ambient_c": 20.0})
    assert check.value > even.heat.empty.hottest_c + 2.0
    hot = cycled([[12.0, 60.0], [0.0, 60.0]], load={"ambient_c": 48.0})
    assert not check_of(hot, "cycle_temperature").holds


def test_heat_until_empty_lasts_as_the_mean_current_does() -> None:
    """5 Ah at 8 A mean: 37.5 min, though 11.3 A heat it."""
    heat = cycled([[16.0, 60.0], [0.0, 60.0]]).heat
    assert heat.load_a == pytest.approx(16.0 / 2**0.5)
    assert heat.empty.seconds == pytest.approx(3600.0 * 5.0 / 8.0)


def test_it_is_told_in_report_and_result() -> None:
    """Two tables, whose rows fit; nothing of either where the file has no cycle."""
    pack, of = read(PLAIN + f"load: {{cycle: {ROWS}}}\n").pack, cycled(ROWS)
    tables = cycle_tables(pack, of)
    assert [len(one.rows) for one in tables] == [5, 2]
    assert all(len(row) == len(one.headings) for one in tables for row in one.rows)
    row = electrical_row(pack, of, plain)["cycle"]
    long, short = {"amps": 8.0, "seconds": 55.0}, {"amps": 18.0, "seconds": 5.0}
    assert row["pulses"] == [short, long] and "hottest_c" in row["heat"]
    bare = electrical_of()
    assert cycle_tables(read(PLAIN).pack, bare) == ()
    assert "cycle" not in electrical_row(pack, bare, plain)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[[9, 0], [3, 20]]", "load.cycle entry 1.2: must be more than 0 (0)"),
        ("[[-9, 5], [3, 20]]", "load.cycle entry 1.1: must be at least 0 (-9)"),
        ("[[0, 5]]", "load.cycle: takes no current"),
        ("[]", "load.cycle: has the wrong number of entries"),
        ("[[1, 2, 3]]", "load.cycle entry 1: has the wrong number of entries"),
        ("[[9, 5]], profile: none.csv", "load.profile: can't be read"),
    ],
)
def test_faults_name_line_key_and_way_out(text: str, told: str) -> None:
    """One each."""
    (line,) = added(f"load:\n  cycle: {text.replace(', profile', chr(10) + '  profile')}\n")
    assert line.startswith(("p.yaml:6: ", "p.yaml:7: ")) and told in line


def test_bad_input_ends_with_status_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """From the command line, a profile beside it too."""
    (tmp_path / "p.csv").write_text("seconds,watts\n0,50\n60,0\n", encoding="utf-8")
    file = tmp_path / "p.yaml"
    for more, told in (("[[9, 0]]", "entry 1.2"), ("[[9, 5]], profile: p.csv", "with profile")):
        file.write_text(PLAIN + f"load: {{cycle: {more}}}\n", encoding="utf-8")
        assert main(["check", str(file)]) == 2
        assert "p.yaml:5: load.cycle" in (err := capsys.readouterr().err) and told in err
