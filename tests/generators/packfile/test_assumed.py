"""What is assumed of a cell, or can hardly be true, is cautioned by its key."""

from __future__ import annotations

import pytest

from tests.generators.packfile.files import read


def cautioned(cell: str) -> dict[str, str]:
    """Cautions on a pack of 4S2P by their fields."""
    text = f"name: lamp\ncell: {{{cell}}}\nseries: 4\nparallel: 2\n"
    return {one.field: one.text for one in read(text).cautions}


def test_an_assumed_chemistry_is_said_with_what_would_change() -> None:
    """The pack's full volts as assumed and as each other chemistry."""
    said = cautioned("format: '18650'")["cell.chemistry"]
    assert "nmc assumed: this pack then has 16.8 V" in said
    assert "lfp 14.6 V" in said and "lto 11.2 V" in said
    assert "cell.chemistry" not in cautioned("format: '18650', chemistry: nmc")
    volts = "empty_v: 2.5, nominal_v: 3.6, full_v: 4.2"
    assert "cell.chemistry" not in cautioned(f"format: '18650', {volts}")


def test_a_format_sold_in_one_chemistry_is_taken_as_that() -> None:
    """A 32700 is iron phosphate: 14.6 V full in 4S, and that is said."""
    said = cautioned("format: '32700'")["cell.chemistry"]
    assert "lfp assumed, in which 32700 is nearly always sold" in said and "14.6 V" in said
    assert (
        read("name: a\ncell: {format: '32700'}\nseries: 4\nparallel: 1\n").pack.cell.full_v == 3.65
    )


@pytest.mark.parametrize(
    ("key", "value", "band"),
    [
        ("capacity_ah", 48, "1.26 to 6.55"),
        ("continuous_a", 150, "0.96 to 96"),
        ("peak_a", 400, "0.96 to 192"),
        ("charge_a", 48, "0.24 to 28.8"),
        ("internal_resistance_mohm", 0.014, "2.08 to 83.3"),
        ("ac_resistance_mohm", 90, "1.04 to 52.1"),
        ("mass_g", 690, "45.3 to 80.6"),
        ("empty_v", 1.0, "2 to 3.3"),
        ("nominal_v", 4.15, "3.5 to 3.9"),
        ("full_v", 5, "4 to 4.45"),
    ],
)
def test_a_value_far_from_any_cell_names_its_key_and_band(
    key: str, value: float, band: str
) -> None:
    """Every electrical value of a 21700 of 4.8 Ah, each mistyped alone."""
    sound = "format: '21700', chemistry: nmc, capacity_ah: 4.8"
    assert not any("is outside" in text for text in cautioned(sound).values())
    cell = sound if key != "capacity_ah" else "format: '21700', chemistry: nmc"
    said = cautioned(f"{cell}, {key}: {value}")[f"cell.{key}"]
    assert f"is outside {band}" in said


@pytest.mark.parametrize(
    "cell",
    [
        "format: '18650', chemistry: nca, capacity_ah: 3.5, continuous_a: 10, "
        "internal_resistance_mohm: 45, mass_g: 49",
        "format: '26650', chemistry: lfp, capacity_ah: 2.5, continuous_a: 50, "
        "internal_resistance_mohm: 10, mass_g: 76, charge_a: 10",
        "format: '32700', chemistry: lfp, capacity_ah: 6, continuous_a: 18, "
        "internal_resistance_mohm: 12, mass_g: 142",
        "format: '18650', chemistry: lto, capacity_ah: 1.3, continuous_a: 13, "
        "internal_resistance_mohm: 20, mass_g: 40",
        "format: '21700', chemistry: nmc, capacity_ah: 4, continuous_a: 60, "
        "internal_resistance_mohm: 6, mass_g: 71, peak_a: 100",
    ],
)
def test_plain_and_strong_cells_of_each_chemistry_lie_within(cell: str) -> None:
    """Invented cells of usual figures, strong ones too: nothing is said."""
    assert not any("is outside" in text for text in cautioned(cell).values())
