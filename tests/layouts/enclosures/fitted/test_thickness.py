"""Floor and lid as thick as the load needs, from the pack file to the checks."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import pytest

from generators.packfile.resolve import parse_pack
from layouts.enclosures.bending import PressedPlate
from layouts.enclosures.fitted import stands
from layouts.enclosures.fitted.form import FITTED
from layouts.enclosures.fitted.sizes import FittedSizes
from layouts.enclosures.fitted.stands import high_mm
from layouts.enclosures.fitted.thickness import (
    LEAST_MM,
    MOST_MM,
    same_plan,
    thick_enough,
    thickness_notes,
)
from layouts.enclosures.stiffness import PlateBending
from layouts.errors import PlanError
from layouts.pack import Face, Pack
from layouts.parts.lid_screw import lid_screw_length_mm
from tests.layouts.enclosures.fitted.planned import designed, judged, pack_of, planned, sizes_of

NAME = "3S2P"
# Invented: shocks so heavy that even a small pack needs more than the least thickness.
HEAVY = "load: {continuous_a: 2, acceleration_g: [4, 4, 20]}\n"
LAYER_MM = 0.2


def file_of(load: str, enclosure: str = "", more: str = "") -> Pack:
    """The small pack in the fitted form with another load, from the text of its file."""
    text = "name: a\ncell: {format: '21700'}\nseries: 3\nparallel: 2\nlattice: grid\n"
    text += f"{load}enclosure: {{style: fitted, {enclosure}}}\n{more}"
    return parse_pack(text.encode(), "p.yaml").pack


@cache
def heavy() -> FittedSizes:
    """Designed for heavy shocks."""
    return designed(NAME, file_of(HEAVY))


def thick_mm(sizes: FittedSizes) -> tuple[float, float]:
    """Floor and lid as designed."""
    levels = sizes.shell.levels
    return levels.floor_mm - levels.under_mm, levels.lid_mm - levels.rim_mm


def told(notes: Sequence[str]) -> list[str]:
    """What notes say that was chosen."""
    return [note.split(":")[0] for note in notes if "least whole layers" in note]


def bending(sizes: FittedSizes) -> dict[str, bool]:
    """Whether floor and lid hold, by the ids of their checks."""
    checks = judged(NAME, sizes, file_of(HEAVY))
    names = ("floor_bending", "floor_sag", "lid_bending", "lid_sag")
    return {name: checks[name].holds for name in names}


@pytest.mark.slow
def test_floor_and_lid_left_open_are_the_least_that_holds() -> None:
    """Whole layers, all four checks hold; one layer less fails one of each."""
    floor, lid = thick_mm(heavy())
    for thick in (floor, lid):
        assert thick / LAYER_MM == pytest.approx(round(thick / LAYER_MM))
        assert LEAST_MM < thick < MOST_MM
    assert all(bending(heavy()).values())
    shell = heavy().shell
    thin = replace(
        shell.levels,
        under_mm=shell.levels.under_mm + LAYER_MM, lid_mm=shell.levels.lid_mm - LAYER_MM,
    )  # fmt: skip
    thinner = replace(heavy(), shell=replace(shell, levels=thin))
    failing = {name.split("_")[0] for name, holds in bending(thinner).items() if not holds}
    assert failing == {"floor", "lid"}


@pytest.mark.slow
def test_a_thickness_in_the_pack_file_stays() -> None:
    """It is taken as it is and nothing is told of a choice."""
    given = designed(NAME, file_of(HEAVY, "floor_mm: 1.4, lid_mm: 5.0"))
    assert thick_mm(given) == pytest.approx((1.4, 5.0))
    assert told(given.notes) == []
    assert bending(given) == {
        "floor_bending": False, "floor_sag": False, "lid_bending": True, "lid_sag": True,
    }  # fmt: skip


@pytest.mark.slow
def test_the_choice_is_told_and_the_lid_has_its_screws() -> None:
    """Both notes name the thickness; the screws are those of such a lid."""
    floor, lid = thick_mm(heavy())
    assert told(heavy().notes) == [f"floor {floor:g} mm", f"lid {lid:g} mm"]
    plan = planned(NAME)
    made = FITTED.design(file_of(HEAVY), plan.cell_layout, plan.interconnect, plan.cell_block)
    assert thick_mm(made.sizes) == pytest.approx((floor, lid))
    case = file_of(HEAVY, f"lid_mm: {lid:g}").enclosure
    assert made.lid_screw_long_mm == lid_screw_length_mm(case) > lid


@pytest.mark.slow
def test_light_packs_get_the_least_and_no_load_the_usual() -> None:
    """2 mm where that carries it; without a load nothing is required, so nothing is chosen."""
    light = sizes_of(NAME)
    assert thick_mm(light) == pytest.approx((LEAST_MM, LEAST_MM))
    assert told(light.notes) == ["floor 2 mm", "lid 2 mm"]
    pack = file_of("")
    free = designed(NAME, pack)
    case = pack.enclosure
    assert thick_mm(free) == pytest.approx((case.floor_mm, case.lid_mm))
    assert told(free.notes) == []
    assert not {"floor_bending", "lid_sag"} & set(judged(NAME, free, pack))


@pytest.mark.slow
def test_a_space_too_low_for_the_thickness_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the search began with goes in, what the load needs does not; a little higher it does."""
    monkeypatch.setattr(stands, "BOX_TURNS", (0,))
    usual = high_mm(file_of(HEAVY))
    space = "space: {{box_mm: [300, 300, {:.1f}]}}\n"
    with pytest.raises(PlanError, match="has no place for an enclosure") as caught:
        designed(NAME, file_of(HEAVY, more=space.format(usual + 0.1)))
    told = re.search(r"enclosure ([\d.]+) mm high", str(caught.value))
    assert told and float(told[1]) > usual
    low = designed(NAME, file_of(HEAVY, more=space.format(float(told[1]) + 0.1)))
    floor, lid = thick_mm(low)
    case = file_of(HEAVY).enclosure
    assert floor + lid - case.floor_mm - case.lid_mm == pytest.approx(
        float(told[1]) - usual, abs=0.1
    )


