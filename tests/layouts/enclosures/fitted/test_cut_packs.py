"""Whole packs from their files on small beds: planned, drawn, proven; and what fails then."""

from __future__ import annotations

import itertools
from functools import cache

import pytest

from generators.fixes.judging import in_space
from generators.packfile.resolve import parse_pack
from layouts.enclosures.fitted.form import FittedEnclosure
from layouts.parts.bed import usable_bed_mm
from layouts.planning.pack_plan import PackPlan, plan_checks, plan_pack
from layouts.planning.solid_plates import solid_plates_mm
from layouts.printing.settings import settings_of
from tests.layouts.enclosures.fitted.planned import pack_of
from tests.layouts.parts.sound_parts import assert_sound, manifold, placed

TEXT = """name: flat-bay
cell: {{format: "21700", capacity_ah: 4.8, continuous_a: 15, mass_g: 69}}
series: 13
parallel: 5
enclosure: {{style: fitted{case}}}
space: {{box_mm: [420, 170, {high}]}}
load: {{continuous_a: 20, acceleration_g: [4, 4, {upright}]}}
printer: {{bed_mm: [{bed}, {bed}, 250]}}
"""

MASS_KG = 5.6  # as made
# two brackets for such jolts: no matter of the pieces
MOUNTING = {"bracket_root_stress", "insert_pull", "wall_bending"}


@cache
def flat_bay(bed: float = 220, high: float = 95, upright: float = 6, case: str = "") -> PackPlan:
    """Thirteen groups of five in a flat bay."""
    text = TEXT.format(bed=bed, high=high, upright=upright, case=case)
    return plan_pack(parse_pack(text.encode(), "bay.yaml").pack)


def failed(plan: PackPlan) -> set[str]:
    """Checks of the plan that do not hold."""
    return {one.id for one in plan_checks(plan, mass_kg=MASS_KG) if not one.holds}


@pytest.mark.slow
def test_a_flat_bay_is_printed_in_two_and_two() -> None:
    """All checks but of its brackets hold, with a strap on the lid that is higher than
    its screws; every part is one valid solid within the bed, and no two meet."""
    plan = flat_bay()
    assert failed(plan) - MOUNTING == set() and all(one.holds for one in in_space(plan))
    parts = plan.enclosure.parts
    assert [part.name for part in parts] == [
        "tub-1", "tub-2", "lid-1", "lid-2", "floor-strap", "lid-strap",
    ]  # fmt: skip
    solids = {}
    for part in parts:
        body = placed(part, assert_sound(part, part.drawing.volume_mm3()))
        size = sorted(part.drawing.box_mm()[1][k] - part.drawing.box_mm()[0][k] for k in (0, 1))
        bed = sorted(usable_bed_mm(plan.pack.printer))
        assert all(a <= b for a, b in zip(size, bed, strict=True))
        solids[part.name] = manifold(body)
    for one, other in itertools.combinations(solids, 2):
        assert (solids[one] ^ solids[other]).volume() < 1e-3, (one, other)
    assert solid_plates_mm(plan)["floor_strap"] == pytest.approx(2.8)
    for role in {part.role for part in parts}:
        assert settings_of(role, plan.pack.printer).wall_lines >= 2
    assert plan.enclosure.joining_steps and len(plan.enclosure.screws) > 20


@pytest.mark.slow
@pytest.mark.parametrize(
    ("fails", "changed"),
    [
        ({"pieces_held"}, {"case": ", floor_mm: 2.0"}),
        ({"splice_stress", "splice_screw_n"}, {"high": 130, "upright": 16}),
    ],
)
def test_what_fails_from_the_file(fails: set[str], changed: dict[str, float]) -> None:
    """A floor that no strap's screw suits; hard shocks."""
    assert fails <= failed(flat_bay(**changed))  # type: ignore[arg-type]


@pytest.mark.slow
def test_a_small_crowded_tub_finds_no_seams() -> None:
    """The board takes up all of its length: it stays whole, and fails by what is over the bed."""
    plan = plan_pack(pack_of("4S3P", "printer: {bed_mm: [110, 110, 200]}\n"))
    enclosure = plan.enclosure
    assert isinstance(enclosure, FittedEnclosure)
    found = {one.id: one for one in plan_checks(plan, mass_kg=1.0)}["seams_found"]
    assert not found.holds and found.value is not None and 0.0 < found.value < 40.0
    assert found.value == enclosure.sizes.splices.tub.over_mm and "tub" in found.where
    assert any("larger printer" in note for note in enclosure.notes)


@pytest.mark.slow
def test_a_strap_on_the_lid_is_reserved_for_in_the_space() -> None:
    """Where the height ends between the screws' heads and the strap, no seam is found for the lid,
    which is said, rather than that it leaves the space."""
    plan = flat_bay(high=94)
    enclosure = plan.enclosure
    assert isinstance(enclosure, FittedEnclosure)
    assert "seams_found" in failed(plan) and enclosure.sizes.splices.tub.seams
    assert "higher than its screws" in enclosure.sizes.splices.lid.why
    assert all(one.holds for one in in_space(plan))
