"""Layouts of the cells that are tried where the space decides."""

from __future__ import annotations

from dataclasses import replace

import pytest

from layouts.cells.choice import lay_block, ranked_blocks
from layouts.cells.fields import BlockShape, ZigzagShape
from layouts.errors import NoPlaceError, PlanError
from layouts.pack import Pack
from layouts.planning.estimate import envelope
from layouts.planning.layout_search import (
    COLUMNS_MOST,
    FEW_POSTS_MOST,
    RANKED_MOST,
    USUAL_MOST,
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
    """Each with its walls, along or across, but for a raster's step; the first of all that do, in
    the order of what suits a builder, then groups in columns."""
    narrow = list(layouts_in_space(pack_of("4S3P", "space: {box_mm: [400, 62, 100]}\n")))
    ranked = ranked_blocks(pack_of("4S3P"), estimate=envelope, most=RANKED_MOST)
    usual = [one for one in narrow if not isinstance(one, ZigzagShape)]
    assert usual and narrow[: len(usual)] == usual
    wide = layouts_in_space(pack_of("4S3P", "space: {box_mm: [400, 400, 100]}\n"))
    assert any(isinstance(one, ZigzagShape) for one in wide)
    across = {one: min(sizes_mm(one)) + ROUND_MM + 2 * 0.4 for one in (*ranked, *narrow)}
    assert max(across[one] for one in narrow) < 62 + 3.0
    surely = [one for one in ranked if across[one] < 62]
    assert [one for one in usual if one in surely] == surely[: len(usual)][: len(surely)]
    assert set(usual) < set(ranked)


def test_without_any_that_goes_in_the_best_is_left() -> None:
    """So that its refusal can be told."""
    wide = list(layouts_in_space(pack_of("4S3P", "space: {box_mm: [400, 400, 100]}\n")))
    assert list(layouts_in_space(pack_of("4S3P", "space: {box_mm: [40, 40, 100]}\n"))) == wide[:1]


def test_the_first_that_stands_is_taken() -> None:
    """Refused ones before it don't matter, and none after it is tried."""
    pack = pack_of("4S3P", "space: {box_mm: [400, 400, 100]}\n")
    tried: list[BlockShape] = []

    def planned(asked: Pack, shape: BlockShape) -> int:
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
    most = USUAL_MOST + COLUMNS_MOST + FEW_POSTS_MOST
    errors = [error, *(refusal("other") for _ in range(most))]
    posts = []

    def planned(asked: Pack, shape: BlockShape) -> int:
        posts.append(asked.holder.flank_posts)
        raise errors.pop(0)

    with pytest.raises(PlanError) as caught:
        first_that_stands(pack, planned)
    assert (caught.value.field, caught.value.remedy) == (error.field, remedy)
    laid = len(list(layouts_in_space(pack)))
    assert posts == [*(True for _ in range(laid)), False, False][: len(posts)]
    assert len(posts) <= most and posts.count(False) >= 1
