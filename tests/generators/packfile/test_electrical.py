"""The pack file's electrical keys: what is taken, and each fault in one line."""

from __future__ import annotations

from pathlib import Path

import pytest

from generators.packfile.faults import PackFileError
from generators.packfile.resolve import parse_pack
from generators.packfile.strip_models import StripSection
from layouts.formats import conductors
from layouts.pack import BalanceLeadSpec
from layouts.ratings.wire import AmpacityTable
from tests.generators.packfile.files import PLAIN, added, read


def test_left_out_the_sections_say_nothing() -> None:
    """No fuse, controller or charger; the documented wires."""
    pack = read(PLAIN).pack
    assert (pack.fuse, pack.controller, pack.charger, pack.disconnect) == (None,) * 4
    assert pack.taps == BalanceLeadSpec(awg=22, fused=False)
    assert pack.leads.table is AmpacityTable.CABLE_75
    assert pack.spacing_floor_mm == 0.0


def test_a_load_may_be_told_in_watts() -> None:
    """Watts alone are a load; their peak lasts ten seconds where nothing is said."""
    load = read(PLAIN + "load: {continuous_w: 500, peak_w: 900}\n").pack.load
    assert load is not None
    assert (load.continuous_a, load.continuous_w, load.peak_w) == (None, 500, 900)
    assert load.peak_s == 10


def test_every_strip_material_of_the_table_can_be_written() -> None:
    """The form's words are the table's rows."""
    schema = StripSection.model_json_schema()["properties"]["material"]["anyOf"][0]
    assert set(schema["enum"]) == set(conductors())


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("strip: {material: gold}\n",
         "5: strip.material: must be nickel, high_purity_nickel, copper, steel or aluminium "
         "(gold), write nickel, high_purity_nickel, copper, steel or aluminium"),
        ("strip: {weld_spot_mohm: 0}\n",
         "5: strip.weld_spot_mohm: must be more than 0 (0), use more than 0"),
        ("load: {continuous_a: 5, continuous_w: 200}\n",
         "5: load.continuous_w: is given together with continuous_a (200), delete one of the "
         "two"),
        ("load: {continuous_a: 5, peak_a: 9, peak_w: 200}\n",
         "5: load.peak_w: is given together with peak_a (200), delete one of the two"),
        ("load: {continuous_w: 500, peak_w: 200}\n",
         "5: load.peak_w: is less than continuous_w 500 (200), use at least 500, or delete it"),
        ("bms: {continuous_a: 30, peak_a: 20}\n",
         "5: bms.peak_a: is less than continuous_a 30 (20), use at least 30, or delete it"),
        ("load: {continuous_w: 500, peak_s: 5}\n",
         "5: load.peak_s: is the duration of a peak, but no peak_a is given (5), add peak_a, "
         "or delete it"),
        ("load: {continuous_a: 5, discharge_cutoff_v: 42}\n",
         "5: load.discharge_cutoff_v: is not below the 42.0 V of the fully charged pack (42), "
         "give the voltage at which the discharge stops"),
        ("controller: {cutoff_v: 30, highest_v: 25}\n",
         "5: controller.cutoff_v: is not below highest_v 25 (30), use the values of its data "
         "sheet"),
        ("controller: {capacitance_f: 0.001, capacitance_uf: 1000}\n",
         "5: controller.capacitance_uf: is given together with capacitance_f (1000), delete "
         "one of the two"),
        ("fuse: {dc_v: 58}\n",
         "5: fuse.rating_a: is missing, add rating_a: rated current, A"),
        ("fuse: {rating_a: 30, breaking_a: 2e6}\n",
         "5: fuse.breaking_a: must be at most 1,000,000 (2e6), use at most 1,000,000"),
        ("charger: {volts_v: 42}\n",
         "5: charger.amps_a: is missing, add amps_a: charge current, A"),
        ("charger: {volts_v: 42, amps_a: 4, chemistry: 'n m c'}\n",
         "5: charger.chemistry: is not the name of a chemistry (n m c), write nmc, nca, lfp or "
         "lto, or the same word as in cell.chemistry"),
        ("bms: {port: both}\n",
         "5: bms.port: must be common or separate (both), write common or separate"),
        ("leads: {table: cable75}\n",
         "5: leads.table: must be free_air, bundled, cable_60, cable_75, cable_90 or marine_105 "
         "(cable75), write cable_75"),
        ("disconnect: maybe\n",
         "5: disconnect: must be true or false, not text (maybe), write true or false"),
        ("load: {continuous_a: 5, profile: nowhere.csv}\n",
         "5: load.profile: can't be read: No such file or directory (nowhere.csv), give the "
         "path of a CSV file relative to this file's folder"),
    ],
)  # fmt: skip
def test_one_fault_is_one_line(text: str, told: str) -> None:
    """The whole line, word for word."""
    assert added(text) == [f"p.yaml:{told}"]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("mass_g: 69", "mass_g: 69, charge_c: [45, 0]",
         "2: cell.charge_c: leaves no range below the cell's max_c 60 (45 to 0), give the "
         "lower temperature first, below max_c"),
        ("mass_g: 69", "mass_g: 69, max_c: 30, discharge_least_c: 40",
         "2: cell.discharge_least_c: is not below the cell's max_c 30 (40), use the values of "
         "its data sheet"),
        ("internal_resistance_mohm: 14", "internal_resistance_mohm: 0",
         "2: cell.internal_resistance_mohm: must be more than 0 (0), use more than 0"),
        ("chemistry: nmc", "chemistry: sodium",
         "2: cell.chemistry: is not a chemistry with built-in voltages (sodium), add empty_v, "
         "nominal_v, full_v, or use nmc, nca, lfp, lto"),
    ],
)  # fmt: skip
def test_faults_of_the_cell(old: str, new: str, told: str) -> None:
    """Windows of temperature, resistance of nothing, a chemistry without volts."""
    with pytest.raises(PackFileError) as caught:
        read(PLAIN.replace(old, new))
    assert caught.value.lines() == [f"p.yaml:{told}"]


