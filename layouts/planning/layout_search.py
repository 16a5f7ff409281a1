"""Which layouts of the cells are tried where an enclosure must follow the space.

Those whose held cells, with the walls round them, find room in the plan of the space, in the order
of what a builder looks at; the first whose whole enclosure stands is taken.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TypeVar

from layouts.cells.choice import lay_block, ranked_blocks
from layouts.cells.fields import BlockShape
from layouts.enclosures.registry import form_of
from layouts.errors import NoPlaceError, PlanError
from layouts.pack import Pack
from layouts.planning.estimate import envelope

__all__ = ["first_that_stands", "is_searched", "layouts_in_space"]

RANKED_MOST = 40  # layouts looked at by their plan alone
TRIED_MOST = 6  # layouts of which an enclosure is planned; judgement, no source

Plan = TypeVar("Plan")


def is_searched(pack: Pack) -> bool:
    """Whether the space decides the layout of the cells."""
    form = form_of(pack)
    return pack.space is not None and form is not None and form.follows_space


def layouts_in_space(pack: Pack) -> Iterator[BlockShape]:
    """Layouts whose held cells find room in the plan of the space, those first that suit a builder
    best; the best of all where none does."""
    form, anywhere = form_of(pack), replace(pack, space=None)
    assert form is not None  # one that is searched has one
    shapes = ranked_blocks(anywhere, estimate=envelope, most=RANKED_MOST)
    found = False
    for shape in shapes:
        _, sizes = lay_block(anywhere, shape, estimate=envelope)
        if form.cells_find_room(pack, sizes.cell_block_mm):
            found = True
            yield shape
    if not found:
        yield shapes[0]


def first_that_stands(pack: Pack, planned: Callable[[BlockShape], Plan]) -> Plan:
    """The plan of the first layout that can be planned. Raises PlanError of the first where none
    can."""
    first: PlanError | None = None
    for _, shape in zip(range(TRIED_MOST), layouts_in_space(pack), strict=False):
        try:
            return planned(shape)
        except PlanError as error:
            first = first or error
    assert first is not None  # one layout at least is tried
    raise first.advised() if isinstance(first, NoPlaceError) else first
