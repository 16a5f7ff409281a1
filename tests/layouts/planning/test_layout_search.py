"""Layouts of the cells that are tried where the space decides."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts.cells.choice import lay_block
from layouts.cells.fields import BlockShape
from layouts.errors import NoPlaceError, PlanError
from layouts.planning.estimate import envelope
from layouts.planning.layout_search import (
    TRIED_MOST,
    first_that_stands,
    is_searched,
    layouts_in_space,
)
from tests.layouts.enclosures.fitted.planned import pack_of

# walls round the held cells: gap, wall, play and lip, on both sides
ROUND_MM = 2 * (0.8 + 1.68 + 0.4 + 1.26)


def sizes_mm(shape: BlockShape) -> tuple[float, float]:
    """Of the held cells."""
    pack = replace(pack_of("4S3P"), space=None)
    return lay_block(pack, shape, estimate=envelope)[1].cell_block_mm


def refusal(field: str) -> PlanError:
    """One that names a field."""
    return PlanError(field=field, why="is refused", remedy="change it")


def no_place() -> NoPlaceError:
    """One whose advice is asked for."""
    return NoPlaceError(
        field="enclosure.style", value="fitted", why="finds no place",
        remedy="enclosure: {style: tub}", advice=lambda: "more space",
    )  # fmt: skip


def test_only_a_fitted_enclosure_in_a_space_is_searched() -> None:
    """Not without a space, nor in a box-shaped tub."""
    assert is_searched(pack_of("4S3P", "space: {box_mm: [300, 300, 100]}\n"))
    assert not is_searched(pack_of("4S3P"))
    tub = pack_of("4S3P", "space: {box_mm: [300, 300, 100]}\n")
    style = type(tub.enclosure.style)
    assert not is_searched(replace(tub, enclosure=replace(tub.enclosure, style=style.TUB)))
    assert not is_searched(replace(tub, enclosure=replace(tub.enclosure, style=style.NONE)))


def test_layouts_go_into_a_narrow_space_by_their_plan() -> None:
    """Each with its walls, along or across, but for a raster's step; all that would are there, in
    the order of a wide space, which takes more."""
    wide = list(layouts_in_space(pack_of("4S3P", "space: {box_mm: [400, 400, 100]}\n")))
    narrow = list(layouts_in_space(pack_of("4S3P", "space: {box_mm: [400, 62, 100]}\n")))
    assert 0 < len(narrow) < len(wide)
    across = {one: min(sizes_mm(one)) + ROUND_MM + 2 * 0.4 for one in wide}
    assert [one for one in wide if one in narrow] == narrow
    assert {one for one in wide if across[one] < 62} <= set(narrow)
    assert max(across[one] for one in narrow) < 62 + 3.0


def test_without_any_that_goes_in_the_best_is_left() -> None:
    """So that its refusal can be told."""
    wide = list(layouts_in_space(pack_of("4S3P", "space: {box_mm: [400, 400, 100]}\n")))
    assert list(layouts_in_space(pack_of("4S3P", "space: {box_mm: [40, 40, 100]}\n"))) == wide[:1]


def test_the_first_that_stands_is_taken() -> None:
    """Refused ones before it don't matter, and none after it is tried."""
    pack = pack_of("4S3P", "space: {box_mm: [400, 400, 100]}\n")
    tried: list[BlockShape] = []

    def planned(shape: BlockShape) -> int:
        tried.append(shape)
        if len(tried) == 2:
            return 7
        raise no_place()

    assert first_that_stands(pack, planned) == 7
    assert tried == list(layouts_in_space(pack))[:2]


@pytest.mark.parametrize(
    ("error", "remedy"),
    [
        (no_place(), "more space; or enclosure: {style: tub}"),
        (refusal("mount.screw"), "change it"),
    ],
)
def test_the_first_refusal_is_told(error: PlanError, remedy: str) -> None:
    """With what would do, where that is known; after a few layouts no more are tried."""
    pack = pack_of("4S3P", "space: {box_mm: [400, 400, 100]}\n")
    errors = [error, *(refusal("other") for _ in range(TRIED_MOST))]

    def planned(shape: BlockShape) -> int:
        raise errors.pop(0)

    with pytest.raises(PlanError) as caught:
        first_that_stands(pack, planned)
    assert (caught.value.field, caught.value.remedy) == (error.field, remedy)
    assert len(errors) == 1 + TRIED_MOST - min(TRIED_MOST, len(list(layouts_in_space(pack))))
