"""The scene has what the bill has: nothing more, nothing less, each as often."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from generators.exports.bill import BillRow
from generators.shaded.bill_lookup import UNKNOWN, row_of, undrawn_rows
from generators.shaded.palette import Paint, lightness
from generators.shaded.scene import scene_of
from generators.shaded.things import Scene, kept
from tests.generators.shaded.scenes import LARGE, PACKS, made

# items that are no count of pieces, or are counted otherwise than they lie
NOT_COUNTED = ("main lead wire", "cells")
BOUGHT_SHEETS = {Paint.SHEET, Paint.PAPER_WRAP, Paint.SHEET_METAL, Paint.COPPER}
PRINTED = {Paint.TUB, Paint.LID, Paint.HOLDER, Paint.BRACKET}


def miscounted(scene: Scene, bill: list[BillRow]) -> dict[str, tuple[int, float]]:
    """Items whose copies are not as many as the bill counts."""
    copies: Counter[int] = Counter()
    for one in scene.things:
        copies[one.row] += len(one.copies)
    return {
        f"{number} {row.item}": (copies[number], row.count)
        for number, row in enumerate(bill, start=1)
        if number not in scene.undrawn and not row.item.startswith(NOT_COUNTED)
        if copies[number] != row.count
    }


@pytest.mark.parametrize(
    "name", [*PACKS, *(pytest.param(one, marks=pytest.mark.slow) for one in LARGE)]
)
def test_every_row_has_its_things_or_a_reason(name: str) -> None:
    """Each row of the bill is drawn as often as it counts, or a reason is told; no thing is
    without a row."""
    one = made(name)
    rows = set(range(1, len(one.bill) + 1))
    assert one.scene.rows | set(one.scene.undrawn) == rows
    assert not one.scene.rows & set(one.scene.undrawn)
    assert UNKNOWN not in one.scene.undrawn.values()
    assert miscounted(one.scene, list(one.bill)) == {}


@pytest.mark.parametrize("name", PACKS)
def test_a_thing_left_out_is_missed(name: str) -> None:
    """The check above fails for each row whose things are taken away, and for one copy less."""
    one = made(name)
    for row in one.scene.rows:
        left = tuple(thing for thing in one.scene.things if thing.row != row)
        undrawn = undrawn_rows(one.bill, {thing.row for thing in left})
        told = undrawn[row]
        poorer = replace(one.scene, things=left, undrawn=one.scene.undrawn)
        counted = not one.bill[row - 1].item.startswith(NOT_COUNTED)
        assert told == UNKNOWN or not counted or miscounted(poorer, list(one.bill))
    screws = next(t for t in one.scene.things if t.name == "tie screws")
    fewer = tuple(replace(t, copies=t.copies[:-1]) if t is screws else t for t in one.scene.things)
    assert miscounted(replace(one.scene, things=fewer), list(one.bill))


def test_a_part_that_is_not_planned_is_not_drawn() -> None:
    """A part more than the bill has is refused, by its name."""
    one = made("tub, plates")
    twin = replace(one.meshed[0], part=replace(one.meshed[0].part, name="holder-third"))
    with pytest.raises(LookupError, match="holder-third"):
        scene_of(one.plan, (*one.meshed, twin), one.bill)


def test_a_row_is_found_by_item_and_size() -> None:
    """None and several are both refused."""
    bill = [
        BillRow(item="washers", size="M4", count=1),
        BillRow(item="washers", size="M5", count=1),
    ]
    assert row_of(bill, "washers", "M5") == 2
    with pytest.raises(LookupError, match="2 rows"):
        row_of(bill, "washers")
    with pytest.raises(LookupError, match="0 rows"):
        row_of(bill, "nuts")


def test_cells_stand_with_the_positive_end_where_the_plan_has_it() -> None:
    """The ring lies at the upper end of each cell that stands positive end up, else at the
    lower."""
    one = made("tub, plates")
    rings = next(t for t in one.scene.things if t.name == "insulating rings")
    middle = one.plan.pack.cell.length_mm / 2
    up = [float(copy.vertices_mm[:, 2].mean()) > middle for copy in rings.copies]
    assert up == one.plan.cell_layout.positive_up.tolist()


def test_all_lies_within_the_outside() -> None:
    """What a tub encloses does not reach out of it; what is told outside is outside."""
    one = made("tub, plates")
    x0, y0, x1, y1 = one.plan.enclosure.shell.outer.bounds
    inside = {"cells", "can ends", "insulating rings", "tie screws", "protection board",
              "insulating paper", "main leads inside"}  # fmt: skip
    found = set()
    for thing in one.scene.things:
        if thing.name in inside:
            found.add(thing.name)
            points = np.concatenate([copy.vertices_mm for copy in thing.copies])
            assert points[:, 0].min() > x0 and points[:, 0].max() < x1, thing.name
            assert points[:, 1].min() > y0 and points[:, 1].max() < y1, thing.name
    assert found == inside


@pytest.mark.parametrize("name", PACKS)
def test_what_is_bought_is_not_sawn(name: str) -> None:
    """Wedges cut printed parts and sheets alone; a bought body is whole or gone."""
    for thing in made(name).scene.things:
        if thing.cut:
            assert thing.paint in PRINTED | BOUGHT_SHEETS, thing.name


def test_a_copy_goes_with_what_carries_it() -> None:
    """Lid screws in the wedge of the lid are gone, all others stay."""
    scene = made("tub, plates").scene
    screws = next(t for t in scene.things if t.rides == "lid")
    (x, _) = scene.middle_mm
    (left,) = [t for t in kept([screws], {"lid": (((1.0, 0.0, 0.0), x),)}) if t]
    gone = [copy for copy in screws.copies if copy not in left.copies]
    assert 0 < len(left.copies) < len(screws.copies)
    assert all(copy.vertices_mm[:, 0].mean() > x for copy in gone)


def test_no_colour_tells_a_group_or_a_pole() -> None:
    """All cells have one paint, and so have all can ends; none is red or black."""
    scene = made("tub, plates").scene
    assert len({t.paint for t in scene.things if t.name == "cells"}) == 1
    assert len({t.paint for t in scene.things if t.name == "can ends"}) == 1
    # sRGB 128 is L* 53.585 (from memory)
    assert lightness("#808080") == pytest.approx(53.6, abs=0.1)
    assert lightness("#ffffff") == pytest.approx(100.0, abs=1e-6)
    assert lightness("#000000") == pytest.approx(0.0, abs=1e-6)
    levels = sorted(lightness(paint.value) for paint in Paint)
    assert levels[0] > 10.0  # ink is told from the darkest
