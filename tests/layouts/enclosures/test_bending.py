"""Floor and lid under the held cells: force, limits and both checks, by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from layouts.brackets.strength import GRAVITY_M_S2, SAFETY
from layouts.enclosures.bending import (
    HELD_OVER_CELLS,
    PressedPlate,
    bending_checks,
    least_layers_mm,
    pressed_plate,
)
from layouts.enclosures.stiffness import SquareLoad, bent_by
from layouts.enclosures.support_pads import SupportPad
from layouts.formats import materials
from layouts.pack import Face, Load, Mount, Pack
from layouts.parts.shell import Rect
from tests.samples import sample_pack

PLATE = Rect(x0=0.0, x1=160.0, y0=0.0, y1=120.0)
HELD = shapely.box(5.0, 10.0, 95.0, 110.0)
PADS = tuple(
    SupportPad(x_mm=x, y_mm=y, radius_mm=5.0, hole_radius_mm=0.0)
    for x in (20.0, 80.0)
    for y in (25.0, 95.0)
)


def loaded(upright_g: float = 6.0) -> Pack:
    """An invented pack with a load."""
    return replace(sample_pack(6, 3), load=Load(acceleration_g=(4.0, 4.0, upright_g)))


def pressed(pack: Pack, face: Face = Face.LOWER) -> PressedPlate:
    """The floor or lid on four pads."""
    found = pressed_plate(pack, face, PLATE, PADS, HELD)
    assert found is not None
    return found


def test_the_force_is_that_of_the_held_cells() -> None:
    """Cells x 1.2 x g x upright acceleration, all of it on the pads; its sign does not matter."""
    pack = loaded()
    cells_kg = pack.series * pack.parallel * pack.cell.mass_g / 1000
    whole = sum(pressed(pack).bending.forces_n)
    assert whole == pytest.approx(HELD_OVER_CELLS * cells_kg * 6.0 * GRAVITY_M_S2)
    assert pressed(loaded(-6.0)).bending.moment_n == pytest.approx(pressed(pack).bending.moment_n)
    assert pressed(loaded(3.0)).bending.moment_n == pytest.approx(
        pressed(pack).bending.moment_n / 2
    )


def test_nothing_is_asked_without_a_load() -> None:
    """As of brackets."""
    assert pressed_plate(replace(loaded(), load=None), Face.LOWER, PLATE, PADS, HELD) is None


def test_limits_follow_material_and_what_lies_beneath() -> None:
    """A quarter of the strength; a floor on angles sags no more than they stand high, one on a flat
    plate, and any lid, no more than the gas gap."""
    pack = loaded()
    floor, lid = pressed(pack), pressed(pack, Face.UPPER)
    assert floor.stress_limit_mpa == materials()[pack.printer.material].strength_mpa / SAFETY
    assert pack.mount.kind == "angle" and pack.enclosure.gas_gap_mm == 3.5
    assert (floor.sag_limit_mm, lid.sag_limit_mm) == (3.0, 3.5)
    flat = replace(pack, mount=Mount(kind="flat", screw="M5", holes_mm=((0.0, 0.0), (20.0, 0.0))))
    assert pressed(flat).sag_limit_mm == 3.5


def test_where_pads_cannot_carry_the_load_lies_evenly() -> None:
    """Two pads, or none: an even load over the plan of the held cells."""
    pack = loaded()
    found = pressed_plate(pack, Face.LOWER, PLATE, PADS[:2], HELD)
    assert found is not None
    force = sum(pressed(pack).bending.forces_n)
    area = Rect(x0=5.0, x1=95.0, y0=10.0, y1=110.0)
    even = bent_by(PLATE, [SquareLoad(area=area, force_n=force)])
    assert found.bending.moment_n == pytest.approx(even.moment_n)
    assert found.bending.stiff_sag_n_mm2 == pytest.approx(even.stiff_sag_n_mm2)


def test_stress_counts_the_worse_of_both_loads() -> None:
    """Pads at the walls bend the plate little: the even load stresses it more."""
    edge = tuple(
        SupportPad(x_mm=x, y_mm=y, radius_mm=5.0, hole_radius_mm=0.0)
        for x in (6.0, 154.0)
        for y in (6.0, 114.0)
    )
    held = shapely.box(1.0, 1.0, 159.0, 119.0)
    found = pressed_plate(loaded(), Face.LOWER, PLATE, edge, held)
    evenly = pressed_plate(loaded(), Face.LOWER, PLATE, (), held)
    assert found is not None and evenly is not None
    assert found.bending.moment_n == evenly.bending.moment_n
    assert found.bending.stiff_sag_n_mm2 < evenly.bending.stiff_sag_n_mm2


@pytest.mark.parametrize(("face", "name"), [(Face.LOWER, "floor"), (Face.UPPER, "lid")])
def test_both_checks_hold_and_fail(face: Face, name: str) -> None:
    """At the least thickness one of them is used up and both hold; 2 % thinner one fails; a thin
    plate fails both, and tells what holds."""
    one = pressed(loaded(), face)
    checks = bending_checks(one, one.least_mm)
    assert [check.id for check in checks] == [f"{name}_bending", f"{name}_sag"]
    used = [check.value / check.limit for check in checks if check.value and check.limit]
    assert max(used) == pytest.approx(1.0)
    assert not all(check.holds for check in bending_checks(one, 0.98 * one.least_mm))
    for check in bending_checks(one, 0.5):
        assert not check.holds and f"enclosure.{name}_mm ({one.least_mm:.1f} holds)" in check.remedy
    assert all(check.holds for check in bending_checks(one, 9.0))


@pytest.mark.parametrize(
    ("need_mm", "layer_mm", "thick_mm"),
    [(0.3, 0.2, 2.0), (3.0, 0.2, 3.0), (3.01, 0.2, 3.2), (2.0, 0.3, 2.1), (9.0, 0.28, 5.88)],
)
def test_layers(need_mm: float, layer_mm: float, thick_mm: float) -> None:
    """Whole ones, from 2 to 6 mm."""
    found = least_layers_mm(need_mm, layer_mm, least_mm=2.0, most_mm=6.0)
    assert found == pytest.approx(thick_mm)
