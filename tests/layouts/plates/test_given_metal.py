"""Metal, spots and form of joints that the pack file gives, and what is taken where it does not."""

from __future__ import annotations

from functools import cache

import pytest

from generators.packfile.faults import PackFileError
from generators.packfile.resolve import parse_pack
from layouts.errors import PlanError
from layouts.pack import JointForm
from layouts.planning import joints
from layouts.planning.joints import joined
from layouts.planning.plates import joined_by_plates
from layouts.planning.steps import interconnected, laid_out
from layouts.strips.joining import Interconnect
from layouts.strips.plate import SheetLayer

TEXT = """name: egg-turner
cell: {format: "18650", chemistry: nmc, capacity_ah: 2.5, continuous_a: 8,
  internal_resistance_mohm: 20, mass_g: 47}
series: 3
parallel: 3
load: {continuous_a: 6}
"""


@cache
def laid(strip: str = "", more: str = "") -> Interconnect:
    """The interconnect of the pack with these keys of its strips."""
    text = TEXT + (f"strip: {{{strip}}}\n" if strip else "") + more
    return interconnected(laid_out(parse_pack(text.encode(), "p.yaml").pack)).interconnect


def test_plates_are_taken_where_nothing_is_asked() -> None:
    """One sheet a joint, the thinnest nickel that keeps the limits; two layers told beside it."""
    found = laid()
    assert len(found.plates) == 4 and not found.strips
    assert {plate.layers for plate in found.plates} == {
        (SheetLayer(material="nickel", thickness_mm=0.15),)
    }
    (beside,) = [note for note in found.notes if note.startswith("Beside it")]
    assert "nickel 0.15 mm on nickel 0.15 mm" in beside and " minutes" in beside


def test_given_metal_wins_and_is_judged() -> None:
    """Thick steel is taken as it is; what would have been chosen stands beside it."""
    found = laid("material: steel, thickness_mm: 0.2, layers: 2")
    layers = (SheetLayer(material="steel", thickness_mm=0.2),) * 2
    assert {plate.layers for plate in found.plates} == {layers}
    (beside,) = [note for note in found.notes if note.startswith("Beside it")]
    assert "chosen by current: nickel 0.15 mm:" in beside
    thin = laid("thickness_mm: 0.05")
    assert {plate.thickness_mm for plate in thin.plates} == {0.05}


def test_given_metal_that_is_too_thin_is_said() -> None:
    """The limits that it does not keep are named."""
    text = TEXT.replace("continuous_a: 6}", "continuous_a: 24}")
    text += "strip: {material: steel, thickness_mm: 0.05}\n"
    pack = parse_pack(text.encode(), "p.yaml").pack
    notes = joined_by_plates(pack, laid_out(pack).cell_layout).notes
    assert any("the metal given does not keep all limits" in note for note in notes)


def test_given_spots_win() -> None:
    """Else as many as the current asks for, four at least."""
    assert {plate.spots for plate in laid("weld_spots: 8").plates} == {8}
    assert {plate.spots for plate in laid().plates} == {4}


def test_strips_are_laid_where_they_are_asked_for() -> None:
    """And for single cells, whatever is asked."""
    found = laid("joints: links")
    assert found.strips and not found.plates
    text = TEXT.replace("parallel: 3", "parallel: 1") + "strip: {joints: plates}\n"
    alone = interconnected(laid_out(parse_pack(text.encode(), "p.yaml").pack)).interconnect
    assert alone.strips and not alone.plates


def refuses(*_: object) -> Interconnect:
    """No plates for any pack."""
    raise PlanError(field="strip.joints", why="leave can ends unjoined", remedy="write links")


def test_strips_stand_in_where_no_plates_can_be_laid(monkeypatch: pytest.MonkeyPatch) -> None:
    """With the reason; not where the file asks for plates: then it is refused."""
    monkeypatch.setattr(joints, "joined_by_plates", refuses)
    pack = parse_pack(TEXT.encode(), "p.yaml").pack
    cell_layout = laid_out(pack).cell_layout
    found = joined(pack, cell_layout)
    assert found.strips and not found.plates
    assert found.notes[0] == ("Straight strips in place of plates: plates leave can ends unjoined.")
    asked = parse_pack((TEXT + "strip: {joints: plates}\n").encode(), "p.yaml").pack
    assert asked.strip.joints is JointForm.PLATES
    with pytest.raises(PlanError, match="leave can ends unjoined"):
        joined(asked, cell_layout)


def test_strips_stand_in_where_fewer_of_their_checks_fail(monkeypatch: pytest.MonkeyPatch) -> None:
    """The checks that plates fail are named; with as many failing, plates stay."""
    pack = parse_pack(TEXT.encode(), "p.yaml").pack
    cell_layout = laid_out(pack).cell_layout
    for of_strips, plates_stay in (((), False), (("lip_gap_deg",), True)):

        def faults(_: object, __: object, one: Interconnect) -> tuple[str, ...]:
            return ("lip_force_n",) if one.plates else of_strips  # noqa: B023

        monkeypatch.setattr(joints, "joint_faults", faults)
        found = joined(pack, cell_layout)
        assert bool(found.plates) is plates_stay
        assert plates_stay or "plates do not hold lip_force_n" in found.notes[0]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ("strip: {thickness_mm: 0.4, layers: 3}\n",
         "p.yaml:7: strip.layers: makes a plate of 1.2 mm, thicker than the lip allows: 1.6 of lip "
         "less 0.3 of ring and 0.3 left free (3), use at most 1.00 mm in all, or a holder.lip_mm "
         "of 1.80"),
        ("bms: {series: 2}\n",
         "p.yaml:7: bms.series: has 3 taps, and 3 groups have 4: the others would be charged "
         "without being watched (2), use a board for 3 in series"),
    ],
    ids=["thick", "taps"],
)  # fmt: skip
def test_what_can_not_be_built_is_refused(more: str, said: str) -> None:
    """One line: where, what, why, and what would do."""
    with pytest.raises(PackFileError) as refused:
        parse_pack((TEXT + more).encode(), "p.yaml")
    assert refused.value.lines() == [said]


def test_what_just_fits_is_not_refused() -> None:
    """A plate as thick as the room, a board with a tap for every group."""
    text = TEXT + "strip: {thickness_mm: 0.5, layers: 2}\nbms: {series: 3}\n"
    assert parse_pack(text.encode(), "p.yaml").pack.strip.layers == 2
