"""Cautions: what a sound file is told beside its pack."""

from __future__ import annotations

import pytest

from tests.generators.packfile.files import PLAIN, read
from tests.generators.packfile.test_resolve import EVERY_KEY

FULL = (
    PLAIN + "space: {box_mm: [400, 300, 200], open_sides: ['+z']}\n"
    "load: {continuous_a: 10, acceleration_g: [1, 1, 2]}\n"
)


def cautioned(text: str) -> dict[str, str]:
    """Field and text of each caution, none of them told twice."""
    cautions = read(text).cautions
    assert len({caution.told() for caution in cautions}) == len(cautions)
    return {caution.field: caution.text for caution in cautions}


def test_a_full_file_of_a_small_dry_pack_has_none() -> None:
    """Nothing is cautioned for its own sake."""
    assert cautioned(FULL) == {}


def test_what_is_left_out_is_said() -> None:
    """Without space and load the shortest file says what is then not checked."""
    assert set(cautioned(PLAIN)) == {"space", "load"}


@pytest.mark.parametrize(
    ("old", "new", "field", "says"),
    [
        ("capacity_ah: 4.8, ", "", "cell.capacity_ah", "3.5 Ah assumed"),
        ("continuous_a: 15, ", "", "cell.continuous_a", "4.8 A assumed"),
        ("internal_resistance_mohm: 14, ", "", "cell.internal_resistance_mohm",
         "16.7 mohm assumed"),
        ("mass_g: 69", "mass_g: 69, shortest_length_mm: 70.2", "cell.shortest_length_mm", "0.5 mm"),
        ("mass_g: 69", "mass_g: 69, measured_length_mm: 69.8", "cell.measured_length_mm",
         "70.7 mm"),
        ("mass_g: 69", "mass_g: 69, ac_resistance_mohm: 20", "cell.internal_resistance_mohm",
         "exchanged"),
        ("series: 10", "series: 15", "series", "63.0 V at full charge is over 60 V"),
        ("load:", "holder: {web_mm: 0.9}\nload:", "holder.web_mm", "less than 1.2"),
        ("load:", "holder: {clearance_mm: 0.1}\nload:", "holder.clearance_mm", "test piece"),
        ("load:", "holder: {lip_mm: 1.7}\nload:", "holder.lip_mm", "1.7 is made 1.8"),
        ("load:", "printer: {material: pla}\nload:", "printer.material", "softens"),
        (", acceleration_g: [1, 1, 2]", "", "load.acceleration_g", "[4, 4, 6] assumed"),
        ("[1, 1, 2]", "[1, 1, 12]", "load.acceleration_g", "over 10 g"),
        ('"21700"', '"20700", measured_diameter_mm: 20.3, measured_length_mm: 70', "cell.format",
         "not built in"),
    ],
)  # fmt: skip
def test_each_caution_comes_from_its_cause_alone(old: str, new: str, field: str, says: str) -> None:
    """One change to a file without cautions brings that one caution."""
    assert old in FULL
    found = cautioned(FULL.replace(old, new))
    assert list(found) == [field]
    assert says in found[field]


def test_wet_surroundings_caution_from_thirty_volts() -> None:
    """42 V full: nothing said when dry, said when splashed; 29.4 V not even then."""
    wet = FULL + "enclosure: {surroundings: splashed}\n"
    assert "series" not in cautioned(FULL)
    assert "42.0 V at full charge is over 30 V in wet" in cautioned(wet)["series"]
    assert "series" not in cautioned(wet.replace("series: 10", "series: 7"))
    assert "against splashes only" in cautioned(wet)["enclosure.surroundings"]


def test_limits_themselves_are_no_caution() -> None:
    """A spread of exactly 0.4 mm, 1.2 mm of web and a peak of 10 g pass without a word."""
    sizes = "measured_length_mm: 70.4, shortest_length_mm: 70"
    text = FULL.replace("mass_g: 69", f"mass_g: 69, {sizes}")
    text = text.replace("[1, 1, 2]", "[1, 1, 10]") + "holder: {web_mm: 1.2}\n"
    assert cautioned(text) == {}


def test_every_key_given_assumes_nothing() -> None:
    """A file with every key is told about its wet surroundings only."""
    assert set(cautioned(EVERY_KEY)) == {"enclosure.surroundings"}
