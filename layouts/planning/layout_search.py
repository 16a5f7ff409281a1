"""Which layouts of the cells are tried where an enclosure must follow the space.

Those whose held cells, with the walls round them, find room in the plan of the space, in the order
of what a builder looks at; the first whose whole enclosure stands is taken.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import islice
from typing import TypeVar

from layouts.cells.choice import lay_block, ranked_blocks, shapes_of
from layouts.cells.fields import BlockShape, ZigzagShape
from layouts.enclosures.registry import form_of
from layouts.errors import NoPlaceError, PlanError
from layouts.pack import JointForm, Pack
from layouts.planning.estimate import envelope
from layouts.spaces.regions import seen_from_pack

__all__ = ["cells_may_go_in", "finds_room", "first_that_stands", "is_searched", "layouts_in_space"]

PLACES = ("bms.place", "bms.place_mm", "fuse.place", "fuse.place_mm", "space.place.at_mm")
RANKED_MOST = 40  # layouts looked at by their plan alone
# layouts of which an enclosure is planned: usual ones, groups in columns, and either without the
# posts that enlarge the held cells; judgement, no source
USUAL_MOST, COLUMNS_MOST, FEW_POSTS_MOST = 4, 2, 2

Plan = TypeVar("Plan")


def is_searched(pack: Pack) -> bool:
    """Whether the space decides the layout of the cells."""
    form = form_of(pack)
    return pack.space is not None and form is not None and form.follows_space


def layouts_in_space(pack: Pack) -> Iterator[BlockShape]:
    """Layouts whose held cells find room in the plan of the space, those first that suit a builder
    best; then groups in columns that do; the best of all where none does."""
    usual, columns = _looked_at(pack)
    found = [
        *islice((shape for shape in usual if _finds_room(pack, shape)), USUAL_MOST),
        *islice((shape for shape in columns if _finds_room(pack, shape)), COLUMNS_MOST),
    ]
    yield from found or usual[:1]


def finds_room(pack: Pack) -> bool:
    """Whether the held cells of any layout that is looked at find room in the plan of the space.
    Raises PlanError where nothing of the enclosure's height does."""
    usual, columns = _looked_at(pack)
    return any(_finds_room(pack, shape) for shape in (*usual, *columns))


def cells_may_go_in(pack: Pack) -> bool:
    """The same, False where nothing of the enclosure's height goes in, or without a space."""
    try:
        return pack.space is not None and finds_room(pack)
    except PlanError:
        return False


def _looked_at(pack: Pack) -> tuple[list[BlockShape], list[ZigzagShape]]:
    """The usual layouts that rank best by their plan alone, and all of groups in columns."""
    usual = ranked_blocks(replace(pack, space=None), estimate=envelope, most=RANKED_MOST)
    return usual, [one for one in shapes_of(pack) if isinstance(one, ZigzagShape)]


def _finds_room(pack: Pack, shape: BlockShape) -> bool:
    form, anywhere = form_of(pack), replace(pack, space=None)
    assert form is not None and pack.space is not None  # one that is searched has both
    _, sizes = lay_block(anywhere, shape, estimate=envelope)
    room = sorted(seen_from_pack(pack.space).box_mm[:2])
    if any(side > most for side, most in zip(sorted(sizes.cell_block_mm), room, strict=True)):
        return False
    return form.cells_find_room(pack, sizes.cell_block_mm)


def _tries(pack: Pack) -> Iterator[tuple[Pack, BlockShape]]:
    """Each layout, then the first usual one and the first of columns without the posts that enlarge
    the held cells."""
    shapes = list(layouts_in_space(pack))
    yield from ((pack, shape) for shape in shapes)
    if pack.holder.flank_posts and pack.strip.joints is JointForm.PLATES:
        few = replace(pack, holder=replace(pack.holder, flank_posts=False))
        columns = [one for one in shapes if isinstance(one, ZigzagShape)]
        usual = [one for one in shapes if not isinstance(one, ZigzagShape)]
        yield from ((few, one) for one in (*columns[:1], *usual[:1])[:FEW_POSTS_MOST])


def first_that_stands(
    pack: Pack, planned: Callable[[Pack, BlockShape], Plan], *, advise: bool = True
) -> Plan:
    """The plan of the first layout that can be planned. Raises PlanError of the first where none
    can; ``advise``: with what would do, which takes its time."""
    first: PlanError | None = None
    for asked, shape in _tries(pack):
        try:
            return planned(asked, shape)
        except PlanError as error:
            # a place that the pack file asks for tells more than that a layout finds none
            if first is None or (isinstance(first, NoPlaceError) and error.field in PLACES):
                first = error
    assert first is not None  # one layout at least is tried
    raise first.advised() if advise and isinstance(first, NoPlaceError) else first