def pressed(face: Face, moment_n: float) -> PressedPlate:
    """A plate that a moment bends, 11 MPa allowed."""
    bent = PlateBending(moment_n=moment_n, at_mm=(0.0, 0.0), stiff_sag_n_mm2=1.0, forces_n=())
    return PressedPlate(
        face=face, bending=bent, stress_limit_mpa=11.0, modulus_mpa=2000.0, sag_limit_mm=3.0,
        because="",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("moment_n", "floor_mm"),
    [(1e-3, 2.0), (11.0 * 3.1**2 / 6.0, 3.2), (11.0 * 3.2**2 / 6.0, 3.2), (1e3, 6.0)],
)
def test_least_layers_between_both_bounds(moment_n: float, floor_mm: float) -> None:
    """By 6 M / t2: 3.1 takes 16 layers of 0.2, exactly 3.2 no more; never under 2 nor over 6."""
    plates = [pressed(face, moment_n) for face in (Face.LOWER, Face.UPPER)]
    pack = thick_enough(pack_of("3S2P"), plates)
    assert pack.enclosure.floor_mm == pytest.approx(floor_mm)
    assert pack.enclosure.lid_mm >= floor_mm - 1e-9
    assert lid_screw_length_mm(pack.enclosure) > pack.enclosure.lid_mm
    words = " come nearest to carrying " if moment_n == 1e3 else " carry "
    assert all(words in note for note in thickness_notes(pack, plates))


def test_heights_that_a_keep_out_tells_apart() -> None:
    """Without a space any height does; under a body that hangs the higher one has less plan."""
    low, high = (pack_of("3S2P", enclosure=f"floor_mm: {floor}") for floor in (2.0, 4.0))
    assert same_plan(low, high)
    at = high_mm(low) + 1.0
    space = (
        "space: {box_mm: [200, 200, 200], keep_out: [{name: beam, "
        f"box_mm: [[0, 0, {at}], [50, 50, 200]]}}]}}\n"
    )
    hung, thick = (pack_of("3S2P", space, enclosure=f"floor_mm: {floor}") for floor in (2.0, 4.0))
    assert same_plan(hung, hung) and not same_plan(hung, thick)