def with_profile(folder: Path, profile: str) -> list[str]:
    """The faults of a pack file beside a profile, without the folder's name."""
    (folder / "ride.csv").write_text(profile, encoding="utf-8")
    text = PLAIN + "load: {continuous_a: 5, profile: ride.csv}\n"
    try:
        parse_pack(text.encode(), str(folder / "p.yaml"))
    except PackFileError as error:
        return [line.replace(f"{folder}/", "") for line in error.lines()]
    return []


def test_a_profile_is_read_from_beside_the_pack_file(tmp_path: Path) -> None:
    """Three columns, a remark and a blank line: seconds, watts and speed reach the load."""
    (tmp_path / "ride.csv").write_text(
        "# measured in spring\nseconds,watts,km_h\n0,100,10\n\n10, -50, 12\n20,0,0\n"
    )
    text = PLAIN + "load: {continuous_a: 5, profile: ride.csv}\n"
    load = parse_pack(text.encode(), str(tmp_path / "p.yaml")).pack.load
    assert load is not None
    assert load.profile is not None
    assert load.profile.seconds == (0.0, 10.0, 20.0)
    assert load.profile.watts == (100.0, -50.0, 0.0)
    assert load.profile.speed_km_h == (10.0, 12.0, 0.0)


@pytest.mark.parametrize(
    ("profile", "told"),
    [
        ("seconds,watts\n0,100\n5,\n9,0\n",
         "3: watts: is empty, give a number in every row, or delete the row"),
        ("seconds,watts\n0,100\n5,fast\n9,0\n",
         "3: watts: is not a finite number (fast), give a number in every row, or delete the "
         "row"),
        ("seconds,watts\n0,100\n5,nan\n9,0\n",
         "3: watts: is not a finite number (nan), give a number in every row, or delete the row"),
        ("seconds,watts\n0,100\n9,50\n5,0\n",
         "4: seconds: do not increase: 9 in the row before (5), sort the rows, and give each a "
         "later time"),
        ("seconds,watts,km_h\n0,100,-3\n9,50,0\n",
         "2: km_h: is below zero (-3), give 0 or more"),
        ("seconds,watts\n0,100,3\n9,50\n",
         "2: row: has 3 entries, not 2 (0,100,3), give every row all columns"),
        ("seconds;watts\n0;100\n",
         "1: file: has the wrong columns (seconds;watts), write seconds,watts or "
         "seconds,watts,km_h in the first line"),
        ("", "1: file: is empty, write seconds,watts or seconds,watts,km_h in the first line"),
        ("seconds,watts\n0,100\n",
         "2: file: has fewer than two rows (1), each row's watts hold until the next row, the last "
         "row ends the profile"),
    ],
)  # fmt: skip
def test_a_fault_of_a_profile_has_its_own_file_and_line(
    profile: str, told: str, tmp_path: Path
) -> None:
    """The CSV file's name and the line in it, whatever the pack file says."""
    assert with_profile(tmp_path, profile) == [f"ride.csv:{told}"]


def test_several_faults_of_a_profile_are_told_at_once(tmp_path: Path) -> None:
    """One line each, in their order."""
    lines = with_profile(tmp_path, "seconds,watts\nx,1\n2,y\n3,4\n")
    assert [line.split(": ")[:2] for line in lines] == [
        ["ride.csv:2", "seconds"], ["ride.csv:3", "watts"],
    ]  # fmt: skip


def test_a_profile_that_is_no_text_is_told(tmp_path: Path) -> None:
    """Bytes of another kind of file, at the line where they stand."""
    (tmp_path / "ride.csv").write_bytes(b"seconds,watts\n0,\xff\n")
    text = PLAIN + "load: {continuous_a: 5, profile: ride.csv}\n"
    with pytest.raises(PackFileError) as caught:
        parse_pack(text.encode(), str(tmp_path / "p.yaml"))
    assert caught.value.lines()[0].endswith("ride.csv:2: file: is not UTF-8 text, save it as UTF-8")
