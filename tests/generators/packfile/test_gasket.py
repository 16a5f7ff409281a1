"""``enclosure.gasket``: refused without the figures of the gas, and with what it excludes."""

from __future__ import annotations

import pytest

from layouts.pack import GasketSpec
from tests.generators.packfile.files import PLAIN, added, read

GAS = "gas_l: 6, within_s: 2, opens_at_kpa: 3"


def case(gasket: str = GAS, *, more: str = "", style: str = "fitted") -> str:
    """An enclosure with a gasket."""
    return f"enclosure:\n  style: {style}\n{more}  gasket: {{{gasket}}}\n"


def test_what_is_given_reaches_the_pack() -> None:
    """Three figures; nothing drains then."""
    taken = read(PLAIN + case()).pack.enclosure
    assert taken.gasket == GasketSpec(gas_l=6.0, within_s=2.0, opens_at_kpa=3.0)
    assert not taken.has_drains
    assert read(PLAIN).pack.enclosure.has_drains
    assert not read(PLAIN + "enclosure: {drains: false}\n").pack.enclosure.has_drains


@pytest.mark.parametrize("key", ["gas_l", "within_s", "opens_at_kpa"])
def test_no_figure_of_the_gas_has_a_default(key: str) -> None:
    """One line with the file's line and the key that lacks."""
    left = ", ".join(one for one in GAS.split(", ") if not one.startswith(key))
    (told,) = added(case(left))
    assert told.startswith("p.yaml:7: ")
    assert f"enclosure.gasket.{key}: is missing, add {key}: " in told


def test_drains_are_refused() -> None:
    """They let water and gas past it; the line is theirs."""
    (told,) = added(case(more="  drains: true\n"))
    assert told == (
        "p.yaml:7: enclosure.drains: let water and gas past the gasket (true), "
        "delete drains, or delete gasket"
    )


@pytest.mark.parametrize("style", ["tub", "none"])
def test_only_the_fitted_form_has_one(style: str) -> None:
    """With the way out."""
    space = "" if style == "tub" else "space: {box_mm: [300, 300, 90]}\n"
    (told,) = added(case(style=style) + space)
    assert "enclosure.gasket: is only for the fitted form" in told
    assert f"(with style {style})" in told and "write style: fitted, or delete gasket" in told


def test_a_lid_on_a_gasket_does_not_clamp() -> None:
    """Posts must hold the cells."""
    (told,) = added(case() + "holder: {flank_posts: false}\n")
    assert "holder.flank_posts: needs a lid that clamps the holders" in told
    assert "delete it, or delete enclosure.gasket" in told


def test_a_cord_wider_than_its_flange() -> None:
    """4 mm of cord: a groove 4.9 wide beside a wall of 1.68, and 1.9 beyond it."""
    (told,) = added(case(f"{GAS}, cord_mm: 4, flange_mm: 6"))
    assert told == (
        "p.yaml:7: enclosure.gasket.cord_mm: needs a groove 4.9 mm wide beside a wall of 1.68 mm, "
        "more than the flange of 6 mm holds (4), use a flange_mm of at least 8.5, or a thinner cord"
    )
    assert read(PLAIN + case(f"{GAS}, cord_mm: 4, flange_mm: 8.5")).pack.enclosure.gasket


def test_walls_that_make_the_flange_too_wide() -> None:
    """What is told does."""
    (told,) = added(case(more="  wall_mm: 5\n"))
    assert "enclosure.wall_mm: makes a flange of 10.6 mm with the cord's groove" in told
    assert told.endswith("(5), use at most 3.9")
    assert read(PLAIN + case(more="  wall_mm: 3.9\n")).pack.enclosure.gasket
    (thin,) = added(case(f"{GAS}, cord_mm: 4, flange_mm: 6", more="  wall_mm: 3\n"))
    assert thin.endswith("use a thinner cord")


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ("opens_at_kpa: -3", "enclosure.gasket.opens_at_kpa: must be more than 0 (-3)"),
        ("gas_l: 0", "enclosure.gasket.gas_l: must be more than 0 (0)"),
        ("opens_at_kpa: 30", "enclosure.gasket.opens_at_kpa: must be at most 20 (30)"),
        ("gas_c: 20", "enclosure.gasket.gas_c: must be at least 25 (20)"),
        ("vent_mm: [14, 20]", "is wider than the 12 mm that are printed without support"),
    ],
)
def test_values_out_of_range(more: str, told: str) -> None:
    """Negative pressure among them; one line each."""
    kept = [one for one in GAS.split(", ") if not one.startswith(more.split(":")[0])]
    (line,) = added(case(", ".join([*kept, more])))
    assert line.startswith("p.yaml:7: ") and told in line
